"""Sheets of a stack share two holes for pins, off all that matters; feet are marked on the lowest sheet."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import shapely

from holders.checks.runner import run
from holders.design.model import Design, Part, Rect
from holders.design.parts.sections import area_of, polygon
from holders.design.plan.layout import lay_out
from holders.design.plan.pins import pinned, pins
from holders.design.resolve import design
from holders.facts.habits import habit
from holders.facts.tables import process
from holders.geometry.outline import Outline, bounds
from holders.output.sheet.steps import section
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.workshop.cost import small_rows
from tests.presets_made import SHIPPED, job

LASER = [path for path in SHIPPED if load(path).route == "laser"]
FEET = {"count": 4, "diameter_mm": 8, "thickness_mm": 1.5}
ACRYLIC, BOARD = {"name": "acrylic-cast"}, {"name": "mounting-board"}


def rounds(part: Part, size: float) -> list[Outline]:
    """The round holes of a size in a sheet."""
    found = [hole for hole in part.slabs[0].region.holes if len(hole.vertices) == 2]
    return [hole for hole in found if bounds(hole)[2] - bounds(hole)[0] == pytest.approx(size)]


def keep_laws(holder: Design) -> None:
    sheets = [part for part in holder.parts if part.in_frame]
    assert len(sheets) >= 2
    each = [{bounds(hole) for hole in rounds(sheet, habit("dowel"))} for sheet in sheets]
    assert len(each[0]) == 2
    assert all(one == each[0] for one in each)
    lamp, zone = holder.lamp, holder.calibration
    for hole in rounds(sheets[0], habit("dowel")):
        shape = polygon(hole)
        assert not shape.intersects(shapely.box(lamp.x, lamp.y, lamp.right, lamp.top))
        assert zone is None or not shape.intersects(shapely.box(zone.x, zone.y, zone.right, zone.top))
        for sheet in sheets:
            rest = shapely.union(area_of(sheet.slabs[0].region), shape)
            wall = min(shape.distance(rest.exterior), *(shape.distance(ring) for ring in rest.interiors))
            assert wall >= sheet.slabs[0].z1 - sheet.slabs[0].z0  # a web no narrower than its sheet is thick
    one, two = (polygon(hole).centroid for hole in rounds(sheets[0], habit("dowel")))
    assert one.distance(two) > 0.8 * math.hypot(holder.outer.width, holder.outer.height)


@pytest.mark.parametrize("path", LASER, ids=lambda p: p.stem)
def test_every_sheet_of_a_shipped_holder_has_the_same_two_holes(path: Path) -> None:
    keep_laws(design(resolve(load(path))))


def test_pins_are_in_the_steps_and_on_the_list_where_there_are_holes() -> None:
    laser, knife = job(route="laser", material=ACRYLIC), job(route="knife", material=BOARD)
    for made, there in ((laser, True), (knife, False)):
        holder = design(made)
        assert pinned(holder.parts) is there
        assert any("pins 3 mm" in row.what for row in small_rows(made, holder)) is there
        steps = str(section(made.material, made.printer, holder))
        assert ("pull both pins out before the glue sets" in steps) is there


def test_a_board_alone_has_none() -> None:
    assert not pinned(design(job(route="laser", material=ACRYLIC, layout={"pocket_depth_mm": 0})).parts)


def test_a_laser_marks_feet_by_holes_that_they_cover() -> None:
    holder = design(job(route="laser", material=ACRYLIC, feet=FEET))
    lowest, *others = (part for part in holder.parts if part.in_frame)
    found = sorted(polygon(hole).centroid.coords[0] for hole in rounds(lowest, 1.0))
    assert np.array(found) == pytest.approx(np.array(sorted((f.x, f.y) for f in holder.feet)), abs=1e-6)
    assert not any(rounds(part, 1.0) for part in others)
    assert min(foot.diameter_mm for foot in holder.feet) > 1.0


def test_a_template_marks_feet_by_crosses() -> None:
    holder = design(job(route="knife", material=BOARD, feet=FEET))
    lowest, *others = (part for part in holder.parts if part.in_frame)
    crosses = [groove for groove in lowest.grooves if groove.text == "foot"]
    middles = sorted(
        (sum(x for x, _ in stroke) / 2, sum(y for _, y in stroke) / 2)
        for groove in crosses
        for stroke in groove.strokes[:1]
    )
    assert np.array(middles) == pytest.approx(np.array(sorted((f.x, f.y) for f in holder.feet)))
    assert not any(groove.text == "foot" for part in others for groove in part.grooves)


def test_pins_keep_off_light_and_calibration_zone() -> None:
    """The same layout with light, or the zone, in the corner where a pin would be: it goes elsewhere."""
    made = job(route="laser", material=ACRYLIC)
    layout, rules = lay_out(made), process("laser")
    corner = Rect(layout.outer.right - 40, layout.outer.y, 40, 40)
    shape = shapely.box(corner.x, corner.y, corner.right, corner.top).buffer(-0.01)  # they may touch
    free = pins(replace(layout, lamp=Rect(0, 0, 1, 1), keep_open=None), rules, 0.0, (), ())
    assert any(polygon(hole).intersects(shape) for hole in free)
    for changed in ({"lamp": corner, "keep_open": None}, {"lamp": Rect(0, 0, 1, 1), "keep_open": corner}):
        found = pins(replace(layout, **changed), rules, 0.0, (), ())
        assert len(found) == 2
        assert not any(polygon(hole).intersects(shape) for hole in found)
    assert pins(replace(layout, lamp=layout.outer), rules, 0.0, (), ()) == ()


def test_the_mark_of_a_foot_is_no_thin_floor_above_it() -> None:
    made = job(route="laser", material=ACRYLIC, feet={})
    found = next(
        f for f in run(made, design(made)) if f.code == "feet" and "bove a foot" in f.title + f.subject
    )
    assert found.level == "pass"
    assert found.measured >= found.limit


def test_pins_keep_off_rounded_corners() -> None:
    """A holder of 60 x 60 mm whose corners have 25 mm: what lies in a corner's square lies within its arc, by 3 mm."""
    made = job(route="laser", material=ACRYLIC)
    layout, rules = lay_out(made), process("laser")
    small = replace(layout, outer=Rect(0, 0, 60, 60), lamp=Rect(29, 29, 1, 1), keep_open=None, places=())
    round_one = shapely.box(25, 25, 35, 35).buffer(25, quad_segs=64)
    for radius, holds in ((25.0, True), (0.0, False)):
        found = pins(small, rules, radius, (), ())
        assert len(found) == 2
        assert all(round_one.buffer(-3).contains(polygon(hole)) for hole in found) is holds
