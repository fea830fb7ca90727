"""Every row of every trade table: loads, says where it comes from, and does not contradict itself."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from typing import Any, get_args

import pytest
from pydantic import ValidationError

from holders.facts import tables
from holders.facts.models import Bed, Fact, FilmBase, FilmFormat, Material, Paper, Printer
from holders.facts.sources import STRONG_TO_WEAK, Status, number_keys

OURS = ("formats", "bases", "materials", "beds", "printers", "papers")
IN_DATA = (
    "read",
    "read second-hand",
    "computed",
    "from memory",
    "common practice, no source",
    "invented",
    "measure it",
)
ROWS = [
    pytest.param(name, row, id=f"{name}/{row.key}") for name in tables.MODELS for row in tables.table(name)
]


def text_of(name: str) -> str:
    return resources.files("holders.facts").joinpath("data", f"{name}.toml").read_text(encoding="utf-8")


def rows(name: str, model: type[Any]) -> list[Any]:
    found = [row for row in tables.table(name) if isinstance(row, model)]
    assert len(found) == len(tables.table(name))
    return found


FORMATS: list[FilmFormat] = rows("formats", FilmFormat)
BASES: list[FilmBase] = rows("bases", FilmBase)
MATERIALS: list[Material] = rows("materials", Material)
BEDS: list[Bed] = rows("beds", Bed)
PRINTERS: list[Printer] = rows("printers", Printer)
PAPERS: list[Paper] = rows("papers", Paper)


def by_key(row: Fact) -> str:
    return row.key


@pytest.mark.parametrize(("name", "row"), ROWS)
def test_row_says_where_it_comes_from(name: str, row: Fact) -> None:
    assert row.name == row.name.strip() != ""
    assert row.status in IN_DATA
    assert len(row.source) > 20, "a source that names nothing"
    for said in (row.name, row.source, row.note):
        assert said.isprintable()
        assert said.isascii(), "rows are printed on any terminal and engraved as single strokes"


@pytest.mark.parametrize(("name", "row"), ROWS)
def test_every_number_has_a_source_and_an_allowed_status(name: str, row: Fact) -> None:
    by_value = {source.value: source for source in row.sources}
    for key in row.model_fields_set & set(number_keys(row.model_dump())):
        source = row.source_of(key)
        assert source.status in IN_DATA, f"{key}: {source.status}"
        if source.status not in ("from memory", "common practice, no source"):
            assert len(source.text) > 6, f"{key}: {source.status} of what?"
        assert source.text.isascii()
    assert set(by_value) <= set(type(row).model_fields)
    if by_value:
        assert row.status == max((s.status for s in by_value.values()), key=IN_DATA.index)


@pytest.mark.parametrize(("name", "row"), ROWS)
def test_measure_it_says_how(name: str, row: Fact) -> None:
    for source in row.sources:
        if source.status == "measure it":
            assert len(source.text.split()) >= 5, f"{source.value}: {source.text}"


@pytest.mark.parametrize(
    ("table", "value"),
    [  # what nobody has published: searched for, not found
        ("beds", "focus_band_mm"),
        ("beds", "lamp_rise_k"),
        ("beds", "face_difference_k"),
        ("beds", "focus_height_mm"),
    ],
)
def test_what_nobody_has_published_is_to_be_measured(table: str, value: str) -> None:
    assert {row.source_of(value).status for row in tables.table(table)} == {"measure it"}


@pytest.mark.parametrize("value", ["cut_width_mm", "cut_height_mm", "tolerance_mm", "thickness_mm"])
def test_cut_sizes_and_thickness_of_sheets_are_to_be_measured(value: str) -> None:
    assert {f.source_of(value).status for f in FORMATS if f.kind == "sheet"} == {"measure it"}


def test_most_physical_properties_were_read() -> None:
    # stiffness, density, growth by warmth and softening of plastics, wood and glass are published
    kinds = ("density_kg_m3", "modulus_mpa", "expansion_per_k", "softening_c", "stock_tolerance_mm")
    said = [m.source_of(k).status for m in MATERIALS for k in kinds if k in m.model_fields_set]
    assert said.count("read") > len(said) / 2
    assert {
        tables.film_base("glass").source_of(k).status for k in ("modulus_mpa", "poisson", "density_kg_m3")
    } == {"read"}


@pytest.mark.parametrize("material", MATERIALS, ids=by_key)
def test_the_verdict_on_a_laser_has_its_own_source(material: Material) -> None:
    if "print" not in material.routes:
        assert material.source_of("laser").status in ("read", "read second-hand")


@pytest.mark.parametrize(
    ("change", "words"),
    [
        ({"sources": {"made_up": "read: a book"}}, "no value 'made_up'"),
        ({"sources": {"width_mm": "verified: a book"}}, "status word"),
        ({"sources": {"width_mm": "measure it"}}, "how to measure"),
        ({"sources": {"width_mm": "read: a book"}}, "height_mm has no source"),
        ({"sources": {"width_mm, height_mm": "from memory", "width_mm": "read: a book"}}, "has two"),
        ({"sources": "read"}, "a table of values"),
    ],
)
def test_sources_that_cannot_be(change: dict[str, Any], words: str) -> None:
    row = {"key": "a9", "name": "A9", "width_mm": 37.0, "height_mm": 52.0, "printer_margin_mm": 5.0}
    with pytest.raises(ValidationError, match=words):
        Paper.model_validate(row | change)


def test_a_default_covers_what_is_not_named() -> None:
    row = {"key": "a9", "name": "A9", "width_mm": 37.0, "height_mm": 52.0, "printer_margin_mm": 5.0}
    named = {"printer_margin_mm": "measure it: print a frame along the edge and look"}
    made = Paper.model_validate(row | {"source": "ISO 216", "status": "read", "sources": named})
    assert made.status == "measure it"
    assert (made.source_of("width_mm").status, made.source_of("width_mm").text) == ("read", "ISO 216")
    assert made.source_of("printer_margin_mm").text == "print a frame along the edge and look"
    with pytest.raises(KeyError):
        made.source_of("name")


def test_a_measured_value_takes_its_source_along() -> None:
    bed = tables.bed("a4-wide").measured(focus_band_mm=0.4)
    assert bed.focus_band_mm == 0.4
    assert bed.source_of("focus_band_mm").status == "measured"
    assert bed.source_of("lamp_rise_k").status == "measure it"
    with pytest.raises(ValidationError):
        bed.measured(focus_band_mm=-1.0)


def test_status_words_go_from_strong_to_weak() -> None:
    assert ("measured", *IN_DATA) == STRONG_TO_WEAK
    assert get_args(Status) == STRONG_TO_WEAK


@pytest.mark.parametrize("name", OURS)
def test_file_explains_itself_before_its_first_row(name: str) -> None:
    head = text_of(name).split("[[row]]")[0]
    assert all(line.startswith("#") for line in head.splitlines() if line)
    for word in IN_DATA:
        assert f"#   {word}" in head, f"{name}.toml does not say what {word!r} means"


@pytest.mark.parametrize("name", tables.MODELS)
def test_keys_are_unique_and_every_row_states_its_sources(name: str) -> None:
    raw = tomllib.loads(text_of(name))
    assert set(raw) == {"row"}
    for row in raw["row"]:
        assert {"key", "name"} <= set(row)
        assert "sources" in row or {"source", "status"} <= set(row)
    keys = [row["key"] for row in raw["row"]]
    assert len(keys) == len(set(keys))
    assert tuple(keys) == tables.keys(name)


@pytest.mark.parametrize("name", OURS)
def test_a_row_without_source_or_with_an_unknown_number_is_refused(name: str) -> None:
    model = tables.MODELS[name]
    raw = tomllib.loads(text_of(name))["row"][0]
    assert model.model_validate(raw).key == raw["key"]
    for broken in (
        {k: v for k, v in raw.items() if k != "sources"},
        raw | {"sources": dict(list(raw["sources"].items())[1:])},
        raw | {"status": "verified"},
        raw | {"made_up_mm": 1.0},
        raw | {"key": "../x"},
    ):
        with pytest.raises(ValidationError):
            model.model_validate(broken)


@pytest.mark.parametrize("base", BASES, ids=by_key)
def test_ranges_of_a_base_are_in_order(base: FilmBase) -> None:
    assert base.thickness_low_mm <= base.thickness_mm <= base.thickness_high_mm
    assert base.modulus_low_mpa <= base.modulus_mpa <= base.modulus_high_mpa
    assert base.curl_low_per_m <= base.curl_per_m <= base.curl_high_per_m
    if base.rigid:
        assert base.curl_low_per_m == base.curl_high_per_m == 0
        assert base.humidity_strain_per_rh == 0
    else:
        assert base.curl_low_per_m < 0 < base.curl_high_per_m  # film curls both ways: damp and dry


@pytest.mark.parametrize("film", FORMATS, ids=by_key)
def test_picture_lies_on_the_film(film: FilmFormat) -> None:
    assert film.image_width_mm < film.cut_width_mm
    assert film.image_height_mm < film.cut_height_mm
    assert film.cut_width_mm <= film.cut_height_mm
    assert film.tolerance_mm < min(film.cut_width_mm, film.cut_height_mm) / 20
    side = (film.cut_width_mm - film.image_width_mm) / 2
    assert side >= film.tolerance_mm, "a film at the end of its tolerance would have no border left"


@pytest.mark.parametrize("film", [f for f in FORMATS if f.frame_pitch_mm is not None], ids=by_key)
def test_strip_is_as_long_as_its_frames(film: FilmFormat) -> None:
    assert film.frame_pitch_mm is not None
    assert film.cut_height_mm == pytest.approx(film.frames * film.frame_pitch_mm, abs=1e-9)
    # 110 stands widest: 17 mm pictures, 111 mm for a strip of four (an article on 110 film, read second-hand)
    assert 0 < film.frame_pitch_mm - film.image_height_mm <= 10.75, "frames overlap, or stand far apart"
    assert film.kind in ("roll", "35mm", "small")


@pytest.mark.parametrize("film", [f for f in FORMATS if f.frame_pitch_mm is None], ids=by_key)
def test_what_is_not_a_strip_has_one_picture(film: FilmFormat) -> None:
    assert film.frames == 1
    assert film.kind in ("sheet", "mount", "plate")


@pytest.mark.parametrize("film", FORMATS, ids=by_key)
def test_format_names_a_base_that_suits_it(film: FilmFormat) -> None:
    base = tables.film_base(film.base)
    assert base.rigid == (film.kind == "plate")
    if film.kind == "mount":
        assert film.plane_offset_mm == film.thickness_mm / 2
        assert film.thickness_mm <= 3.2  # ISO 1755: from memory
        return
    assert film.plane_offset_mm == 0
    if base.rigid:
        assert base.thickness_low_mm <= film.thickness_mm <= base.thickness_high_mm
    else:  # emulsion of 15 to 35 um on the base (an encyclopaedia's article, read second-hand)
        assert 0.015 <= film.thickness_mm - base.thickness_mm <= 0.035


@pytest.mark.parametrize("material", MATERIALS, ids=by_key)
def test_material_agrees_with_its_routes(material: Material) -> None:
    assert material.routes
    if "print" in material.routes:
        assert material.routes == ("print",)
        assert material.laser == "not cut by laser"
        assert material.stock_mm == ()
        assert material.kerf_mm == 0
        assert material.min_web_mm >= 0.8  # two lines of a 0.4 mm nozzle: shop rule, from memory
    else:
        assert material.stock_mm == tuple(sorted(material.stock_mm)) != ()
        assert material.sheet_width_mm
        assert material.sheet_height_mm
        assert material.laser != "not cut by laser"
    if "laser" in material.routes:
        assert material.laser == "allowed"
        assert 0.08 <= material.kerf_mm <= 0.45  # range of kerfs, a cutting shop's advice page, read
    if material.laser == "forbidden":
        assert "laser" not in material.routes
        assert material.laser_reason.endswith(".")


@pytest.mark.parametrize("material", MATERIALS, ids=by_key)
def test_sheet_never_misses_by_more_than_it_measures(material: Material) -> None:
    for stock in material.stock_mm:
        assert material.stock_tolerance_mm + material.stock_tolerance_share * stock < 0.5 * stock


@pytest.mark.parametrize("material", MATERIALS, ids=by_key)
def test_material_stays_below_where_it_softens(material: Material) -> None:
    if material.softening_c is None:
        assert material.family in ("wood", "board")
    else:
        assert material.limit_c < material.softening_c
        assert material.softening_method
    assert material.limit_c > 45  # a warm lamp's side is 10 K or so above a room of 22 to 30


@pytest.mark.parametrize("material", MATERIALS, ids=by_key)
def test_chlorine_is_forbidden_in_a_laser(material: Material) -> None:
    names_it = re.search(r"\bpvc\b|vinyl|chlor", f"{material.key} {material.name}".lower()) is not None
    assert material.chlorine == names_it
    assert material.chlorine == ("chlorine" in material.laser_reason)
    if material.chlorine:
        assert material.laser == "forbidden"


def test_some_material_contains_chlorine_and_polycarbonate_does_not() -> None:
    assert tables.material("pvc-foam").chlorine
    # Some lists give chlorine as the reason against polycarbonate: its formula has none (C16H14O3 per unit).
    assert not tables.material("polycarbonate-sheet").chlorine
    assert tables.material("polycarbonate-sheet").laser == "forbidden"


@pytest.mark.parametrize("material", MATERIALS, ids=by_key)
def test_cautions_stand_beside_what_can_hurt(material: Material) -> None:
    if material.routes == ("laser",):  # blades have a caution of their own, for whatever is cut by knife
        assert "laser" in material.note


@pytest.mark.parametrize("bed", BEDS, ids=by_key)
def test_bed_is_consistent(bed: Bed) -> None:
    assert bed.source_of("glass_width_mm").status == "invented"
    assert bed.status == "measure it"
    assert bed.lamp_x_mm + bed.lamp_width_mm <= bed.glass_width_mm
    assert bed.lamp_y_mm + bed.lamp_length_mm <= bed.glass_length_mm
    assert bed.calibration_x_mm + bed.calibration_width_mm <= bed.glass_width_mm
    assert bed.calibration_y_mm + bed.calibration_length_mm < bed.lamp_y_mm, "calibration zone in the picture"
    assert bed.lamp_x_mm + bed.lamp_width_mm / 2 == pytest.approx(bed.glass_width_mm / 2)
    assert bed.calibration_x_mm + bed.calibration_width_mm / 2 == pytest.approx(bed.glass_width_mm / 2)
    assert 2 <= bed.focus_height_mm <= 4
    assert bed.focus_sigma_mm < bed.focus_band_mm < bed.focus_height_mm
    assert bed.lid_room_mm > bed.focus_height_mm + 5
    assert bed.face_difference_k < bed.lamp_rise_k


@pytest.mark.parametrize("printer", PRINTERS, ids=by_key)
def test_printer_is_as_large_as_its_name(printer: Printer) -> None:
    assert printer.key == f"p{printer.build_x_mm:.0f}"
    assert printer.build_y_mm == printer.build_x_mm <= printer.build_z_mm
    # a line must still be wider than it is high: shop rule, from memory
    assert printer.layer_mm <= 0.8 * printer.nozzle_mm
    assert printer.first_layer_mm <= 0.8 * printer.nozzle_mm
    assert printer.z_tolerance_mm <= printer.layer_mm


def test_printers_differ_only_in_size() -> None:
    defaults = {(p.margin_mm, p.nozzle_mm, p.layer_mm, p.first_layer_mm, p.z_tolerance_mm) for p in PRINTERS}
    assert defaults == {(2.0, 0.4, 0.2, 0.2, 0.1)}


@pytest.mark.parametrize(
    ("sheet", "printed"), [("abs-sheet", "abs"), ("petg-sheet", "petg"), ("polycarbonate-sheet", "pc")]
)
def test_sheet_and_filament_are_one_plastic(sheet: str, printed: str) -> None:
    a, b = tables.material(sheet), tables.material(printed)
    for field in ("density_kg_m3", "modulus_mpa", "poisson", "expansion_per_k", "softening_c", "limit_c"):
        assert getattr(a, field) == getattr(b, field), field


@pytest.mark.parametrize(
    ("one", "other", "differ"),
    [
        ("polyester-thin", "polyester", ("humidity_strain",)),  # gelatin is a larger share of thin film
        ("triacetate-sheet", "triacetate", ("modulus", "expansion")),  # older acetate is another plastic
    ],
)
def test_thin_and_thick_base_are_one_plastic(one: str, other: str, differ: tuple[str, ...]) -> None:
    a, b = tables.film_base(one), tables.film_base(other)
    varies = {"key", "name", "source", "sources", "status", "note"}
    varies |= {f for f in FilmBase.model_fields if f.startswith(("thickness", "curl", *differ))}
    for field in set(FilmBase.model_fields) - varies:
        assert getattr(a, field) == getattr(b, field), field


def test_film_without_perforations_has_none() -> None:
    bare = [film for film in FORMATS if film.perforation_width_mm == 0]
    assert {"8x10", "4x5"} <= {film.key for film in bare}
    assert all(film.perforation_edge_mm == 0 for film in bare)
    assert all(film.perforation_width_mm > 0 for film in FORMATS if film not in bare)


def test_only_nitrate_is_nitrate() -> None:
    assert {base.key for base in BASES if base.nitrate} == {"nitrate"}
    assert {lamp.key for lamp in map(tables.lamp, tables.keys("lamps")) if lamp.mercury} == {"fluorescent"}


@pytest.mark.parametrize("paper", PAPERS, ids=by_key)
def test_paper_stands_upright_and_keeps_a_margin(paper: Paper) -> None:
    assert paper.width_mm < paper.height_mm
    assert 4 <= paper.printer_margin_mm <= 10
