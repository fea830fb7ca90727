"""What a row of each trade table may hold: every bound tried at both its ends, and what a row says that leaves out."""

from __future__ import annotations

import math
from typing import Any

import pytest
from pydantic import ValidationError

from holders.facts import tables
from holders.facts.curl_words import curl_height_mm, curl_words, height_words
from holders.facts.models import Fact, FilmBase, FilmFormat, Hazard, Material
from holders.facts.numbers import numbers
from holders.facts.printing import usual_settings
from holders.facts.sources import Source, in_words, weakest

# numbers that may be nought, because nought says "none" or "exactly"; any other size of a thing is above it
MAY_BE_NOUGHT = {
    "tolerance_mm",
    "perforation_edge_mm",
    "perforation_width_mm",
    "plane_offset_mm",
    "poisson",
    "humidity_strain_per_rh",
    "expansion_per_k",
    "base_humidity_strain_per_rh",
    "moisture_strain_per_rh",
    "thickness_swelling_per_rh",
    "spring_strain",
    "kerf_mm",
    "stock_tolerance_mm",
    "stock_tolerance_share",
    "thin_stock_mm",
    "thin_tolerance_share",
    "min_web_mm",
    "glue_line_mm",
    "glue_spread_mm",
    "bow_mm",
    "lamp_x_mm",
    "lamp_y_mm",
    "calibration_x_mm",
    "calibration_y_mm",
    "calibration_width_mm",
    "calibration_length_mm",
    "focus_height_mm",
    "focus_sigma_mm",
    "lamp_rise_k",
    "face_difference_k",
    "margin_mm",
    "z_tolerance_mm",
    "printer_margin_mm",
    "relief_step_mm",
    "relief_slope",
    "scoop_mm",
    "shoulder_mm",
    "outer_radius_mm",
    "window_radius_mm",
    "pocket_radius_mm",
    "notch_radius_mm",
    "groove_width_mm",
    "groove_depth_mm",
    "calibration_clear_mm",
}
ANY_SIGN = {"curl_low_per_m", "curl_per_m", "curl_high_per_m"}
# those with further ends: (a value that is taken, one just beyond it that is not)
ENDS: dict[str, tuple[tuple[float, float], ...]] = {
    "poisson": ((0.0, -1e-9), (0.4999, 0.5)),
    "refractive_index": ((1.0, 0.999), (3.0, 3.001)),
    "reflectance": ((1e-9, 0.0), (1.0, 1.001)),
    "layer_mm": ((0.01, 0.009),),
    "first_layer_mm": ((0.01, 0.009),),
}
NUMBERS = [
    pytest.param(row, key, id=f"{name}.{key}")
    for name in tables.MODELS
    for row in tables.table(name)[:1]
    for key, field in type(row).model_fields.items()
    if "float" in str(field.annotation) and "tuple" not in str(field.annotation)
]


def taken(row: Fact, key: str, value: Any) -> bool:
    try:
        return getattr(row.measured(**{key: value}), key) == value  # type: ignore[no-any-return]
    except ValidationError:
        return False


@pytest.mark.parametrize(("row", "key"), NUMBERS)
def test_every_number_is_refused_just_beyond_its_ends(row: Fact, key: str) -> None:
    assert not any(taken(row, key, wrong) for wrong in (math.nan, math.inf, -math.inf))
    for good, bad in ENDS.get(key, ()):
        assert taken(row, key, good)
        assert not taken(row, key, bad)
    if key in ENDS:
        return
    assert taken(row, key, 1e-6)
    assert taken(row, key, 0.0) == (key in MAY_BE_NOUGHT or key in ANY_SIGN)
    assert taken(row, key, -1e-6) == (key in ANY_SIGN)


def test_every_number_that_may_be_nought_is_one_of_a_row() -> None:
    assert MAY_BE_NOUGHT | ANY_SIGN | set(ENDS) <= {p.values[1] for p in NUMBERS}


