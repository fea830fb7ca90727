"""The tables together: film on beds, holders on printers, and numbers that physics allows."""

from __future__ import annotations

import pytest

from holders.facts import tables
from holders.facts.models import Bed

LIP = 2.5  # mm, the lip a preset starts from
FOOT = 8.0  # mm, the diameter of the foot a preset starts from
GAP = 0.5  # mm between the holder and the rim of the glass

BED_KEYS = tables.keys("beds")


def opening_fits(bed: Bed, film_key: str) -> bool:
    """Whether one film's opening lies in the lamp area, film upright or turned."""
    film = tables.film_format(film_key)
    w, h = film.cut_width_mm - 2 * LIP, film.cut_height_mm - 2 * LIP
    lamp = (bed.lamp_width_mm, bed.lamp_length_mm)
    return (w <= lamp[0] and h <= lamp[1]) or (h <= lamp[0] and w <= lamp[1])


@pytest.mark.parametrize(
    ("bed", "film"),
    [
        ("a4-wide", "8x10"),
        ("a4-wide", "plate-8x10"),
        ("a4-wide", "4x10"),
        ("a4-wide", "whole-plate"),
        ("a4-wide", "18x24cm"),
        ("a4-narrow", "5x7"),
        ("a4-narrow", "13x18cm"),
        ("a4-narrow", "35mm-strip"),
        ("a4-strip", "roll-6x9"),
        ("a4-strip", "35mm-strip"),
        ("a4-small", "4x5"),
        ("a3", "11x14"),
        ("a3", "8x10"),
    ],
)
def test_film_that_a_bed_is_meant_for(bed: str, film: str) -> None:
    assert opening_fits(tables.bed(bed), film)


@pytest.mark.parametrize(
    ("bed", "film"),
    [
        ("a4-narrow", "8x10"),
        ("a4-narrow", "whole-plate"),
        ("a4-strip", "4x5"),
        ("a4-small", "5x7"),
        ("a4-wide", "11x14"),
    ],
)
def test_film_that_a_bed_is_too_small_for(bed: str, film: str) -> None:
    assert not opening_fits(tables.bed(bed), film)


@pytest.mark.parametrize("film", tables.keys("formats"))
def test_every_format_has_a_bed(film: str) -> None:
    assert any(opening_fits(tables.bed(key), film) for key in BED_KEYS)


@pytest.mark.parametrize("film", ["8x10", "plate-8x10"])
def test_largest_8x10_pocket_leaves_walls_on_the_widest_a4_bed(film: str) -> None:
    bed, sheet = tables.bed("a4-wide"), tables.film_format(film)
    pocket = sheet.cut_width_mm + sheet.tolerance_mm + 2 * 0.3
    wall = (bed.glass_width_mm - 2 * GAP - pocket) / 2
    assert wall >= max(tables.process(route).wall_mm for route in ("print", "laser", "knife"))


@pytest.mark.parametrize("key", BED_KEYS)
def test_feet_find_room_off_the_lamp_area_and_the_calibration_zone(key: str) -> None:
    bed = tables.bed(key)
    need = FOOT + 2.0  # a foot and a millimetre round it
    far = bed.glass_length_mm - GAP - (bed.lamp_y_mm + bed.lamp_length_mm)
    beside_left = bed.calibration_x_mm - GAP
    beside_right = bed.glass_width_mm - GAP - bed.calibration_x_mm - bed.calibration_width_mm
    home = bed.lamp_y_mm - GAP
    assert min(far, beside_left, beside_right, home) >= need


@pytest.mark.parametrize("key", BED_KEYS)
def test_calibration_zone_ends_a_wall_before_the_lamp_area(key: str) -> None:
    bed = tables.bed(key)
    clear = max(tables.process(r).calibration_clear_mm for r in ("print", "laser", "knife"))
    bridge = bed.lamp_y_mm - bed.calibration_y_mm - bed.calibration_length_mm - clear
    assert bridge >= max(tables.process(r).wall_mm for r in ("print", "laser", "knife"))
    assert bed.calibration_y_mm >= clear


