"""Solids: one valid body, exact volume and box, lettering the fast and the slow way, refusals."""

from __future__ import annotations

import math

import pytest

from holders.core.errors import InputError
from holders.design.model import Cut, Groove, Part, Slab
from holders.design.parts.volume import part_volume, volume
from holders.design.resolve import design
from holders.geometry.offset import grown
from holders.geometry.outline import Region, circle, rectangle
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.solid import build as building
from holders.solid.build import build
from holders.solid.engrave import faces, fits
from holders.solid.kernel import BRepAdaptor_Surface
from holders.solid.surfaces import box_of, solids, valid
from holders.solid.surfaces import volume as solid_volume
from holders.solid.wires import frustum
from tests.fixtures_design import TOP, UNDER, frame_part, letters, lid_part, sheet_parts, written
from tests.presets_made import SHIPPED_QUICK

PARTS = [frame_part(), frame_part(lettered=False), lid_part(), *sheet_parts()]


def block(*cuts: Cut, grooves: tuple[Groove, ...] = (), width: float = 40.0) -> Part:
    slab = Slab("block", 0.0, 10.0, Region(rectangle(0, 0, width, 30)))
    return Part("block", "block", "print", "petg", 1, (slab,), cuts, grooves)


@pytest.mark.parametrize("part", PARTS, ids=lambda p: f"{p.name}-{len(p.grooves)}")
def test_one_valid_body_of_the_closed_form_s_volume(part: Part) -> None:
    body = build(part)
    assert len(solids(body)) == 1
    assert valid(body)
    exact = volume(part)
    assert exact is not None
    assert solid_volume(body) == pytest.approx(exact, rel=1e-9)


@pytest.mark.parametrize("path", SHIPPED_QUICK)
def test_every_shipped_preset_builds_to_its_closed_form(path) -> None:  # type: ignore[no-untyped-def]
    for part in design(resolve(load(path))).parts:
        body = build(part)
        assert len(solids(body)) == 1
        assert solid_volume(body) == pytest.approx(part_volume(part), rel=1e-3)
        exact = volume(part)
        if exact is not None:
            assert solid_volume(body) == pytest.approx(exact, rel=1e-9)


def test_box_is_the_design_s() -> None:
    assert box_of(build(frame_part())) == pytest.approx((0.5, 0.5, UNDER, 120.5, 150.5, TOP), abs=1e-5)


def test_round_frustum_is_a_true_cone_of_the_handbook_s_volume() -> None:
    # V = pi h / 3 (R² + R r + r²), any book of mensuration
    cone = frustum(circle(0, 0, 9), 0.0, circle(0, 0, 6), 4.0)
    assert solid_volume(cone) == pytest.approx(math.pi * 4 / 3 * (81 + 54 + 36), rel=1e-9)
    kinds = [str(BRepAdaptor_Surface(face).GetType()).rsplit("_", 1)[-1] for face in faces(cone)]
    assert sorted(kinds) == ["Cone", "Cone", "Plane", "Plane"]


def test_square_frustum_of_the_handbook_s_volume() -> None:
    # V = h / 3 (A + a + sqrt(A a))
    upper = rectangle(0, 0, 10, 10)
    body = frustum(grown(upper, 2.0), 0.0, upper, 4.0)
    assert solid_volume(body) == pytest.approx(4 / 3 * (196 + 100 + 140), rel=1e-9)
    assert valid(body)


def test_arcs_stay_arcs_in_the_solid() -> None:
    kinds = [
        str(BRepAdaptor_Surface(face).GetType()).rsplit("_", 1)[-1]
        for face in faces(build(frame_part(False)))
    ]
    assert set(kinds) == {"Plane", "Cylinder", "Cone"}
    assert kinds.count("Cone") == 4  # the chamfer's corners


def test_lettering_takes_its_area_times_depth() -> None:
    with_letters, without = frame_part(), frame_part(lettered=False)
    taken = solid_volume(build(without)) - solid_volume(build(with_letters))
    assert taken == pytest.approx(written(with_letters.grooves).area * 0.4, rel=1e-7)


