"""The mask around a small holder, of card or of its own sheet, and cards for empty pockets: where they lie, what
refuses them, their files.
"""

from __future__ import annotations

import io
import math
from typing import Any

import ezdxf
import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.checks.film.flare import Flare
from holders.checks.frame.clear import Calibration, Overlap
from holders.checks.frame.mask import BARE, ROOM, MaskCard
from holders.checks.safety.cautions import hazards
from holders.core.errors import InputError
from holders.design.model import Design, Part, Role
from holders.design.parts import slices
from holders.design.parts.sections import area_of
from holders.design.pieces.cutting import cut_part
from holders.design.plan.mask import LEAST_LIT_MM2, LEAST_WIDE_MM, lets_light_through
from holders.design.resolve import design
from holders.facts.tables import material, paper, process, table
from holders.geometry.outline import area, bounds
from holders.output.bundle.plan_files import files_for
from holders.output.bundle.produce import stock_drawings
from holders.output.draw.drafting.items import items
from holders.output.draw.plan import plan
from holders.output.draw.sheet import drawing
from holders.output.sheet import loading, steps
from holders.output.sheet.shopping import section as shopping
from holders.preset.resolve import Job
from holders.workshop.nest.nest_job import nest_job, sheets_of
from tests.presets_made import job

SMALL: dict[str, Any] = {"outer_width_mm": 130.0, "outer_length_mm": 160.0, "mask_card_mm": 0.4}
MATERIALS = {"print": "petg", "laser": "acrylic-cast", "knife": "mat-board"}
HAIR_MM = 0.002  # corners are kept to a micrometre
MOST_SLANT_MM2 = 40.0  # of a home corner: a leg of 8 mm at most, half its square, and the gap


def wanted(route: str = "print", **layout: Any) -> Job:
    return job(
        route=route, film={"format": "4x5"}, material={"name": MATERIALS[route]}, layout={**SMALL, **layout}
    )


def covered(made: Design) -> shapely.Geometry:
    return shapely.union_all([area_of(slab.region) for card in made.mask for slab in card.slabs])


def bare(made: Design) -> shapely.Geometry:
    """Glass less the gap that neither parts nor the way to the calibration zone take, from the parts themselves."""
    body = shapely.union_all([slices.footprint(part) for part in made.parts])
    filled = shapely.union_all([shapely.Polygon(p.exterior) for p in shapely.get_parts(body)])
    away = filled.buffer(made.slide_gap, join_style="mitre")
    if (zone := made.calibration) is not None:
        clear = 2.0 if made.route == "knife" else 1.5
        away = away.union(shapely.box(zone.x - clear, -10, zone.right + clear, zone.top + clear))
    glass = made.glass.grown(-made.slide_gap)
    return shapely.box(glass.x, glass.y, glass.right, glass.top).difference(away)


def off_home(made: Design) -> shapely.Geometry:
    """Everywhere but at the four corners of the holder, whose arcs the card follows in straight lines."""
    o = made.outer
    return shapely.union_all([
        shapely.box(x - 9, y - 9, x + 9, y + 9) for x in (o.x, o.right) for y in (o.y, o.top)
    ])  # fmt: skip


def test_the_mask_by_hand() -> None:
    """In the far left corner there is no stop, and the card is one L: all of it by arithmetic."""
    made = design(wanted(anchor="head-corner"))
    (card,) = made.mask
    zone = made.calibration
    assert zone is not None
    glass = 215.0 * 296.0  # 216 x 297 less the gap on each side
    holder = 130.5 * 160.5  # its outside with the gap on the two sides that have card, from the rim's gap on
    way = (zone.width + 3.0) * (zone.top + 1.5 - 0.5)
    region = card.slabs[0].region
    assert not region.holes
    assert area(region.outer) == pytest.approx(
        glass - holder - way, abs=0.01
    )  # the hollowed corner is too narrow for card
    assert bounds(region.outer) == pytest.approx((0.5, 0.5, 215.5, 296.5), abs=1e-6)
    assert (card.z0, card.z1, card.process, card.role) == (0.0, 0.4, "knife", Role.MASK)


