"""A holder that is moved between passes: how many passes, how far each step, and what each of them sees.

The scanner lights less than the film is long. The film stays in its holder and the holder moves by equal steps, so that
every part of the window comes to lie over the lamp area in some pass. All lengths in mm; axes and coordinates are the
bed's.
"""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.facts.models import Bed
from holders.geometry.outline import Point
from holders.geometry.rect import Rect

STEP_MM = 0.1  # steps are whole multiples of it
SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Steps:
    """Along one axis: how many places the holder has, and how far apart they are."""

    count: int = 1
    step: float = 0.0

    @property
    def travel(self) -> float:
        """From the first place to the last."""
        return (self.count - 1) * self.step


ONE = Steps()


@dataclass(frozen=True, slots=True)
class Moves:
    """Places across and along the bed; the first is the one nearest the home corner."""

    across: Steps = ONE
    along: Steps = ONE

    @property
    def count(self) -> int:
        """How many passes there are."""
        return self.across.count * self.along.count

    @property
    def travel(self) -> float:
        """From the first place to the last, across and along together."""
        return self.across.travel + self.along.travel

    @property
    def stands(self) -> tuple[Point, ...]:
        """Each pass as a shift from the first, in an order in which every move is one step along one axis."""
        found = []
        for i in range(self.across.count):
            rows = range(self.along.count)
            for j in rows if i % 2 == 0 else reversed(rows):
                found.append((i * self.across.step, j * self.along.step))
        return tuple(found)


STAYS = Moves()


def steps_for(window: float, lamp: float, overlap: float, least: float = 0.0, play: float = 0.0) -> Steps:
    """The fewest equal steps in which a lamp area sees all of a window.

    n passes see lamp + (n - 1) (lamp - overlap) of it at most, so n is the least whole number that is not below
    (window - overlap) / (lamp - overlap). The steps are then as small as they can be, which leaves the passes more
    overlap than was asked for and the holder less way to move.

    Parameters
    ----------
    window, lamp:
        What must be seen and what is lit, along one axis.
    overlap:
        Least overlap of two neighbours. Raises ``ValueError`` where it is not smaller than the lamp area.
    least:
        The smallest step that can be made, where the overlap leaves so much.
    play:
        How far the holder may lie off its place, either way: the passes together see so much beyond both ends.
    """
    if window <= lamp + SLACK_MM:
        return ONE
    window += 2 * play
    if overlap >= lamp:
        raise ValueError("the overlap leaves nothing of the lamp area")
    count = math.ceil((window - overlap) / (lamp - overlap) - 1e-9)
    wanted = math.ceil((window - lamp) / (count - 1) / STEP_MM - 1e-9) * STEP_MM
    return Steps(count, round(min(max(wanted, least), lamp - overlap), 6))


def seen_bed(bed: Bed, moves: Moves) -> Bed:
    """The bed as a holder in its first place sees it, so that it fits in all of them.

    The glass is as much smaller as the holder moves, the lamp area as much larger toward home, and the calibration
    zone is all that passes below the holder.
    """
    x, y = moves.across.travel, moves.along.travel
    if x <= 0 and y <= 0:
        return bed
    return bed.model_copy(
        update={
            "glass_width_mm": bed.glass_width_mm - x,
            "glass_length_mm": bed.glass_length_mm - y,
            "lamp_x_mm": bed.lamp_x_mm - x,
            "lamp_y_mm": bed.lamp_y_mm - y,
            "lamp_width_mm": bed.lamp_width_mm + x,
            "lamp_length_mm": bed.lamp_length_mm + y,
            "calibration_x_mm": bed.calibration_x_mm - x,
            "calibration_y_mm": bed.calibration_y_mm - y,
            "calibration_width_mm": bed.calibration_width_mm + x if bed.calibration_width_mm > 0 else 0.0,
            "calibration_length_mm": bed.calibration_length_mm + y if bed.calibration_length_mm > 0 else 0.0,
        }
    )


def lit_boxes(window: Rect, lamp: Rect, stands: tuple[Point, ...]) -> tuple[Rect | None, ...]:
    """What of a window each pass sees, where it then lies on the bed; None for a pass that sees nothing of it."""
    return tuple(window.moved(x, y).shared(lamp) for x, y in stands)