def test_frames_of_a_strip_and_lists_of_lengths() -> None:
    strip, sheet = tables.film_format("35mm-strip"), tables.material("acrylic-cast")
    assert [taken(strip, "frames", n) for n in (0, 1, 24, 25)] == [False, True, True, False]
    assert [taken(sheet, "stock_mm", mm) for mm in ((), (3.0,), (3.0, 0.0))] == [True, True, False]
    lamp = tables.table("lamps")[0]
    for key in ("wavelength_nm", "width_nm"):
        assert [taken(lamp, key, nm) for nm in ((1.0, 2.0), (1.0, 2.0, 3.0), (0.0, 2.0, 3.0))] == [
            False, True, False
        ]  # fmt: skip


@pytest.mark.parametrize(
    ("key", "good"),
    [("a9", True), ("8x10", True), ("a.b-c", True), ("", False), ("A9", False), ("-a", False), ("a b", False),
     ("a/b", False), ("x" * 40, True), ("x" * 41, False)],
)  # fmt: skip
def test_keys_are_short_plain_words(key: str, good: bool) -> None:
    row = tables.table("papers")[0].model_dump(exclude={"sources"})
    made = {**row, "key": key, "source": "ISO 216", "status": "read"}
    if good:
        assert type(tables.table("papers")[0]).model_validate(made).key == key
    else:
        with pytest.raises(ValidationError):
            type(tables.table("papers")[0]).model_validate(made)


def test_words_of_a_hazard_and_a_source_say_something() -> None:
    row = {"key": "h", "name": "Hot", "source": "abc", "status": "read"}
    assert Hazard.model_validate(row | {"words": "w" * 20}).words == "w" * 20
    for short in ({"words": "w" * 19}, {"words": "w" * 20, "source": "ab"}):
        with pytest.raises(ValidationError):
            Hazard.model_validate(row | short)


def test_a_row_that_is_no_table_is_refused_in_words() -> None:
    with pytest.raises(ValidationError, match="dictionary"):
        Hazard.model_validate(["words"])


def test_what_a_row_says_that_leaves_out_is_the_harmless_case() -> None:
    """Read back from rows that say no more than they must; a wrong default would be believed of every one of them."""
    fields = {model: model.model_fields for model in (FilmFormat, FilmBase, Material, Hazard)}
    left_out = {
        (model.__name__, key): field.default
        for model, all_of in fields.items()
        for key, field in all_of.items()
        if not field.is_required() and key not in ("sources", "note")
    }
    assert left_out == {
        ("FilmFormat", "frames"): 1,
        ("FilmFormat", "frame_pitch_mm"): None,
        ("FilmFormat", "perforation_edge_mm"): 0.0,
        ("FilmFormat", "perforation_width_mm"): 0.0,
        ("FilmFormat", "plane_offset_mm"): 0.0,
        ("FilmBase", "back_coat"): "unknown",
        ("FilmBase", "nitrate"): False,
        ("FilmBase", "rigid"): False,
        ("Material", "modulus_across_mpa"): None,
        ("Material", "moisture_strain_per_rh"): 0.0,
        ("Material", "thickness_swelling_per_rh"): 0.0,
        ("Material", "softening_c"): None,
        ("Material", "softening_method"): "",
        ("Material", "laser_reason"): "",
        ("Material", "chlorine"): False,
        ("Material", "spring_strain"): 0.0,
        ("Material", "kerf_mm"): 0.0,
        ("Material", "stock_mm"): (),
        ("Material", "stock_tolerance_mm"): 0.0,
        ("Material", "stock_tolerance_share"): 0.0,
        ("Material", "thin_stock_mm"): 0.0,
        ("Material", "thin_tolerance_share"): 0.0,
        ("Material", "sheet_width_mm"): None,
        ("Material", "sheet_height_mm"): None,
        ("Material", "min_web_mm"): 0.0,
        ("Material", "glue_line_mm"): 0.0,
        ("Material", "glue_spread_mm"): 0.0,
        ("Material", "compressible"): False,
        ("Material", "opaque"): "black",  # a sheet that may let light through is taken to
        ("Hazard", "distance_mm"): None,
    }