@pytest.mark.parametrize("route", ["print", "laser", "knife"])
@pytest.mark.parametrize("anchor", ["middle", "head-corner"])
def test_it_is_what_parts_and_zone_leave_of_the_glass(route: str, anchor: str) -> None:
    made = design(wanted(route, anchor=anchor))
    differs = covered(made).symmetric_difference(bare(made)).difference(off_home(made))
    assert differs.area < 2.0  # the stops' corners are rounded by a millimetre
    assert covered(made).area > 30_000
    # the card never reaches nearer to a part than the gap, at the corners neither
    body = shapely.union_all([slices.footprint(part) for part in made.parts])
    assert covered(made).distance(body) > made.slide_gap - HAIR_MM


@given(
    st.sampled_from(["print", "laser", "knife"]),
    st.floats(130, 215).map(lambda x: round(x, 2)),
    st.floats(150, 296).map(lambda x: round(x, 2)),
    st.sampled_from(["middle", "home-corner", "head-corner"]),
    st.floats(0.3, 3).map(lambda x: round(x, 2)),
    st.floats(0, 12).map(lambda x: round(x, 1)),
)
@settings(deadline=None, max_examples=60)
def test_laws_of_every_mask(
    route: str, width: float, length: float, anchor: str, gap: float, radius: float
) -> None:
    """It covers no part, no zone and nothing beside the glass, and leaves out no lit strip wide enough for card."""
    asked: dict[str, Any] = {
        "outer_width_mm": width, "outer_length_mm": length, "anchor": anchor, "slide_gap_mm": gap,
        "corner_radius_mm": radius,
    }  # fmt: skip
    try:
        made = design(wanted(route, **asked))
    except InputError as refused:
        if refused.field != "layout.mask_card_mm":
            return  # no such holder, with a mask or without
        made = design(wanted(route, **asked, mask_card_mm=None))
    mask, free = covered(made), bare(made)
    glass = made.glass.grown(-gap)
    assert mask.difference(shapely.box(glass.x, glass.y, glass.right, glass.top)).area < 1e-6
    body = shapely.union_all([slices.footprint(part) for part in made.parts])
    assert mask.is_empty or mask.distance(body) > gap - HAIR_MM
    if made.calibration is not None and not mask.is_empty:
        assert mask.distance(slices.box(made.calibration)) > 1.5 - HAIR_MM
        zone = made.calibration
        assert mask.intersection(shapely.box(zone.x, 0, zone.right, zone.top)).area < 1e-6
    lamp = slices.box(made.lamp)
    for missed in shapely.get_parts(free.difference(mask)):
        wide = missed.buffer(-(LEAST_WIDE_MM / 2 + 0.01))
        whole = wide.buffer(LEAST_WIDE_MM / 2)
        assert wide.is_empty or whole.intersection(lamp).area < LEAST_LIT_MM2 + MOST_SLANT_MM2
    for card in made.mask:
        assert area_of(card.slabs[0].region).buffer(-(LEAST_WIDE_MM / 2 - 0.1)).area > 0
    if made.mask:
        levels = {f.subject: f.level for rule in (MaskCard(), Calibration(), Overlap())
                  for f in rule.check(wanted(route, **asked), made)}  # fmt: skip
        assert "stop" not in levels.values()


def test_a_zone_far_from_the_rim_is_open_to_it() -> None:
    """No bar of card is left between the calibration zone and the home rim, where it would slip onto the zone."""
    preset = job(
        film={"format": "4x5"}, layout={**SMALL, "anchor": "head-corner"},
        bed={"name": "a4-wide", "calibration_y_mm": 20.0, "calibration_length_mm": 10.0},
    )  # fmt: skip
    made = design(preset)
    zone = made.calibration
    assert zone is not None
    assert zone.y == 20.0
    assert (
        covered(made).intersection(shapely.box(zone.x - 1.4, 0, zone.right + 1.4, zone.top + 1.4)).area < 1e-6
    )
    assert covered(made).intersects(shapely.Point(zone.x + 10, zone.top + 2))  # behind the zone it is covered


def test_the_check_counts_what_is_left_bare() -> None:
    """Without its larger piece a mask leaves nearly all bare, by shapely's own difference on the finished parts."""
    preset = wanted()
    made = design(preset)
    (found,) = [f for f in MaskCard().check(preset, made) if f.subject == BARE]
    assert found.level == "pass"
    outer = slices.box(made.outer)
    body = shapely.union_all([outer, *(slices.footprint(part) for part in made.parts)])
    assert made.calibration is not None
    lit = slices.box(made.lamp).difference(body.union(slices.box(made.calibration)))
    assert found.measured == pytest.approx(100 * lit.difference(covered(made)).area / lit.area, abs=1e-3)
    assert isinstance(found.measured, float)
    assert 0.5 < found.measured < 2.0  # half a millimetre round 580 mm of outside and four sides of stops


