"""The curl that film of a kind may have, as a distribution: between the least and the most, likeliest the usual.

A triangular distribution: it takes no more than those three numbers (JCGM 101:2008 6.4.5 is the symmetric one, from
memory).
"""

from __future__ import annotations

import math
from collections.abc import Sequence

NODES = 9  # curls at which the film is solved; between them its heights are taken as straight
STEPS = 40
SAME_PER_M = 0.01
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


def below(low: float, usual: float, high: float, value: float) -> float:
    """The chance that a triangular variable lies below a value (0 to 1)."""
    if high <= low:
        return 0.5 if value == usual else float(value > usual)
    if value <= low or value >= high:
        return float(value >= high)
    if value < usual:
        return (value - low) ** 2 / ((high - low) * (usual - low))
    return 1.0 - (high - value) ** 2 / ((high - low) * (high - usual))


def nodes(
    low: float, usual: float, high: float, more: Sequence[float] = (0.0,), count: int = NODES
) -> tuple[float, ...]:
    """Values at which the film is solved, ascending: the usual, both ends, and at equal steps of the chance of value
    and change together; the usual alone where nothing is spread.

    ``more`` are changes of equal chance that come on top of a value.
    """
    values = [quantile(low, usual, high, (k + 0.5) / STEPS) for k in range(STEPS)]
    every = sorted(value + one for value in values for one in more)
    found = sorted({low, usual, high})
    for k in range(1, count - 1):
        value = every[round(k * (len(every) - 1) / (count - 1))]
        if min(abs(value - one) for one in found) > SAME_PER_M:
            found.append(value)
    return tuple(sorted(found))
