"""Inner corners: 1 mm or more in sheet that a laser cuts, none that a blade would have to round.

Acrylic cracks from sharp inner corners (common practice, no source: shops ask for 1 mm or more).
"""

from __future__ import annotations

import math
from collections.abc import Iterator
from pathlib import Path

import pytest

from holders.design.model import Design
from holders.design.resolve import design
from holders.geometry.outline import Bay, Outline, arc_of, area, length, walled
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.presets_made import SHIPPED, job

CUT = [path for path in SHIPPED if load(path).route == "laser"]
BLADE = [path for path in SHIPPED if load(path).route == "knife"]


def inner_radii(holder: Design) -> Iterator[float]:
    """Radii of all corners at which material lies outside the turn; 0 for sharp ones."""
    for part in holder.parts:
        region = part.slabs[0].region
        for outline, hole in ((region.outer, False), *((one, True) for one in region.holes)):
            yield from _radii(outline, hole)


def _radii(outline: Outline, hole: bool) -> Iterator[float]:
    sense = math.copysign(1.0, area(outline)) * (-1.0 if hole else 1.0)
    segments = list(outline.segments())
    for k, (a, b) in enumerate(segments):
        before, start = segments[k - 1]
        if a.bulge * sense < 0:
            yield arc_of(a, b).radius
        elif not a.bulge and not before.bulge:
            turn = (a.x - before.x) * (b.y - start.y) - (a.y - before.y) * (b.x - start.x)
            if turn * sense < -1e-6:
                yield 0.0


@pytest.mark.parametrize("path", CUT, ids=lambda p: p.stem)
def test_a_laser_cuts_no_inner_corner_below_a_millimetre(path: Path) -> None:
    found = list(inner_radii(design(resolve(load(path)))))
    assert len(found) >= 8
    assert min(found) >= 1.0 - 1e-9


def test_a_tight_pocket_has_the_radius_that_its_clearance_allows() -> None:
    """A square film corner off by all of c stays clear of an arc of c / (1 - 1 / sqrt 2) = 3.41 c."""
    tight = design(job(route="laser", material={"name": "acrylic-cast"}, layout={"clearance_mm": 0.2}))
    least = min(inner_radii(tight))
    assert 0.66 < least <= 0.2 / (1 - 1 / math.sqrt(2))


@pytest.mark.parametrize("path", BLADE, ids=lambda p: p.stem)
def test_a_blade_cuts_straight_lines_alone(path: Path) -> None:
    outlines = [
        outline
        for part in design(resolve(load(path))).parts
        for outline in (part.slabs[0].region.outer, *part.slabs[0].region.holes)
    ]
    assert outlines
    assert {vertex.bulge for outline in outlines for vertex in outline.vertices} == {0.0}


def test_a_blade_cuts_square_notches_and_tabs() -> None:
    made = design(job(route="knife", material={"name": "mounting-board"}, lid={}))
    rings = [
        ring for part in made.parts for ring in (part.slabs[0].region.outer, *part.slabs[0].region.holes)
    ]
    assert any(len(ring.vertices) > 8 for ring in rings)  # there are notches
    assert {vertex.bulge for ring in rings for vertex in ring.vertices} == {0.0}


def test_a_bay_rounded_where_it_leaves_the_edge() -> None:
    """By hand: a square of 20 with a tab 6 x 4, far corners of 1 and roots of 2 mm: roots add (4 - pi), corners take
    (4 - pi) / 2; the way round them is shorter by 8 - 2 pi and 4 - pi.
    """
    plain = walled(0, 0, 20, 20, 0, [Bay("foot", 10, 6, 4)])
    round_ = walled(0, 0, 20, 20, 0, [Bay("foot", 10, 6, 4, 1.0, 2.0)])
    missing = 4 - math.pi
    assert area(round_) - area(plain) == pytest.approx(2 * missing - missing / 2)
    assert length(plain) - length(round_) == pytest.approx(2 * missing + missing)
    with pytest.raises(ValueError, match="does not fit"):
        walled(0, 0, 20, 20, 0, [Bay("foot", 17, 6, 4, 1.0, 2.0)])
