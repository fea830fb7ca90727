"""A lid or cover that film can lift: how far it rises until the film's push equals what keeps it down.

The lid rises level. A free lid may tilt as well: while one edge of it still rests, the opposite one rises at most twice
as far as its middle, so every place of the film lies within one rise of where this solution has it
(:func:`tilt_bound_mm`).
"""

from __future__ import annotations

import math
from collections.abc import Callable
from dataclasses import dataclass, replace

from holders.core.errors import NotConverged
from holders.film.hold import Hold
from holders.film.models import LidRest, Support, Surface

# room under a lid or cover: pressed to no height at all, a film of strong curl takes a hundred times the work of one
# with a little room, from which it can be followed down
EASY_MM = (0.02, 0.005)
COARSE = 8  # degree at which the rise is looked for; it is put right at the degree asked for
FIRST_MM, GROWTH = 0.1, 3.0  # rises that are tried until the film pushes less than the lid does
CLOSE_MM, CLOSE_SHARE = 2e-4, 2e-3  # of the coarse rise
BALANCED = 5e-3  # force out of balance, against what presses
STEEP_MM = 2e-4  # a push that falls within this height through what presses is a rise known to as much
POLISH = 32
OPEN_STEPS = 8  # to 12.8 mm
NO_PUSH = 1e-7  # N: below it a push is as good as none, and its logarithm still a number


@dataclass(frozen=True, slots=True)
class Still:
    """The film under a lid that is where it is: how hard it pushes up, N, and ``surface()`` for all the rest, which is
    computed of those films alone that are wanted whole.
    """

    pressed_down_n: float
    surface: Callable[[], Surface]


Solve = Callable[[Support, int, bool], Still]


def solve_under(support: Support, solve: Solve, resolution: int, *, opens: bool = True) -> Surface:
    """The film under a lid or cover with a ``hold``, which has come to rest on it.

    ``solve`` gives the film on a support of which nothing moves, at a degree; afresh, or followed from the film it gave
    last at that degree. Of several places where the lid could
    rest the lowest is taken: film is laid in and the lid pressed down on it; ``lid.opens_mm`` names a higher one that
    magnets leave it, which is looked for if ``opens`` is asked.

    Raises NotConverged where film and lid are nowhere found in balance.
    """
    hold = support.hold
    assert hold is not None
    still = support.model_copy(update={"hold": None})

    known: dict[tuple[float, int], Still] = {}

    def at(rise: float, degree: int) -> Still:
        key = rise, degree
        if key not in known:
            known[key] = solve(raised(still, rise), degree, degree == resolution > COARSE or not known)
        return known[key]

    if resolution <= COARSE:
        for room in EASY_MM:
            if support.lid_play_mm < room and at(room, resolution).pressed_down_n <= hold.force_n():
                break  # not far from what it is with none
    down = at(0.0, resolution)
    needed, held = down.pressed_down_n, hold.force_n()
    if needed <= held:
        look = opens and hold.magnets is not None
        place = _open(hold, lambda h: at(h, min(resolution, COARSE))) if look else None
        rest = LidRest(hold.weight_n, held, needed, 0.0, opens_mm=place)
        return replace(down.surface(), support=support, lid=rest)
    rise, film, off = _balance(hold, at, resolution)
    rest = LidRest(hold.weight_n, held, needed, rise, unbalanced=off)
    return replace(film.surface(), support=support, lid=rest)


def raised(support: Support, rise_mm: float) -> Support:
    """The support with its lid or cover so much higher."""
    return support.model_copy(update={"lid_play_mm": support.lid_play_mm + rise_mm})


def tilt_bound_mm(rise_mm: float) -> float:
    """How far a place of the film can at most lie from where the level lid has it, because the lid tilts, mm.

    A lid whose middle rises by h and of which an edge still rests stands 2 h high at the other edge: h more than level.
    """
    return rise_mm


