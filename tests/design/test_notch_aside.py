"""A notch that the calibration opening keeps too shallow for a finger stands beside that opening instead."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from holders.checks.film.grip import Grips
from holders.design.model import Design
from holders.design.parts.sections import section
from holders.design.resolve import design
from holders.facts.habits import habit
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of

BOARD = "8x10-mat-board"


def test_both_notches_of_a_board_take_a_finger_and_lie_opposite_through_the_middle() -> None:
    path = preset_path(Path(BOARD))
    job = job_of(parse(path.read_text(), str(path)))[0]
    made = design(job)
    grips = made.windows[0].grips or ()
    assert {grip.edge for grip in grips} == {"head", "foot"}
    assert all(grip.depth_mm >= habit("finger-deep") for grip in grips)
    assert {found.level for found in Grips().check(job, made)} <= {"pass", "skip"}
    # seen on the section: the wall beside the film is open at one end of the foot and at the other end of the head
    film, wall = made.windows[0].film, made.parts[-1]
    cut = section(wall, (wall.z0 + wall.z1) / 2)
    middles = []
    for y in (film.y - 7.0, film.top + 7.0):
        line = shapely.LineString([(film.x, y), (film.right, y)]).difference(cut)
        (free,) = [piece for piece in shapely.get_parts(line) if not _in_zone(made, y)]
        middles.append(free.centroid.x)
    middle = film.x + film.width / 2
    assert sum(middles) == pytest.approx(2 * middle, abs=0.01)
    assert abs(middles[0] - middle) > 50


def test_a_wall_too_wide_beside_the_opening_leaves_the_notch_in_the_middle() -> None:
    path = preset_path(Path(BOARD))
    text = with_values(path.read_text(), {"layout.wall_mm": 4.8})
    job = job_of(parse(text, str(path)))[0]
    grips = design(job).windows[0].grips or ()
    assert not any(grip.edge == "foot" and grip.depth_mm >= habit("finger-deep") for grip in grips)


def _in_zone(made: Design, y: float) -> bool:
    return made.calibration is not None and made.calibration.y <= y <= made.calibration.top
