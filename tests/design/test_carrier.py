"""A carrier and its inserts: heights add up, films stay in, whatever has one code fits, and nothing else has it."""

from __future__ import annotations

from itertools import permutations
from pathlib import Path
from typing import Any

import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holders.checks.runner import run
from holders.core.errors import InputError
from holders.design.height.heights import LEAST_LAYERS
from holders.design.held.film_in_holder import designed
from holders.design.model import Design, Rect, Role
from holders.design.parts.sections import section
from holders.design.resolve import design
from holders.fittings.carrier.insert import Carrier, fit_code, insert_rect
from holders.fittings.carrier.table import CarrierTable
from holders.output.draw.drafting.notes import notes
from holders.output.draw.sheet import drawing
from holders.output.words.summary import design_summary
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from tests.design.test_laws import keep_laws
from tests.presets_made import job, kept_or_refused, presets

PRESET = Path(__file__).parent.parent.parent / "presets" / "4x5-insert.toml"
TABLE: dict[str, Any] = {"insert_width_mm": 140.0, "insert_length_mm": 200.0}
FORMATS = ("4x5", "5x7", "9x12cm", "roll-6x9", "roll-6x6")
SKIN = 1e-3


def box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def at(made: Design, name: str, z: float) -> Any:
    return shapely.union_all([section(p, z) for p in made.parts if p.role is Role(name)])


def keep_carrier_laws(wanted: Job, made: Design) -> None:
    bed, table, printer = made.find(Carrier), wanted.preset.carrier, wanted.printer
    assert bed is not None
    assert table is not None
    assert printer is not None
    insert = next(part for part in made.parts if part.name == "insert")
    around = [part for part in made.parts if part.name.startswith("carrier")]
    # heights: feet + floor + the insert's own ledge = the ledge, each in whole layers
    under, ledge = made.heights.foot_protrusion, made.heights.drawn_ledge
    assert insert.z0 == pytest.approx(bed.floor)
    assert min(part.z0 for part in around) == pytest.approx(under)
    assert insert.slabs[0].z1 == pytest.approx(ledge)
    for height in (bed.floor - under, ledge - bed.floor):
        layers = height / printer.layer_mm
        assert layers == pytest.approx(round(layers), abs=1e-6)
        assert round(layers) >= LEAST_LAYERS
    assert insert.z1 == pytest.approx(max(part.z1 for part in around))  # flush on top
    # the insert fits the plate in one piece, drops into its pocket with its clearance, and rests on the ledge
    x0, y0, x1, y1 = insert.box
    assert (x1 - x0, y1 - y0) == pytest.approx((table.insert_width_mm, table.insert_length_mm))
    room = printer.build_x_mm - 2 * printer.margin_mm, printer.build_y_mm - 2 * printer.margin_mm
    assert max(x1 - x0, y1 - y0) <= max(room)
    assert min(x1 - x0, y1 - y0) <= min(room)
    wall = at(made, "carrier", bed.floor + SKIN)
    plate = at(made, "insert", bed.floor + SKIN)
    assert shapely.union_all([section(insert, z) for z in (bed.floor + SKIN, insert.z1 - SKIN)]).distance(
        wall
    ) == pytest.approx(table.clearance_mm, abs=0.02)
    floor = at(made, "carrier", bed.floor - SKIN)
    seat = floor.intersection(plate)
    assert seat.buffer(-0.9 * (table.ledge_mm / 2)).area > 0
    # the carrier hides nothing of a window
    for window in made.windows:
        assert box(window.opening).intersection(floor).area < 1e-6
        assert bed.insert.contains(window.pocket)
    assert made.outer.contains(bed.pocket)
    if made.calibration is not None:
        assert not bed.pocket.overlaps(made.calibration)
    for foot in made.feet:
        assert shapely.Point(foot.x, foot.y).distance(box(bed.pocket)) > 0 or made.foot_recess == 0


@st.composite
def carried(draw: st.DrawFn) -> dict[str, Any]:
    made = draw(presets())
    made["route"], made["material"] = "print", {"name": "petg"}
    made["carrier"] = {
        "insert_width_mm": draw(st.floats(90, 200).map(lambda v: round(v, 1))),
        "insert_length_mm": draw(st.floats(110, 250).map(lambda v: round(v, 1))),
        **draw(
            st.fixed_dictionaries(
                {},
                optional={
                    "clearance_mm": st.floats(0.1, 0.6).map(lambda v: round(v, 2)),
                    "ledge_mm": st.floats(3, 6).map(lambda v: round(v, 1)),
                    "floor_mm": st.floats(0.6, 1.6).map(lambda v: round(v, 1)),
                    "key_mm": st.floats(2, 8).map(lambda v: round(v, 1)),
                    "corner": st.sampled_from(("hollow", "slanted")),
                },
            )
        ),
    }
    return made


def attempt(data: dict[str, Any]) -> bool:
    return kept_or_refused(data, keep_laws, keep_carrier_laws)


COMMON = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.filter_too_much]}


@settings(max_examples=25, **COMMON)
@given(carried())
def test_any_carrier_keeps_the_laws_or_is_refused(data: dict[str, Any]) -> None:
    attempt(data)


@pytest.mark.slow
@settings(max_examples=1000, **COMMON)
@given(carried())
def test_many_carriers(data: dict[str, Any]) -> None:
    attempt(data)


@pytest.mark.parametrize("extra", [{}, {"feet": {}}, {"lid": {}}, {"cover": {"catches": 0}}], ids=str)
@pytest.mark.parametrize("film", FORMATS)
def test_these_formats_share_a_carrier(film: str, extra: dict[str, Any]) -> None:
    wanted = job(film={"format": film}, carrier=TABLE, printer={"name": "p220"}, **extra)
    keep_carrier_laws(wanted, design(wanted))