def lid_room_mm(support: Support) -> float:
    """How far what lies on the film can be lifted, mm: 0 where nothing can, infinite where nothing stops it."""
    if not support.movable or support.hold is None:
        return 0.0
    return math.inf if support.hold.most_rise_mm is None else support.hold.most_rise_mm


def _root(surplus: Callable[[float], float], low: float, high: float) -> float:
    """The rise between two at which film and hold are in balance, by Brent's method."""
    from scipy.optimize import brentq  # noqa: PLC0415 - most films lift nothing

    return float(brentq(surplus, low, high, (), CLOSE_MM, CLOSE_SHARE))


def _balance(hold: Hold, at: Callable[[float, int], Still], resolution: int) -> tuple[float, Still, float]:
    """Rise, film and force out of balance, with a lid that does not stay down."""
    coarse = min(resolution, COARSE)

    def surplus(rise: float) -> float:
        return _surplus(hold, rise, at(rise, coarse))

    low, high = 0.0, FIRST_MM
    most = hold.most_rise_mm
    while True:
        if most is not None and high >= most:
            if surplus(most) >= 0:
                return most, at(most, resolution), 0.0
            high = most
            break
        if surplus(high) <= 0:
            break
        low, high = high, high * GROWTH
    rise = low  # the coarse film may push a little less than the fine one
    if surplus(low) > 0:
        rise = _root(surplus, low, high)
    return _polished(hold, at, resolution, rise, most)


def _polished(
    hold: Hold, at: Callable[[float, int], Still], resolution: int, rise: float, most: float | None
) -> tuple[float, Still, float]:
    """The balance at the degree asked for, by regula falsi (Illinois) around the coarse rise."""
    step = max(STEEP_MM, 0.01 * rise)
    low: tuple[float, float] | None = None
    high: tuple[float, float] | None = None
    film, off = None, math.inf
    for _ in range(POLISH):
        film = at(rise, resolution)
        value = _surplus(hold, rise, film)
        off = abs(math.expm1(value))
        if off <= BALANCED or (most is not None and rise >= most and value > 0):
            return rise, film, off if off <= BALANCED else 0.0
        if value > 0:
            high = (high[0], high[1] / 2) if low is not None and high is not None else high
            low = (rise, value)
        else:
            low = (low[0], low[1] / 2) if low is not None and high is not None else low
            high = (rise, value)
        if low is not None and high is not None:
            if high[0] - low[0] <= STEEP_MM:
                return rise, film, off
            rise = low[0] + (high[0] - low[0]) * low[1] / (low[1] - high[1])
            rise = min(max(rise, low[0] + 0.1 * STEEP_MM), high[0] - 0.1 * STEEP_MM)
        else:
            rise = max(0.0, rise + step) if value > 0 else max(0.0, rise - step)
            rise, step = rise if most is None else min(rise, most), 2 * step
    raise NotConverged(f"lid on curled film: out of balance by {off:.1%} of what presses it at {rise:.3f} mm")


def _surplus(hold: Hold, rise: float, film: Still) -> float:
    """Logarithm of the film's push over what presses: positive where the lid rises further."""
    return math.log(max(film.pressed_down_n, NO_PUSH) / max(hold.force_n(rise), NO_PUSH))


def _open(hold: Hold, at: Callable[[float], Still]) -> float | None:
    """The height at which the lid would stay up, though it also stays down; None where it falls back from anywhere.

    Looked for in doubled steps, as long as the film pushes more than the lid weighs without its magnets.
    """

    def surplus(rise: float) -> float:
        return _surplus(hold, rise, at(rise))

    rise, up = FIRST_MM, None
    for _ in range(OPEN_STEPS):
        if hold.most_rise_mm is not None and rise > hold.most_rise_mm:
            return None if up is None else hold.most_rise_mm
        pushed = at(rise).pressed_down_n
        if pushed > hold.force_n(rise):
            up = rise
        elif up is not None:
            return _root(surplus, up, rise)
        elif pushed <= hold.weight_n + hold.extra_n:
            return None
        rise *= 2.0
    return up
