"""The home corner is hollowed where a machine cuts it, stepped back where a blade does; round ends clear the zone."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import pytest
import shapely

from holders.design.model import Design
from holders.design.parts.sections import polygon
from holders.design.plan.anchor import placing_words
from holders.design.resolve import design
from holders.facts.tables import process
from holders.geometry.outline import area, walled
from holders.output.draw.drafting.notes import notes
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of

NAMES = ("8x10-printed", "8x10-acrylic-lid", "8x10-mat-board", "4x5-insert", "35mm-strips")


@cache
def made(name: str) -> Design:
    path = preset_path(Path(name))
    return design(job_of(parse(path.read_text(), str(path)))[0], uncut=True)


def test_a_hollow_corner_leaves_out_a_quarter_circle() -> None:
    assert area(walled(0, 0, 50, 40, 2.0, (), 8.0, "hollow")) == pytest.approx(
        2000 - math.pi * 64 / 4 - 3 * (4 - math.pi), abs=1e-9
    )


def test_a_stepped_corner_leaves_out_a_square() -> None:
    found = walled(1, 2, 50, 40, 0.0, (), 6.0, "stepped")
    assert area(found) == pytest.approx(2000 - 36, abs=1e-9)
    assert {(v.x, v.y) for v in found.vertices} >= {(7.0, 2.0), (7.0, 8.0), (1.0, 8.0)}


@pytest.mark.parametrize("name", NAMES)
def test_the_corner_goes_by_who_cuts_it(name: str) -> None:
    holder = made(name)
    o, rules = holder.outer, process(holder.route)
    leg = rules.corner_cut_mm
    corner = shapely.box(o.x, o.y, o.x + leg, o.y + leg)
    gone = math.pi * leg**2 / 4 if holder.route != "knife" else leg**2
    frame = next(p for p in holder.parts if p.in_frame and p.box[0] == o.x)
    for slab in frame.slabs:
        assert corner.difference(polygon(slab.region.outer)).area == pytest.approx(gone, rel=0.01)
    words = "hollowed" if holder.route != "knife" else "stepped"
    assert f"{words} corner" in placing_words(holder)
    drawn = " ".join(notes(holder))
    assert (f"Home corner hollowed R {leg:g}" in drawn, "Home corner stepped back 6 x 6" in drawn) == (
        holder.route != "knife",
        holder.route == "knife",
    )


@pytest.mark.parametrize("name", NAMES)
def test_feet_stand_whole_beside_the_corner(name: str) -> None:
    holder = made(name)
    under = shapely.union_all(
        [polygon(s.region.outer) for p in holder.parts if p.in_frame for s in p.slabs if s.z0 == p.z0]
    )
    for foot in holder.feet:
        assert under.contains(shapely.Point(foot.x, foot.y).buffer(foot.diameter_mm / 2))


@pytest.mark.parametrize("name", NAMES)
def test_the_slots_ends_leave_the_zone_and_the_slide_gap_free(name: str) -> None:
    holder = made(name)
    zone = holder.calibration
    assert zone is not None
    rect = shapely.box(zone.x, zone.y, zone.right, zone.top)
    for part in (p for p in holder.parts if p.in_frame):
        for slab in part.slabs:
            assert polygon(slab.region.outer).distance(rect) >= holder.slide_gap