def test_glass_sizes_are_their_class() -> None:
    a4, a3 = tables.paper("a4"), tables.paper("a3")
    for key in BED_KEYS:
        bed, paper = tables.bed(key), (a3 if key.startswith("a3") else a4)
        assert paper.width_mm <= bed.glass_width_mm <= paper.width_mm + 10
        assert paper.height_mm <= bed.glass_length_mm <= paper.height_mm + 15


def test_an_a4_holder_fits_the_largest_printer_whole_and_the_common_one_in_halves() -> None:
    bed = tables.bed("a4-wide")
    w, length = bed.glass_width_mm - 2 * GAP, bed.glass_length_mm - 2 * GAP
    p220, p300 = tables.printer("p220"), tables.printer("p300")
    assert length <= p300.build_y_mm - 2 * p300.margin_mm
    assert length > p220.build_y_mm - 2 * p220.margin_mm
    assert w <= p220.build_x_mm - 2 * p220.margin_mm
    assert length / 2 <= p220.build_y_mm - 2 * p220.margin_mm


@pytest.mark.parametrize("key", [k for k in tables.keys("materials") if "laser" in tables.material(k).routes])
def test_an_a4_holder_fits_one_sheet_of_each_laser_material(key: str) -> None:
    bed, material = tables.bed("a4-wide"), tables.material(key)
    assert material.sheet_width_mm is not None
    assert material.sheet_height_mm is not None
    short, long = sorted((material.sheet_width_mm, material.sheet_height_mm))
    assert short >= bed.glass_width_mm
    assert long >= bed.glass_length_mm


@pytest.mark.parametrize(
    "key", ["acrylic-cast", "acrylic-extruded", "mdf", "mat-board", "museum-board", "greyboard"]
)
def test_one_or_two_sheets_reach_the_focus_band(key: str) -> None:
    bed, stock = tables.bed("a4-wide"), tables.material(key).stock_mm
    heights = [*stock, *(a + b for a in stock for b in stock)]
    assert min(abs(h - bed.focus_height_mm) for h in heights) <= bed.focus_band_mm


@pytest.mark.parametrize("key", tables.keys("materials"))
def test_speed_of_sound_is_one_that_materials_have(key: str) -> None:
    # sqrt(E / rho), m/s: guards against MPa written as GPa, or g/cm3 as kg/m3
    material = tables.material(key)
    speed = (material.modulus_mpa * 1e6 / material.density_kg_m3) ** 0.5
    low, high = (50, 1500) if material.family == "foam" or material.compressible else (1000, 4000)
    assert low <= speed <= high
    assert 1e-6 <= material.expansion_per_k <= 2e-4
    assert material.moisture_strain_per_rh <= 2e-4


@pytest.mark.parametrize("key", tables.keys("bases"))
def test_film_bases_are_plausible(key: str) -> None:
    base = tables.film_base(key)
    speed = (base.modulus_mpa * 1e6 / base.density_kg_m3) ** 0.5
    assert 1000 <= speed <= 6000
    assert 1.4 <= base.refractive_index <= 1.7
    assert 1e-6 <= base.expansion_per_k <= 1.2e-4  # cellulose acetate: a handbook's table (read)
    assert 0.2 <= base.poisson <= 0.45


def test_gravity_bends_film_as_large_as_published_estimates() -> None:
    # Q = q a^4 / (E t^4) for polyester of 4500 MPa: 8x10 about 831 (a = 200 mm), 4x5 about 50 (a = 99 mm): computed
    base = tables.film_base("polyester").measured(modulus_mpa=4500.0)
    for a, expected in ((200, 831), (99, 50)):
        weight = base.density_kg_m3 * 9.80665 * base.thickness_mm * 1e-3 * 1e-6  # N/mm2
        assert weight * a**4 / (base.modulus_mpa * base.thickness_mm**4) == pytest.approx(expected, rel=0.01)


def test_nitrate_and_glass_carry_their_warnings() -> None:
    assert "fire" in tables.film_base("nitrate").note
    assert "break" in tables.film_base("glass").note
    assert all(tables.film_format(k).note for k in tables.keys("formats") if k.startswith("plate-"))
