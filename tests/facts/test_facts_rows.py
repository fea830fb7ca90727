"""Every row of every trade table: loads, says where it comes from, and does not contradict itself."""

from __future__ import annotations

import re
import tomllib
from importlib import resources
from typing import Any, get_args

import pytest
from pydantic import ValidationError

from holders.facts import tables
from holders.facts.models import Bed, Fact, FilmBase, FilmFormat, Material, Paper, Printer, Status

OURS = ("formats", "bases", "materials", "beds", "printers", "papers")
STRONG_TO_WEAK = (
    "read",
    "read second-hand",
    "computed",
    "from memory",
    "common practice, no source",
    "invented",
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


def weakest_named(source: str) -> str | None:
    """The weakest status word that a source text uses."""
    text = source
    found = []
    for word in reversed(STRONG_TO_WEAK):  # longer words first, so that "read second-hand" is not "read"
        pattern = rf"\b{re.escape(word)}\b"
        if word == "read":
            pattern = r"(?<!title )\bread\b"
        if re.search(pattern, text):
            found.append(word)
            text = re.sub(pattern, "", text)
    return max(found, key=STRONG_TO_WEAK.index) if found else None


@pytest.mark.parametrize(("name", "row"), ROWS)
def test_row_says_where_it_comes_from(name: str, row: Fact) -> None:
    assert row.name == row.name.strip() != ""
    assert row.status in get_args(Status)
    assert len(row.source) > 20, "a source that names nothing"
    for said in (row.name, row.source, row.note):
        assert said.isprintable()
        assert said.isascii(), "rows are printed on any terminal and engraved as single strokes"


@pytest.mark.parametrize(("name", "row"), [p for p in ROWS if p.values[0] in OURS])
def test_status_is_that_of_the_weakest_number(name: str, row: Fact) -> None:
    assert row.status == weakest_named(row.source)


def test_weakest_word_is_found() -> None:
    assert weakest_named("density: from memory; modulus 4500: a table, read") == "from memory"
    assert weakest_named("width: a copy, read second-hand; picture: a book, read") == "read second-hand"
    assert weakest_named("already spreading") is None


def test_status_words_are_the_models_own() -> None:
    assert sorted(STRONG_TO_WEAK) == sorted(get_args(Status))


@pytest.mark.parametrize("name", OURS)
def test_file_explains_itself_before_its_first_row(name: str) -> None:
    head = text_of(name).split("[[row]]")[0]
    assert all(line.startswith("#") for line in head.splitlines() if line)
    for word in STRONG_TO_WEAK:
        assert f"#   {word}" in head, f"{name}.toml does not say what {word!r} means"


@pytest.mark.parametrize("name", tables.MODELS)
def test_keys_are_unique_and_every_row_states_source_and_status(name: str) -> None:
    raw = tomllib.loads(text_of(name))
    assert set(raw) == {"row"}
    assert all({"key", "name", "source", "status"} <= set(row) for row in raw["row"])
    keys = [row["key"] for row in raw["row"]]
    assert len(keys) == len(set(keys))
    assert tuple(keys) == tables.keys(name)


@pytest.mark.parametrize("name", OURS)
def test_a_row_without_source_or_with_an_unknown_number_is_refused(name: str) -> None:
    model = tables.MODELS[name]
    raw = tomllib.loads(text_of(name))["row"][0]
    assert model.model_validate(raw).key == raw["key"]
    for broken in (
        {k: v for k, v in raw.items() if k != "source"},
        {k: v for k, v in raw.items() if k != "status"},
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
    assert 0 < film.frame_pitch_mm - film.image_height_mm <= 10, "frames overlap, or stand far apart"
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
    if "knife" in material.routes:
        assert "blade" in material.note
    elif "laser" in material.routes:
        assert "laser" in material.note


@pytest.mark.parametrize("bed", BEDS, ids=by_key)
def test_bed_is_consistent(bed: Bed) -> None:
    assert bed.status == "invented"
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
    ("one", "other"), [("polyester-thin", "polyester"), ("triacetate-sheet", "triacetate")]
)
def test_thin_and_thick_base_are_one_plastic(one: str, other: str) -> None:
    a, b = tables.film_base(one), tables.film_base(other)
    varies = {"key", "name", "source", "status", "note"}
    varies |= {f for f in FilmBase.model_fields if f.startswith(("thickness", "curl"))}
    for field in set(FilmBase.model_fields) - varies:
        assert getattr(a, field) == getattr(b, field), field


@pytest.mark.parametrize("paper", PAPERS, ids=by_key)
def test_paper_stands_upright_and_keeps_a_margin(paper: Paper) -> None:
    assert paper.width_mm < paper.height_mm
    assert 4 <= paper.printer_margin_mm <= 10