@pytest.mark.parametrize(
    ("layout", "words"),
    [
        ({"outer_width_mm": None, "outer_length_mm": None}, "leaves no strip of lit glass bare"),
        ({"outer_width_mm": None, "outer_length_mm": None, "shift_room_mm": 20.0}, "layout.shift_room_mm"),
    ],
)
def test_it_is_refused_where_it_can_cover_nothing_or_is_in_the_way(
    layout: dict[str, Any], words: str
) -> None:
    with pytest.raises(InputError) as refused:
        design(wanted(**layout))
    assert refused.value.field == "layout.mask_card_mm"
    assert words in refused.value.way_out
    design(wanted(**layout, mask_card_mm=None))  # what it says to do helps


def test_it_is_refused_beside_a_holder_that_moves() -> None:
    preset: dict[str, Any] = {
        "bed": {"name": "a4-small"},
        "film": {"format": "5x7"},
        "passes": {},
    }
    design(job(**preset))
    with pytest.raises(InputError, match=r"\[passes\]") as refused:
        design(job(**preset, layout={"mask_card_mm": 0.4}))
    assert refused.value.field == "layout.mask_card_mm"


def test_pocket_cards() -> None:
    """One fewer than there are pockets, each as large as the film; a holder for one film has none."""
    made = design(job(film={"format": "4x5"}, layout={"count": 3, "mask_card_mm": 0.3}))
    (card,) = made.cards
    film = made.windows[0].film
    assert (card.role, card.quantity, len(card.places)) == (Role.POCKET_CARD, 2, 2)
    x0, y0, x1, y1 = card.box
    assert (x1 - x0, y1 - y0) == pytest.approx((film.width, film.height))
    assert not made.mask
    assert all(one.role is Role.MASK for one in design(wanted()).cards)


@pytest.mark.parametrize("route", ["print", "laser", "knife"])
def test_files_hold_every_piece_at_its_size(route: str) -> None:
    made, page = design(wanted(route)), paper("a4")
    files, plain = files_for(made, page), files_for(design(wanted(route, mask_card_mm=None)), page)
    assert set(files) - set(plain) == {"cards.pdf", "mask-1.dxf", "mask-2.dxf"}
    assert set(plain) <= set(files)
    for card in made.cards:
        _same_in_dxf(files[f"{card.name}.dxf"](), card)
    assert files["cards.pdf"]().startswith(b"%PDF")


def _same_in_dxf(data: bytes, card: Part) -> None:
    lines = ezdxf.read(io.StringIO(data.decode())).modelspace().query("LWPOLYLINE")  # type: ignore[attr-defined]
    x0, y0 = card.box[:2]
    rings = [shapely.Polygon([(x + x0, y + y0) for x, y in line.get_points("xy")]) for line in lines]
    assert len(rings) == 1 + len(card.slabs[0].region.holes)
    assert rings[-1].symmetric_difference(area_of(card.slabs[0].region)).area < 1e-3


def test_sheet_drawing_and_cautions_speak_of_it() -> None:
    preset = wanted()
    made, plain = design(preset), design(wanted(mask_card_mm=None))
    assert [item.title for item in items(made)][-2:] == [card.title for card in made.cards]
    told = str(shopping(preset, made))
    assert "black card, 0.4 mm" in told
    assert "215 x 296 mm" in told  # the larger piece goes round the holder from rim to rim
    making = str(steps.section(preset.material, preset.printer, made))
    assert "Cut mask-1, mask-2 from opaque black card of 0.4 mm" in making
    assert "Lay the 2 pieces of the mask flat on the glass" in str(loading.section(preset, made))
    assert "grey: mask on the glass" in plan(made, 0.5).svg("plan").decode()
    sheets = b"".join(drawing(made)).decode()
    assert "The mask on the glass, from above" in sheets
    assert "The mask on the glass" not in b"".join(drawing(plain)).decode()
    assert "knife" in {caution.key for caution in hazards(preset, made)}
    assert "knife" not in {caution.key for caution in hazards(preset, plain)}
    assert "mask" not in str(loading.section(preset, plain))


