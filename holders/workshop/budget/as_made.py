"""A holder as it came out: its chance by four caliper readings of the ledge, and the shims that put it right."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from functools import cached_property

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.design.model import HEIGHT_CELLS, Design, Rect
from holders.facts.habits import habit
from holders.preset.resolve import Job
from holders.workshop.budget.contributors import fixed_contributors
from holders.workshop.budget.framed import framed, shown_of
from holders.workshop.budget.odds import ring_free
from holders.workshop.budget.share import curled_heights, good_planes, rate
from holders.workshop.budget.tolerance import SAMPLES, SEED, SHARP_SHARE, Cause, Contributor, draw

Floats = NDArray[np.float64]
# what readings of the ledge leave uncertain; it swells on a damper day all the same
KNOWN = {Cause.FOCUS, Cause.BASE, Cause.MOUNT, Cause.LAYERS, Cause.SHEETS, Cause.DAMP}
STEP_MM = 0.05  # the thinnest shim
MOST_SHIM_MM = 1.0
MOST_OFF_MM = 1.5  # of a reading from the height that was drawn: farther off it was read from another face
LEAST_GAIN = 0.01
SIDES = ("left", "right", "head", "foot")


@dataclass(frozen=True, slots=True)
class Readings:
    """Heights of the ledge above a flat glass, mm, feet on: in the middle of each side."""

    left: float
    right: float
    head: float
    foot: float

    @property
    def mean(self) -> float:
        """Their mean."""
        return (self.left + self.right + self.head + self.foot) / 4

    @property
    def twist(self) -> float:
        """How far a plane misses each of them, mm, either way."""
        return abs(self.left + self.right - self.head - self.foot) / 4


@dataclass(frozen=True, slots=True)
class Rescue:
    """A way to put the holder right: what to do in words, and the chance of a good scan after it."""

    words: str
    chance: float


def read(design: Design, values: Sequence[float]) -> Readings:
    """The four readings, in the order of ``SIDES``.

    Raises ``InputError`` for a reading that no ledge of this design can have.
    """
    drawn = design.heights.ledge_above_glass
    for side, value in zip(SIDES, values, strict=True):
        if not math.isfinite(value) or abs(value - drawn) > MOST_OFF_MM:
            raise InputError(
                side.upper(), value,
                f"the ledge should lie {drawn:.2f} mm above the glass; measure again from the glass to the face that "
                "the film rests on, the holder lying on a flat glass with its feet on",
            )  # fmt: skip
    return Readings(*values)


class AsMade:
    """Chances of one holder by its readings; what does not change between shims is computed once.

    In a holder for several kinds of film the readings are of the ledge of the kind that is looked at, and so are the
    chances.
    """

    def __init__(self, job: Job, design: Design, found: Readings) -> None:
        self.job, self.design, self.found = job, design, found
        self._drawn: dict[bool, tuple[Floats, float]] = {}
        self._under = framed(job, design, HEIGHT_CELLS)
        rooms = [window.pocket for window in design.mine]
        x, y = min(r.x for r in rooms), min(r.y for r in rooms)
        self.box = Rect(x, y, max(r.right for r in rooms) - x, max(r.top for r in rooms) - y)

    def off_mm(self, x: float | Floats, y: float | Floats) -> float | Floats:
        """How much higher than designed the ledge's plane lies at a place of the bed, mm."""
        f, b = self.found, self.box
        across = (f.right - f.left) * (x - b.x - b.width / 2) / b.width
        along = (f.head - f.foot) * (y - b.y - b.height / 2) / b.height
        return f.mean - self.design.heights.ledge_above_glass + across + along

    def chance(self, lift_mm: float = 0.0, *, level: bool = False, shimmed: bool = False) -> float:
        """The chance of a good scan, all of the ledge higher by ``lift_mm``.

        With ``level`` it is brought level first, at the height of its highest corner.
        """
        spans, low = self._level if level else self._tilted
        drawn, sigma = self._in_doubt(shimmed)
        sharp = min(rate(strata, drawn + lift_mm) for strata in spans)
        return sharp * ring_free(self.job.bed, self.design, sigma, low + lift_mm)

    def _in_doubt(self, shimmed: bool) -> tuple[Floats, float]:
        """Draws of what readings leave uncertain about the picture's plane, and the sigma of the ledge alone, mm."""
        if shimmed not in self._drawn:
            parts = [part for part in fixed_contributors(self.job, self.design) if part.cause in KNOWN]
            doubts = [Contributor("caliper", habit("caliper"), law="normal")]
            if self.found.twist > 0:
                doubts.append(Contributor("twist", self.found.twist))
            if shimmed:
                doubts.append(Contributor("shims", habit("shim-spread"), law="normal"))
            sigma = math.hypot(*(part.sigma_mm for part in doubts))
            self._drawn[shimmed] = draw([*parts, *doubts], SAMPLES // 4, SEED), sigma
        return self._drawn[shimmed]

    @property
    def corners(self) -> tuple[float, ...]:
        """How much higher than designed the ledge lies at its corners: home left, home right, far right, far left."""
        b = self.box
        return tuple(
            float(self.off_mm(x, y)) for x, y in ((b.x, b.y), (b.right, b.y), (b.right, b.top), (b.x, b.top))
        )

    @cached_property
    def _tilted(self) -> tuple[list[list[list[tuple[float, float]]]], float]:
        lifts = []
        for window in self.design.mine:
            shown = shown_of(window)
            way = (np.arange(HEIGHT_CELLS) + 0.5) / HEIGHT_CELLS
            x, y = shown.x + way * shown.width, shown.top - way * shown.height
            lifts.append(np.asarray(self.off_mm(*np.meshgrid(x, y))))
        return self._spans(lifts), min(float(lift.min()) for lift in lifts)

    @cached_property
    def _level(self) -> tuple[list[list[list[tuple[float, float]]]], float]:
        high = max(self.corners)
        return self._spans([np.full((HEIGHT_CELLS, HEIGHT_CELLS), high)] * len(self.design.mine)), high

    def _spans(self, lifts: Sequence[Floats]) -> list[list[list[tuple[float, float]]]]:
        h = self.design.heights
        low, high = h.band_low - h.focus, h.band_high - h.focus
        return [
            [
                good_planes(z, low, high, SHARP_SHARE)
                for z in curled_heights(self.design, self._under, k, lift)
            ]
            for k, lift in enumerate(lifts)
        ]


def rescues(made: AsMade) -> tuple[Rescue, ...]:
    """The shims that gain, the best first; each was tried on this holder as it was measured.

    Shims that differ from foot to foot are named only where they do more than the same under all.
    """
    best, found = made.chance(), []
    for rescue in (_all_round(made), _without_feet(made), _levelled(made)):
        if rescue is not None and rescue.chance - best >= LEAST_GAIN:
            found.append(rescue)
            best = max(best, rescue.chance)
    return tuple(reversed(found))


def _steps(least: int = 1) -> list[float]:
    return [round(k * STEP_MM, 2) for k in range(least, round(MOST_SHIM_MM / STEP_MM) + 1)]


def _best(
    made: AsMade, shims: Sequence[float], start_mm: float, *, level: bool = False
) -> tuple[float, float]:
    """The chance and the shim that is best from ``start_mm`` above the design; of equals that nearest to the design."""
    mean = max(made.corners) if level else made.found.mean - made.design.heights.ledge_above_glass
    tries = [(made.chance(start_mm + shim, level=level, shimmed=True), shim) for shim in shims]
    return max(tries, key=lambda one: (round(one[0], 3), -abs(mean + start_mm + one[1])))


def _all_round(made: AsMade) -> Rescue | None:
    chance, thick = _best(made, _steps(), 0.0)
    where = "under every foot" if made.design.feet else "on the ledge, as a strip along all four sides"
    return Rescue(f"{stacked(thick)} {where} ({thick:.2f} mm)", chance)


def _levelled(made: AsMade) -> Rescue | None:
    corners = made.corners
    if max(corners) - min(corners) < STEP_MM:
        return None
    chance, thick = _best(made, _steps(0), 0.0, level=True)
    b, rows = made.box, []
    if made.design.feet:
        spots = [(f"the foot at x {f.x:.0f}, y {f.y:.0f}", f.x, f.y) for f in made.design.feet]
    else:  # without feet the ledge's sides take strips
        x, y = b.x + b.width / 2, b.y + b.height / 2
        spots = [("the left ledge", b.x, y), ("the right ledge", b.right, y)]
        spots += [("the ledge at the head", x, b.top), ("the ledge at the home end", x, b.y)]
    for name, x, y in spots:
        need = round((max(corners) + thick - float(made.off_mm(x, y))) / STEP_MM) * STEP_MM
        if need >= STEP_MM / 2:
            rows.append(f"{stacked(need)} {'under' if made.design.feet else 'on'} {name} ({need:.2f} mm)")
    return Rescue("; ".join(rows), chance) if rows else None


def _without_feet(made: AsMade) -> Rescue | None:
    """Lower than it stands: feet off, shims in their place."""
    out = made.design.heights.foot_protrusion
    if out <= 0 or not made.design.feet:
        return None
    chance, thick = _best(made, [t for t in _steps(0) if t < out], -out)
    instead = (
        f"stick {stacked(thick)} in the place of each ({thick:.2f} mm)"
        if thick
        else "stick nothing in their place"
    )
    return Rescue(f"take the feet off, fill their recesses level, and {instead}", chance)


def stacked(thick_mm: float) -> str:
    """What to lay on one another for a thickness: card, paper and tape."""
    left, words = round(thick_mm, 3), []
    for key, one, many in (
        ("shim-card", "a card", "cards"),
        ("shim-paper", "a paper", "papers"),
        ("shim-tape", "a tape", "tapes"),
    ):
        count = int(left / habit(key) + 1e-6)
        left -= count * habit(key)
        if count:
            words.append(one if count == 1 else f"{count} {many}")
    return " and ".join(words) or "nothing"