READ = Source(value="a_mm", status="read", text="ISO 216")
GUESS = Source(value="b_mm", status="measure it", text="lay a rule on it")


def test_sources_in_words_strongest_first_and_alike_together() -> None:
    alike = READ.model_copy(update={"value": "c_mm"})
    bare = Source(value="d_mm", status="from memory", text="")
    assert in_words([GUESS, READ, bare, alike]) == (
        "a_mm, c_mm: read: ISO 216; d_mm: from memory; b_mm: measure it: lay a rule on it"
    )
    assert weakest([READ, GUESS, bare]) == "measure it"
    with pytest.raises(ValueError, match="empty"):
        weakest([])


def test_a_row_keeps_its_sources_through_its_own_data() -> None:
    """Written out and read in again, a row says the same, with what was measured marked so."""
    bed = tables.bed("a4-wide").measured(focus_band_mm=0.4)
    again = type(bed).model_validate(bed.model_dump())
    assert again == bed
    assert bed.model_dump()["sources"]["focus_band_mm"] == {"status": "measured", "source": "set by you"}
    assert bed.source != tables.bed("a4-wide").source
    twice = bed.measured(focus_band_mm=0.5)
    assert [s.text for s in twice.sources if s.value == "focus_band_mm"] == ["set by you"]


@pytest.mark.parametrize(
    ("per_m", "width_mm", "words"),
    [
        (2.0, 35.0, "0.3 mm high"),  # k w² / 8 = 0.306 mm
        (1.0, 20.1, "0.1 mm high"),  # 0.0505 mm; from 0.05 on it is said
        (1.0, 19.9, "flat"),  # 0.0495 mm
        (9.0, 94.0, "9.8 mm high"),  # 111.1 (1 - cos 0.423) = 9.79
        (9.2, 94.0, "10 mm high"),  # 108.7 (1 - cos 0.4324) = 10.00
        (-2.0, 35.0, "0.3 mm high"),
        (0.0, 100.0, "flat"),
    ],
)
def test_how_high_a_film_stands_in_words(per_m: float, width_mm: float, words: str) -> None:
    assert height_words(per_m, width_mm) == words


def test_a_curl_too_small_to_divide_by_is_flat() -> None:
    assert curl_height_mm(1e-6, 100.0) == 0.0
    assert curl_height_mm(1e-4, 100.0) == pytest.approx(1e-4 * 100.0**2 / 8e3, rel=1e-3)
    assert curl_words(-2.5, 100.0) == "-2.5 per m, 3.1 mm high in the middle of its width"
    assert curl_words(0.0, 100.0, short=True) == "0 per m (flat)"
    assert curl_words(2.0, 100.0, 2) == "2.00 per m, 2.5 mm high in the middle of its width"


def test_the_usual_settings_are_those_of_the_workshops_rows() -> None:
    """By the rows of ``habits.toml`` and a 0.4 mm nozzle with 0.2 mm layers."""
    rows, settings = numbers("habits"), usual_settings(tables.printer("p220"))
    line = rows["print-line-share"].value * 0.4
    wanted = {
        "wall_mm": rows["print-perimeters"].value * line,
        "skin_mm": rows["print-skin"].value,
        "infill": rows["print-infill"].value,
        "layer_mm": 0.2,
        "line_mm": line,
        "walls_mm_s": rows["print-speed-walls"].value,
        "skins_mm_s": rows["print-speed-skins"].value,
        "inside_mm_s": rows["print-speed-inside"].value,
        "layer_s": rows["print-layer-seconds"].value,
        "start_s": 60 * rows["print-start-minutes"].value,
    }
    assert {key: getattr(settings, key) for key in wanted} == pytest.approx(wanted)
    assert settings.walls_mm_s < settings.inside_mm_s
    assert settings.skins_mm_s < settings.inside_mm_s
    assert settings.line_mm > 0.4  # a line is squeezed wider than the nozzle: common practice, no source