def test_an_insert_of_the_same_code_fits_every_carrier_of_it() -> None:
    """Each format's insert laid into each other format's carrier: same gap, same floor, film planes alike."""
    made = {f: design(job(film={"format": f}, carrier=TABLE, printer={"name": "p220"})) for f in FORMATS}
    assert len({one.find(Carrier).fit for one in made.values() if one.find(Carrier)}) == 1
    for own, other in permutations(FORMATS, 2):
        insert = next(p for p in made[own].parts if p.name == "insert")
        bed = made[other].find(Carrier)
        assert bed is not None
        assert insert.z0 == bed.floor
        for z in (bed.floor + SKIN, insert.z0 + 1.0):
            gap = section(insert, z).distance(at(made[other], "carrier", z))
            assert gap == pytest.approx(bed.clearance, abs=0.02)
    assert len({round(one.heights.sharp_plane, 6) for one in made.values()}) == 1


@pytest.mark.parametrize(
    ("change", "same"),
    [
        ({"insert_width_mm": 141.0}, False),
        ({"insert_length_mm": 199.0}, False),
        ({"clearance_mm": 0.3}, False),
        ({"key_mm": 7.0}, False),
        ({"corner": "slanted"}, False),
        ({"floor_mm": 1.4}, False),
        ({"ledge_mm": 4.4}, False),  # it may reach under a window of an insert made for a narrower one
        ({}, True),
    ],
)
def test_the_code_tells_what_fits(change: dict[str, float], same: bool) -> None:
    one = design(job(carrier=TABLE)).find(Carrier)
    two = design(job(carrier={**TABLE, **change})).find(Carrier)
    assert one is not None
    assert two is not None
    assert (one.fit == two.fit) is same


def test_feet_raise_the_floor_and_change_the_code() -> None:
    flat, raised = design(job(carrier=TABLE)).find(Carrier), design(job(carrier=TABLE, feet={})).find(Carrier)
    assert flat is not None
    assert raised is not None
    assert raised.floor - flat.floor == pytest.approx(0.9, abs=0.01)  # 1.0 mm thick; with feet 1.9
    assert raised.fit != flat.fit


def test_the_code_is_one_of_the_numbers_alone() -> None:
    """Pinned, as a code once lettered on a carrier must stay what it is."""
    assert fit_code(Rect(38, 54.5, 140, 200), 0.25, 6.0, 1.0, ledge=4.0, radius=0.5) == "F6042A"
    assert fit_code(Rect(0, 0, 140, 200), 0.25, 6.0, 1.0, ledge=4.0, radius=0.5) == "F6042A"
    assert fit_code(Rect(0, 0, 140, 200), 0.25, 6.0, 1.0, ledge=4.0, radius=1.0) != "F6042A"


def test_the_insert_lies_where_the_film_does_not_matter() -> None:
    places = {insert_rect(job(film={"format": f}), CarrierTable(**TABLE)) for f in FORMATS}
    assert len(places) == 1


def test_both_are_lettered_with_the_code() -> None:
    made = design(resolve(load(PRESET)))
    assert made.find(Carrier) is not None
    texts = {part.name: [g.text for g in part.grooves] for part in made.parts}
    assert f"insert {made.find(Carrier).fit}" in texts["insert"]
    assert any(
        f"carrier {made.find(Carrier).fit}" in found for name, found in texts.items() if "carrier" in name
    )
    assert design_summary(made)["carrier_fit"] == made.find(Carrier).fit
    assert any(made.find(Carrier).fit in note for note in made.notes)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("carrier", {"route": "laser", "material": {"name": "acrylic-cast"}, "carrier": TABLE}),
        ("carrier.floor_mm", {"carrier": {**TABLE, "floor_mm": 2.8}}),
        ("carrier.floor_mm", {"carrier": {**TABLE, "floor_mm": 0.4}}),
        ("carrier.ledge_mm", {"carrier": {**TABLE, "ledge_mm": 2.0}}),
        ("carrier.insert_width_mm", {"carrier": {**TABLE, "insert_width_mm": 213.0}}),
        ("carrier.insert_length_mm", {"carrier": {**TABLE, "insert_length_mm": 290.0}}),
        ("carrier.insert_length_mm", {"carrier": TABLE, "printer": {"name": "p180"}}),
        ("carrier.insert_width_mm", {"carrier": TABLE, "film": {"format": "8x10"}}),
        (
            "carrier.key_mm",
            {"carrier": {**TABLE, "insert_width_mm": 110.0, "insert_length_mm": 135.0, "key_mm": 12.0}},
        ),
        (
            "carrier.ledge_mm",
            {"carrier": {"insert_width_mm": 110.0, "insert_length_mm": 135.0, "ledge_mm": 9.0}},
        ),
        ("layout.count", {"carrier": TABLE, "layout": {"count": 3}}),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(field: str, changes: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refusal:
        design(job(**changes))
    assert refusal.value.field == field


def test_the_shipped_preset_is_made_and_drawn() -> None:
    wanted = resolve(load(PRESET))
    made, _ = designed(wanted)
    keep_carrier_laws(wanted, made)
    assert not [f for f in run(wanted, made) if f.level == "stop"]
    assert {f.level for f in run(wanted, made) if f.code == "insert"} == {"pass"}
    assert b"insert" in drawing(made)[0]
    assert any("insert's home corner hollowed R 6" in words for words in notes(made))
    slanted = design(job(carrier={**TABLE, "corner": "slanted"}))
    assert any("insert's corner cut off 6 x 6" in words for words in notes(slanted))