def test_fast_and_slow_lettering_give_the_same_body(monkeypatch: pytest.MonkeyPatch) -> None:
    part = block(grooves=(Groove("AOI", letters(10, 10), 0.8, 0.4, 10.0),))
    fast = build(part)
    used: list[int] = []
    slow_way = building._milled

    def counted(*arguments):  # type: ignore[no-untyped-def]
        used.append(1)
        return slow_way(*arguments)

    monkeypatch.setattr(building, "_milled", counted)
    monkeypatch.setattr(building, "fits", lambda *_: False)
    slow = build(part)
    assert used
    assert valid(fast)
    assert valid(slow)
    assert solid_volume(fast) == pytest.approx(solid_volume(slow), rel=1e-9)
    assert box_of(fast) == pytest.approx(box_of(slow), abs=1e-6)
    assert len(list(faces(fast))) == len(list(faces(slow)))


@pytest.mark.parametrize(
    ("part", "why"),
    [
        (block(grooves=(Groove("AOI", letters(-1, 10), 0.8, 0.4, 10.0),)), "over the edge"),
        (block(grooves=(Groove("AOI", letters(10, 10), 0.8, 0.4, 8.0),)), "buried"),
        (
            block(
                Cut("pit", circle(22, 12, 3), 5, 9.8),
                grooves=(Groove("AOI", letters(10, 10), 0.8, 0.4, 10.0),),
            ),
            "thin roof",
        ),
        (
            block(
                grooves=(
                    Groove("AOI", letters(10, 10), 0.8, 0.4, 10.0),
                    Groove("AOI", letters(10, 15.405), 0.8, 0.4, 10.0),
                )
            ),
            "near each other",
        ),
    ],
    ids=lambda p: p if isinstance(p, str) else "",
)
def test_letters_that_do_not_lie_clear_on_the_top_go_the_slow_way(part: Part, why: str) -> None:
    area = written(part.grooves)
    top = part.grooves[0].z_top
    if why != "near each other":
        assert not fits(part, area, top - 0.4, top)
    body = build(part)
    assert valid(body)
    assert solid_volume(body) < solid_volume(build(block()))


def test_deep_lettering_through_a_thin_plate_is_cut_through() -> None:
    slab = Slab("thin", 0.0, 0.4, Region(rectangle(0, 0, 40, 30)))
    stroke = (((10.0, 10.0), (20.0, 10.0)),)
    part = Part("thin", "thin", "print", "petg", 1, (slab,), (), (Groove("I", stroke, 0.8, 0.4, 0.4),))
    body = build(part)
    assert valid(body)
    assert solid_volume(body) == pytest.approx(1200 * 0.4 - written(part.grooves).area * 0.4, rel=1e-9)


def test_two_depths_of_lettering() -> None:
    part = block(
        grooves=(Groove("I", letters(10, 10), 0.8, 0.4, 10.0), Groove("O", letters(10, 20), 0.8, 1.0, 10.0))
    )
    expected = 12000 - sum(written((g,)).area * g.depth_mm for g in part.grooves)
    assert solid_volume(build(part)) == pytest.approx(expected, rel=1e-9)
    assert valid(build(part))


def test_lettering_without_depth_leaves_the_solid_alone() -> None:
    part = block(grooves=(Groove("AOI", letters(10, 10), 0.8, 0.0, 10.0),))
    assert solid_volume(build(part)) == pytest.approx(12000, rel=1e-12)


def test_a_part_in_pieces_is_refused_in_words() -> None:
    slot = Cut("slot", rectangle(15, -5, 5, 40), 0.0, 10.0)
    with pytest.raises(InputError, match="falls into 2 pieces"):
        build(block(slot))


def test_nothing_left_is_refused_in_words() -> None:
    with pytest.raises(InputError, match="nothing is left"):
        build(block(Cut("all", rectangle(-5, -5, 60, 60), -1.0, 11.0)))


def test_stacked_slabs_with_equal_outlines_become_one_smooth_wall() -> None:
    region = Region(rectangle(0, 0, 40, 30, 3))
    stack = tuple(Slab(f"s{k}", float(k), float(k + 1), region) for k in range(4))
    body = build(Part("stack", "stack", "print", "petg", 1, stack))
    assert len(list(faces(body))) == 10  # four walls, four corners, top and bottom: no seams left