# of the holder's own sheet


def own(route: str = "laser", material: dict[str, Any] | None = None, **layout: Any) -> Job:
    stuff = {"name": MATERIALS[route]} | (material or {})
    asked = SMALL | {"mask_card_mm": None, "mask_from": "sheet"} | layout
    return job(route=route, film={"format": "4x5"}, material=stuff, layout=asked)


def test_a_mask_of_the_holders_own_sheet_by_hand() -> None:
    """The same L as of card, of the thinnest sheet at hand; the beam's width is set off all round it."""
    made = design(own(anchor="head-corner", material={"sheets_mm": [2.9, 1.45], "kerf_mm": 0.2}))
    (piece,) = made.cards
    assert made.of_sheet == (piece,)
    assert not made.of_card
    assert (piece.z0, piece.process, piece.material) == (0.0, "laser", "acrylic-cast")
    assert piece.z1 == pytest.approx(1.45)
    zone = made.calibration
    assert zone is not None
    l_shape = 215.0 * 296.0 - 130.5 * 160.5 - (zone.width + 3.0) * (zone.top + 1.5 - 0.5)
    # the home corner is cut off, the gap goes along its slant, and the rim's gap takes a strip of the triangle
    l_shape += (process("laser").corner_cut_mm + 0.5 * (2 - math.sqrt(2)) - 0.5) ** 2 / 2
    assert area(piece.slabs[0].region.outer) == pytest.approx(l_shape, abs=0.01)
    corners = [(v.x, v.y) for v in piece.slabs[0].region.outer.vertices]
    around = sum(math.dist(one, two) for one, two in zip(corners, corners[1:] + corners[:1], strict=True))
    grown = (
        l_shape + around * 0.1 + 4 * 0.1**2
    )  # four more outer corners than inner ones, but for the slant's
    assert area(cut_part(piece, 0.2).outer) == pytest.approx(grown, abs=0.05)


@pytest.mark.parametrize("route", ["laser", "knife"])
def test_it_is_cut_with_the_parts_from_their_sheets(route: str) -> None:
    """Its paths stand in the stock sheet's file, on the parts' layers; the sheet keeps more by just its area."""
    preset = own(route)
    made, plain = design(preset), design(own(route, mask_from="card"))
    nested, before = nest_job(preset, made), nest_job(preset, plain)
    assert len(sheets_of(nested)) == len(sheets_of(before))  # there is room beside the parts
    kerf = preset.material.kerf_mm if route == "laser" else 0.0
    pieces = [cut_part(piece, kerf) for piece in made.of_sheet]
    whole = sum(area(piece.outer) - sum(area(hole) for hole in piece.inner) for piece in pieces)
    more = sum(n.nesting.kept_mm2 for n in nested) - sum(n.nesting.kept_mm2 for n in before)
    assert more == pytest.approx(whole, rel=0.01)
    thinnest = min(nested, key=lambda one: one.thickness_mm)
    names = {spot.part for spot in thinnest.nesting.placements}
    assert {piece.name for piece in made.of_sheet} <= names
    drawn = stock_drawings(nested)
    files = files_for(made, paper("a4"), stock=drawn)
    assert "cards.pdf" not in files
    assert {f"{piece.name}.dxf" for piece in made.of_sheet} <= set(files)
    ((sheet, where),) = {
        (sheet.file, spot)
        for sheet in sheets_of(nested)
        for spot in sheet.placements
        if spot.part == pieces[0].name
    }
    lines = ezdxf.read(io.StringIO(files[sheet]().decode())).modelspace().query("LWPOLYLINE")  # type: ignore[attr-defined]
    boxes = [(line.dxf.layer, shapely.Polygon(line.get_points("xy")).bounds) for line in lines if line.closed]
    wide, long = pieces[0].box[2] - pieces[0].box[0], pieces[0].box[3] - pieces[0].box[1]
    if where.rotation:
        wide, long = long, wide
    wanted_box = (where.x, where.y, where.x + wide, where.y + long)
    assert any(
        layer.endswith("_OUTER") and box == pytest.approx(wanted_box, abs=1e-6) for layer, box in boxes
    )


