"""Single steps of a design with answers that are known by hand."""

from __future__ import annotations

import math
from dataclasses import replace
from types import SimpleNamespace
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.design.draft.levels import levels
from holders.design.draft.places import Place
from holders.design.height.heights import foot_recess
from holders.design.height.sheets import Stack
from holders.design.held.curl_odds import softness
from holders.design.parts.members import Layer, Section, section_of
from holders.design.pieces.seams import _to_corner
from holders.design.plan.layout import lay_out
from holders.design.plan.lettering_place import _around_room
from holders.design.plan.lighten import trays
from holders.design.resolve import design
from holders.geometry.rect import Rect
from tests.presets_made import job

PRINTED = job(layout={"light": True, "label": False})


def test_a_rectangle_s_section_is_the_handbook_s() -> None:
    """I = w h³ / 12; torsion w h³ (1/3 - 0.21 h/w (1 - h⁴ / 12 w⁴)) of 20 x 5: Roark's Formulas (from memory)."""
    torsion = 20 * 5**3 * (1 / 3 - 0.21 * 5 / 20 * (1 - 5**4 / (12 * 20**4)))
    assert section_of([Layer(20.0, 1.0, 6.0)]) == Section(
        pytest.approx(100.0), pytest.approx(20 * 5**3 / 12), pytest.approx(torsion)
    )
    assert section_of([Layer(20.0, 1.0, 1.0)]) == Section(0.0, 0.0, 0.0)


def test_from_a_seam_to_a_corner_beside_it_and_to_one_in_its_line() -> None:
    """A seam at y = 3 from x = 20 to 30: to (8, -2) it is 13 mm (5, 12, 13), to (25, 5) straight up 2."""
    body: Any = SimpleNamespace(corners=((8.0, -2.0), (38.0, 9.0)))
    assert _to_corner(body, 3.0, [(20.0, 30.0)]) == pytest.approx(math.hypot(8.0, 6.0))
    assert _to_corner(SimpleNamespace(corners=((8.0, -2.0),)), 3.0, [(20.0, 30.0)]) == pytest.approx(13.0)
    assert _to_corner(SimpleNamespace(corners=((25.0, 5.0),)), 3.0, [(20.0, 30.0)]) == pytest.approx(2.0)


@pytest.mark.parametrize("sheets", [(2.0,), (2.0, 1.5), (2.0, 1.5, 1.0)])
def test_a_board_without_a_pocket_ends_where_its_last_sheet_does(sheets: tuple[float, ...]) -> None:
    """With glue of 0.1 mm between two sheets."""
    wanted: Any = SimpleNamespace(
        printer=None, preset=SimpleNamespace(layout=SimpleNamespace(pocket_depth_mm=0.0))
    )
    rise: Any = SimpleNamespace(heights=SimpleNamespace(foot_protrusion=0.5), stack=Stack(sheets, 0.1))
    made = levels(wanted, rise, alone=True)
    assert made.top == made.ledge == pytest.approx(0.5 + sum(sheets) + 0.1 * (len(sheets) - 1))


def test_softness_goes_through_forty_equal_chances_from_the_thinnest_on() -> None:
    """Thickness alone spread, by a symmetric triangle: its quantile at p below one half is a + (b - a) sqrt(2 p)."""
    found = softness((0.1, 0.2, 0.3), (4000.0, 4000.0, 4000.0))
    thin = 0.1 + 0.1 * math.sqrt(2 * 0.5 / 40)
    assert len(found) == 40
    assert found[0] == pytest.approx(math.log(0.2 / thin) / math.log(2.0))
    assert list(found) == sorted(found, reverse=True)


@pytest.mark.parametrize("recess", [1.0, 1.5])
def test_a_foot_sunk_as_deep_as_it_is_thick_or_deeper_is_refused(recess: float) -> None:
    with pytest.raises(InputError, match="would not touch the glass"):
        foot_recess(job(feet={"thickness_mm": 1.0, "recess_mm": recess}))
    assert foot_recess(job(feet={"thickness_mm": 1.0, "recess_mm": 0.9})) == 0.9


@pytest.mark.parametrize(("inner", "count"), [(11.9, 0), (12.1, 1)])
def test_a_tray_narrower_than_12_mm_is_not_made(inner: float, count: int) -> None:
    """A frame whose film leaves one strip beside it: rims of 4 mm on both sides of the strip."""
    made = lay_out(PRINTED)
    room = Rect(10.0, 10.0, 80.0, 80.0)
    outer = Rect(8.0, 8.0, 80.0 + 2.0 + 4.0 + inner + 4.0, 84.0)
    one = Place(room, room, room, room, room)
    layout = replace(made, outer=outer, keep_open=None, places=(one,))
    found = trays(PRINTED.printer, PRINTED.preset.layout, layout, (), ())
    assert len(found) == count
    assert all(tray.width == pytest.approx(inner) for tray in found)


def test_the_strip_above_a_pocket_ends_at_the_pocket_above_it() -> None:
    """Three pockets in a column, 10 mm between them, in a frame of 100 x 160 mm: strips of the middle one."""
    rooms = [Rect(20.0, y, 60.0, 40.0) for y in (10.0, 60.0, 110.0)]
    strips = _around_room(rooms[1], [rooms[0], rooms[2]], Rect(0.0, 0.0, 100.0, 160.0), 0.0)
    assert {(s.y, s.top) for s in strips if s.height < 11} == {(50.0, 60.0), (100.0, 110.0)}


def test_a_magnet_s_pit_in_a_lid_goes_up_from_its_underside_by_the_magnet_and_a_little() -> None:
    made = design(
        job(lid={"magnets": 2, "magnet_diameter_mm": 4.0, "magnet_thickness_mm": 2.0, "thickness_mm": 4.0})
    )
    (lid,) = [part for part in made.parts if part.name.startswith("lid")]
    pits = [cut for cut in lid.cuts if cut.magnet]
    assert len(pits) == 2
    for pit in pits:
        assert pit.z0 == pytest.approx(min(slab.z0 for slab in lid.slabs))
        assert 2.0 <= pit.z1 - pit.z0 <= 2.5
