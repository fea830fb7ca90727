"""Sections and volumes in closed form: plates, frusta, lettering; where no closed form exists it says so."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest
from shapely.affinity import translate

from holders.design.model import Cut, Groove, Part, Role, Slab
from holders.design.parts.sections import breaks, groove_area, outline_at, section
from holders.design.parts.volume import part_volume, volume, volume_by_sections
from holders.design.pieces.pose import part_bounds, print_pose
from holders.geometry.outline import Region, circle, rectangle
from tests.fixtures_design import (
    FLARE,
    LEDGE,
    TOP,
    UNDER,
    frame_part,
    lid_part,
    opening,
    sheet_parts,
    shell,
    wall,
    written,
)


def block(*cuts: Cut, grooves: tuple[Groove, ...] = ()) -> Part:
    slab = Slab("block", 0.0, 10.0, Region(rectangle(0, 0, 40, 30)))
    return Part("block", "block", "print", "petg", 1, (slab,), cuts, grooves)


def test_section_follows_the_slabs_and_cuts() -> None:
    part = frame_part()
    whole = 120 * 150 - (4 - math.pi) * 16
    window = 80 * 100 - (4 - math.pi) * 1
    recess = math.pi * 5.15**2
    assert section(part, LEDGE - 0.1).area == pytest.approx(whole - window, rel=1e-5)
    flared = (80 + 2 * FLARE) * (100 + 2 * FLARE) - (4 - math.pi) * (1 + FLARE) ** 2
    assert section(part, UNDER).area == pytest.approx(whole - flared - 4 * recess, rel=1e-4)
    assert section(part, UNDER + 0.61).area > section(part, UNDER + 0.59).area + 3.9 * recess
    assert section(part, UNDER - 0.01).is_empty
    assert section(part, TOP).is_empty
    letters = written(part.grooves).area
    assert section(part, TOP - 0.5).area - section(part, TOP - 0.1).area == pytest.approx(letters, rel=1e-9)


def test_flare_shrinks_evenly() -> None:
    cut = frame_part().cuts[0]
    middle = outline_at(cut, (cut.z0 + cut.z1) / 2)
    xs = [v.x for v in middle.vertices]
    assert min(xs) == pytest.approx(20.5 - FLARE / 2)
    assert outline_at(cut, cut.z1) == cut.outline


def test_groove_area_of_a_straight_stroke_lies_between_square_and_round_ends() -> None:
    groove = Groove("I", (((0.0, 0.0), (0.0, 5.0)),), 0.8, 0.4, 1.0)
    blunt, round_ends = 0.8 * 5, 0.8 * 5 + math.pi * 0.16
    assert blunt < groove_area(groove).area < round_ends
    assert groove_area(Groove("", (), 0.8, 0.4, 1.0)).is_empty
    assert groove_area(Groove("x", (((0.0, 0.0), (1.0, 0.0)),), 0.0, 0.4, 1.0)).is_empty


def test_letters_with_islands_keep_them() -> None:
    found = written(frame_part().grooves)
    holes = [len(piece.interiors) for piece in found.geoms]  # type: ignore[attr-defined]
    assert sorted(holes) == [0, 1, 1]


def test_breaks_list_every_jump_once() -> None:
    assert breaks(frame_part()) == pytest.approx((UNDER, UNDER + 0.6, LEDGE - 0.8, LEDGE, TOP - 0.4, TOP))


def test_volume_of_a_frustum_cut_in_closed_form() -> None:
    # frustum of a pyramid with equal slopes: h/3 (A1 + A2 + sqrt(A1 A2)) only for similar shapes, so take squares
    cut = Cut("c", rectangle(10, 10, 10, 10), 0.0, 4.0, 2.0)
    small, large = 10.0**2, 14.0**2
    frustum = 4 / 3 * (small + large + math.sqrt(small * large))
    assert volume(block(cut)) == pytest.approx(12000 - frustum, rel=1e-12)
    cone = Cut("c", circle(20, 15, 5), 0.0, 4.0, 2.0)
    assert volume(block(cone)) == pytest.approx(12000 - math.pi * 4 / 3 * (25 + 49 + 35), rel=1e-12)


def test_volume_counts_only_what_a_cut_takes() -> None:
    above = Cut("half out", rectangle(10, 10, 5, 5), 8.0, 12.0)
    assert volume(block(above)) == pytest.approx(12000 - 50)
    beside = Cut("outside", rectangle(100, 10, 5, 5), 0.0, 5.0)
    assert volume(block(beside)) == pytest.approx(12000)
    part = frame_part(lettered=False)
    bare = Part("f", "f", "print", "petg", 1, part.slabs)
    taken = volume(bare) - volume(part)  # type: ignore[operator]
    recesses = 4 * math.pi * 5.15**2 * 0.6
    height = LEDGE - 0.8 - UNDER

    def ring(d: float) -> float:
        large = (80 + 2 * d) * (100 + 2 * d) - (4 - math.pi) * (1 + d) ** 2
        return large - (80 * 100 - (4 - math.pi))

    chamfer = height / 6 * (ring(FLARE) + 4 * ring(FLARE / 2))
    assert taken == pytest.approx(recesses + chamfer, rel=1e-10)


def test_no_closed_form_where_a_cut_crosses_a_wall() -> None:
    across = Cut("slot", rectangle(35, 10, 20, 5), 0.0, 5.0)
    assert volume(block(across)) is None
    assert part_volume(block(across)) == pytest.approx(12000 - 5 * 5 * 5, rel=1e-9)
    twice = (Cut("a", circle(20, 15, 4), 0, 3), Cut("b", circle(22, 15, 4), 0, 3))
    assert volume(block(*twice)) is None
    hole = Region(rectangle(0, 0, 40, 30), (rectangle(10, 10, 10, 10),))
    half = Part(
        "h", "h", "print", "p", 1, (Slab("s", 0, 5, hole),), (Cut("c", rectangle(15, 12, 10, 5), 0, 2),)
    )
    assert volume(half) is None
    assert part_volume(half) == pytest.approx((1200 - 100) * 5 - 5 * 5 * 2, rel=1e-9)
    doubled = Part("d", "d", "print", "p", 1, (Slab("a", 0, 5, shell()), Slab("b", 4, 6, shell())))
    assert volume(doubled) is None


@pytest.mark.parametrize("part", [frame_part(), lid_part(), *sheet_parts()], ids=lambda p: p.name)
def test_both_ways_of_reckoning_the_volume_agree(part: Part) -> None:
    exact = volume(part)
    assert exact is not None
    assert part_volume(part) == exact
    assert volume_by_sections(part) == pytest.approx(exact, rel=1e-5)


def test_plain_plates_in_closed_form() -> None:
    ledge, _ = sheet_parts()
    whole = 120 * 150 - (4 - math.pi) * 16 - (80 * 100 - (4 - math.pi))
    assert volume(ledge) == pytest.approx(3.0 * whole, rel=1e-12)


def test_a_printed_part_lies_flat_at_the_origin() -> None:
    pose = print_pose(frame_part())
    assert (pose.turned, pose.dx, pose.dy, pose.dz) == (False, -0.5, -0.5, -UNDER)
    assert part_bounds(frame_part()) == pytest.approx((0.5, 0.5, 120.5, 150.5))


def test_a_lid_lies_on_its_larger_face() -> None:
    assert not print_pose(lid_part()).turned
    pits = tuple(Cut("magnet", circle(18.9, y, 0.6), LEDGE + 0.3, LEDGE + 1.3) for y in range(40, 120, 20))
    lid = lid_part()
    pitted = replace(lid, cuts=pits)
    assert not print_pose(pitted).turned  # a few pits do not matter
    small, large = opening(), wall()
    foot = Part(
        "lid", "lid", "print", "p", 1, (Slab("a", 0, 1, large), Slab("b", 1, 2, small)), role=Role.LID
    )
    pose = print_pose(foot)
    assert section(foot, 1.5).area > section(foot, 0.5).area * 1.05
    assert pose.turned
    assert pose.dz == pytest.approx(2.0)


def test_lettering_elsewhere_is_the_same_area_moved_and_its_margin_lies_around_it() -> None:
    here = next(g for g in frame_part().grooves if len(g.strokes) > 3)
    there = replace(here, strokes=tuple(tuple((x + 37.5, y - 11.25) for x, y in s) for s in here.strokes))
    shape = groove_area(here)
    assert groove_area(there).symmetric_difference(translate(shape, 37.5, -11.25)).area < 1e-6
    wide = groove_area(here, 1.5)
    assert wide.contains(
        shape.buffer(0.96 * 1.5)
    )  # chords of a quarter in four lose 2 %, shapely's own thinning 1
    assert shape.buffer(1.5 + 1e-6).contains(wide)