def test_a_sheet_just_large_enough_for_the_holder_has_no_room_for_its_mask() -> None:
    small = {"name": "mdf", "sheet_width_mm": 320.0, "sheet_height_mm": 240.0}
    preset = own(material=small)
    (found,) = [f for f in MaskCard().check(preset, design(preset)) if f.subject == ROOM]
    assert (found.level, found.field) == ("warn", "layout.mask_from")
    plain = nest_job(preset, design(own(material=small, mask_from="card")))
    assert found.measured == len(sheets_of(nest_job(preset, design(preset)))) - len(sheets_of(plain)) > 0


@pytest.mark.parametrize(
    ("preset", "words"),
    [
        (lambda: own("print"), "a printed holder is cut from no sheet"),
        (lambda: own(material={"finish": "clear"}), "cast acrylic sheet lets the lamp's light through"),
        (lambda: own(material={"finish": "light"}), "cast acrylic sheet lets the lamp's light through"),
        (
            lambda: own(material={"sheet_width_mm": 200.0, "sheet_height_mm": 200.0}),
            "fits no sheet of 200 x 200 mm",
        ),
        (lambda: own(outer_width_mm=None, outer_length_mm=None), "leaves no strip of lit glass bare"),
        (lambda: own(outer_width_mm=None, outer_length_mm=None, shift_room_mm=20.0), "layout.shift_room_mm"),
    ],
)
def test_the_sheet_is_refused_where_it_cannot_be_a_mask(preset: Any, words: str) -> None:
    with pytest.raises(InputError) as refused:
        design(preset())
    assert refused.value.field == "layout.mask_from"
    assert words in refused.value.way_out


def test_the_card_that_a_refusal_names_is_a_mask() -> None:
    for route, stuff in (("print", {}), ("laser", {"finish": "clear"})):
        made = design(own(route, material=stuff, mask_from="card", mask_card_mm=0.4))
        assert made.mask == made.of_card != ()


def test_which_sheets_are_opaque() -> None:
    """Wood and board in all colours but clear, plastic and foam where they are black: by hand for every material."""
    for row in table("materials"):
        stuff = material(row.key)
        dark_only = stuff.family in ("plastic", "acrylic", "foam")
        assert lets_light_through(stuff, "light") is dark_only
        assert lets_light_through(stuff, "dark") is dark_only
        assert lets_light_through(stuff, "clear")
        assert not lets_light_through(stuff, "black")
        assert not lets_light_through(stuff, "matt-black")


def test_a_thick_mask_throws_no_light_at_the_picture() -> None:
    """Its edges stand outside the frame: walls and perforations are judged as with card, or without a mask."""
    preset, plain = own(), own(mask_from="card")
    assert list(Flare().check(preset, design(preset))) == list(Flare().check(plain, design(plain)))


def test_sheet_and_steps_say_where_it_comes_from() -> None:
    preset = own()
    made = design(preset)
    nested = nest_job(preset, made)
    told = str(shopping(preset, made, nested))
    assert "black card" not in told
    assert "mask of cast acrylic sheet, piece 1" in told
    making = str(steps.section(preset.material, preset.printer, made, sheets_of(nested)))
    assert "no light may come through, as mask-1 and mask-2 are cut from it beside the parts" in making
    assert "opaque black card" not in making
    assert "Lay the 2 pieces of the mask flat on the glass" in str(loading.section(preset, made))
    assert "knife" not in {caution.key for caution in hazards(preset, made)}


def test_pocket_cards_stay_card_beside_a_mask_of_the_sheet() -> None:
    """A sheet of 2 mm in a pocket would lift the lid; without a thickness of card the step names card or an offcut."""
    layout = {"count": 2, "outer_width_mm": 215.0, "outer_length_mm": 190.0, "mask_from": "sheet"}
    preset = job(
        route="laser", film={"format": "4x5"}, material={"name": "mdf"}, layout=layout | {"mask_card_mm": 0.3}
    )
    made = design(preset)
    assert {card.role for card in made.of_sheet} == {Role.MASK}
    assert [(card.role, card.z1) for card in made.of_card] == [(Role.POCKET_CARD, 0.3)]
    bare = job(route="laser", film={"format": "4x5"}, material={"name": "mdf"}, layout=layout)
    assert not design(bare).of_card
    assert "an offcut of the holder's own sheet" in str(loading.section(bare, design(bare)))
