"""Numbers in the trade tables against what was published, each with its source beside it.

Where the row says that a number was only quoted or remembered, the comment here says so too.
"""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from holders.design.height.stacks import stock_tolerance
from holders.facts import tables

INCH = 25.4  # mm, exact

# ISO 216, A series (read); inch sizes by arithmetic
PAPERS = {
    "a5": (148, 210),
    "a4": (210, 297),
    "a3": (297, 420),
    "letter": (8.5 * INCH, 11 * INCH),
    "legal": (8.5 * INCH, 14 * INCH),
    "tabloid": (11 * INCH, 17 * INCH),
}


@pytest.mark.parametrize("key", tables.keys("papers"))
def test_paper_sizes(key: str) -> None:
    paper = tables.paper(key)
    assert (paper.width_mm, paper.height_mm) == pytest.approx(PAPERS[key], abs=1e-9)


@pytest.mark.parametrize(("longer", "shorter"), [("a3", "a4"), ("a4", "a5")])
def test_a_series_halves(longer: str, shorter: str) -> None:
    # ISO 216: half of one sheet is the next, cut down to whole mm; sides stand as 1 to the root of 2
    big, small = tables.paper(longer), tables.paper(shorter)
    assert small.height_mm == big.width_mm
    assert small.width_mm == math.floor(big.height_mm / 2)
    assert big.height_mm / big.width_mm == pytest.approx(math.sqrt(2), abs=0.005)


# Nominal sizes: inches by arithmetic, centimetres by name. Film is cut under them by 1 to 2 mm (from memory).
NOMINAL = {
    "4x5": (4 * INCH, 5 * INCH),
    "5x7": (5 * INCH, 7 * INCH),
    "half-plate": (4.75 * INCH, 6.5 * INCH),
    "whole-plate": (6.5 * INCH, 8.5 * INCH),
    "8x10": (8 * INCH, 10 * INCH),
    "4x10": (4 * INCH, 10 * INCH),
    "11x14": (11 * INCH, 14 * INCH),
    "9x12cm": (90, 120),
    "13x18cm": (130, 180),
    "18x24cm": (180, 240),
    "plate-quarter": (3.25 * INCH, 4.25 * INCH),
    "plate-4x5": (4 * INCH, 5 * INCH),
    "plate-half": (4.75 * INCH, 6.5 * INCH),
    "plate-5x7": (5 * INCH, 7 * INCH),
    "plate-whole": (6.5 * INCH, 8.5 * INCH),
    "plate-8x10": (8 * INCH, 10 * INCH),
    "plate-9x12cm": (90, 120),
    "plate-13x18cm": (130, 180),
    "plate-6.5x9cm": (65, 90),
    "plate-10x15cm": (100, 150),
    "plate-45x107": (45, 107),
    "plate-6x13cm": (60, 130),
}
CUT = [k for k in tables.keys("formats") if tables.film_format(k).kind in ("sheet", "plate")]


@pytest.mark.parametrize("key", CUT)
def test_sheets_and_plates_are_cut_a_little_under_nominal(key: str) -> None:
    film = tables.film_format(key)
    width, height = NOMINAL[key]
    assert 0.3 <= width - film.cut_width_mm <= 2.0
    assert 0.3 <= height - film.cut_height_mm <= 2.0
    assert film.cut_width_mm + film.tolerance_mm <= width + 0.4, (
        "the largest film would not go in a camera's holder"
    )
    sheet = film.kind == "sheet"
    assert film.source_of("cut_width_mm").status == ("measure it" if sheet else "read")


# Frames of 120 film, mm: an encyclopaedia's list (read second-hand)
ROLL = {
    "roll-645": 41.5,
    "roll-6x6": 56,
    "roll-6x7": 70,
    "roll-6x8": 77,
    "roll-6x9": 84,
    "roll-6x12": 118,
    "roll-6x17": 168,
}
# Pictures on a whole roll and the film's length of about 820 mm: from memory
WHOLE_ROLL = {
    "roll-645": 16,
    "roll-6x6": 12,
    "roll-6x7": 10,
    "roll-6x8": 9,
    "roll-6x9": 8,
    "roll-6x12": 6,
    "roll-6x17": 4,
}


@pytest.mark.parametrize("key", [k for k in tables.keys("formats") if k.startswith("roll-")])
def test_roll_film(key: str) -> None:
    film = tables.film_format(key)
    key = key.removesuffix("-single").removesuffix("-four")  # cut to another length
    assert (film.image_width_mm, film.image_height_mm) == (56, ROLL[key])
    assert 61 <= film.cut_width_mm <= 62  # sources scatter (read second-hand); ISO 732: 61.5 from memory
    assert film.cut_width_mm == 61.5
    assert film.frame_pitch_mm is not None
    assert WHOLE_ROLL[key] * film.frame_pitch_mm <= 820, "the frames of a roll would not fit on it"
    assert film.frames <= WHOLE_ROLL[key]


STRIPS_35 = [k for k in tables.keys("formats") if k.startswith("35mm-")]


@pytest.mark.parametrize("key", STRIPS_35)
def test_35mm_film_width_and_pitch(key: str) -> None:
    film = tables.film_format(key)
    # 34.98 +-0.03 mm: an encyclopaedia citing SMPTE 139 (read second-hand); 1.377 +-0.001 in
    assert film.cut_width_mm == pytest.approx(34.98, abs=1e-9)
    assert film.cut_width_mm == pytest.approx(1.377 * INCH, abs=0.03)
    assert film.tolerance_mm >= 0.03
    assert film.image_width_mm == 24  # BKSTS Illustrated Dictionary, App. C (read), full frame
    # KS perforations stand 0.1870 in = 4.750 mm apart: scope of SMPTE ST 119:2011 (read)
    assert film.frame_pitch_mm is not None
    perforations = film.frame_pitch_mm / 4.750
    assert perforations == pytest.approx(round(perforations), abs=1e-9)
    assert round(0.1870 * INCH, 3) == 4.750


@pytest.mark.parametrize("key", STRIPS_35)
def test_35mm_perforations(key: str) -> None:
    """ISO 1007 and SMPTE 139 (from memory): holes 0.079 in from the edge, KS-1870 holes 0.110 x 0.078 in."""
    film = tables.film_format(key)
    assert film.perforation_edge_mm == pytest.approx(0.079 * INCH, abs=0.01)
    assert film.perforation_width_mm == pytest.approx(0.110 * INCH, abs=1e-3)
    # between the holes of both sides the standard's 25.4 mm stay free (ISO 1007, from memory: 0.999 in)
    end = film.perforation_edge_mm + film.perforation_width_mm
    assert film.cut_width_mm - 2 * end == pytest.approx(0.999 * INCH, abs=0.05)
    assert end < (film.cut_width_mm - film.image_width_mm) / 2, "a hole in the picture"


def test_35mm_full_frame() -> None:
    film = tables.film_format("35mm-strip")
    # 8 perforations a still frame: an encyclopaedia citing SMPTE 139 (read second-hand); 8 x 4.750 = 38.00
    assert film.frame_pitch_mm == pytest.approx(8 * 4.750, abs=1e-9)
    assert film.cut_height_mm == pytest.approx(228.0, abs=1e-9)
    # picture 24 x 36: BKSTS Illustrated Dictionary, 4th ed., App. C (read)
    assert (film.image_width_mm, film.image_height_mm) == (24, 36)


def test_half_frame_is_half_the_pitch() -> None:
    full, half = tables.film_format("35mm-strip"), tables.film_format("35mm-half")
    assert full.frame_pitch_mm is not None
    assert half.frame_pitch_mm == full.frame_pitch_mm / 2
    assert half.image_height_mm == full.image_height_mm / 2
    assert half.cut_height_mm == full.cut_height_mm


# BKSTS Illustrated Dictionary of Moving Image Technology, 4th ed., App. C (read): side, aperture
MOUNTS = {
    "mount-50": (50, 34.3, 22.5),
    "mount-50-square": (50, 37.5, 37.5),
    "mount-50-half": (50, 22.5, 15.5),
    "mount-30": (30, 17.0, 13.0),
}


@pytest.mark.parametrize("key", MOUNTS)
def test_slide_mount_apertures(key: str) -> None:
    film = tables.film_format(key)
    side, long, short = MOUNTS[key]
    assert (film.cut_width_mm, film.cut_height_mm) == (side, side)
    assert (film.image_width_mm, film.image_height_mm) == (short, long)


def test_medium_format_mount_and_small_films() -> None:
    # 6x6 in 7 x 7 cm mounts: a handbook on medium format, ch. 17 (read)
    assert tables.film_format("mount-70").cut_width_mm == 70
    # superslides are 46 mm film: BKSTS Illustrated Dictionary, App. C (read); that is the width of 127
    assert tables.film_format("127").cut_width_mm == tables.film_format("127-4x6").cut_width_mm == 46
    # 4 x 6.5 cm is 1 5/8 x 2 1/2 in: roll-film table of a site on early photography, No. 127 (read)
    long = tables.film_format("127-4x6")
    assert long.image_height_mm == pytest.approx(2.5 * INCH, abs=0.01)
    assert long.frame_pitch_mm is not None
    assert long.frame_pitch_mm >= 66
    assert "4x6.5" in long.name
    # "a four frame strip measures 111 mm": an article on 110 film (read second-hand)
    assert tables.film_format("110").cut_height_mm == 111
    # 16 mm film, frame 13 x 17: an encyclopaedia's list of film formats (read second-hand)
    small = tables.film_format("110")
    assert (small.cut_width_mm, small.image_width_mm, small.image_height_mm) == (16, 13, 17)


def radius_mm(sagitta_in: float, width_mm: float = 35.0) -> float:
    """The radius of a strip of given arc length with a given sagitta: R (1 - cos(s / 2R)) = h."""
    h = sagitta_in * INCH
    return float(brentq(lambda r: r * (1 - math.cos(width_mm / (2 * r))) - h, width_mm / math.pi, 1e5))


def test_nitrate_curl_is_what_calhoun_measured() -> None:
    # Calhoun, J. SMPE 43(4) 1944, Table 5 (read): sagitta across 35 mm film, 70, 50, 20 % RH
    base = tables.film_base("nitrate")
    assert base.curl_low_per_m == pytest.approx(-1000 / radius_mm(0.03), abs=0.05)
    assert base.curl_per_m == pytest.approx(1000 / radius_mm(0.05), abs=0.05)
    assert base.curl_high_per_m == pytest.approx(1000 / radius_mm(0.20), abs=0.05)


def test_triacetate_curl_range_is_taken_from_the_same_table() -> None:
    nitrate, base = tables.film_base("nitrate"), tables.film_base("triacetate")
    assert base.curl_low_per_m == nitrate.curl_low_per_m
    assert base.curl_high_per_m == pytest.approx((nitrate.curl_per_m + nitrate.curl_high_per_m) / 2, abs=0.5)
    assert base.curl_per_m == pytest.approx(nitrate.curl_per_m / 2, abs=0.5)


def two_layer_curl_per_m(
    coat_mm: float, coat_mpa: float, base_mm: float, base_mpa: float, mismatch: float
) -> float:
    """Curvature of a bonded pair, S. Timoshenko, J. Opt. Soc. Am. & Rev. Sci. Instrum. 11 (1925) 233."""
    m, n, h = coat_mm / base_mm, coat_mpa / base_mpa, coat_mm + base_mm
    return 1000 * 6 * mismatch * (1 + m) ** 2 / (h * (3 * (1 + m) ** 2 + (1 + m * n) * (m**2 + 1 / (m * n))))


def test_two_layer_formula_on_its_worked_example() -> None:
    # equal layers, h = 300 mm, mismatch 5e-6 x 50 K, cantilever of 3000 mm: tip 5.625 mm (published example
    # of a finite element code, read); kappa = 2 tip / L^2
    kappa = two_layer_curl_per_m(150, 2e5, 150, 2e5, 5e-6 * 50)
    assert kappa / 1000 * 3000**2 / 2 == pytest.approx(5.625, abs=0.0005)


@pytest.mark.parametrize("key", ["polyester", "polyester-thin", "triacetate-sheet"])
def test_high_end_of_sheet_curl_is_a_bare_base_with_dry_gelatin(key: str) -> None:
    base = tables.film_base(key)
    computed = two_layer_curl_per_m(0.015, 3000, base.thickness_mm, base.modulus_mpa, 0.005)
    assert base.curl_high_per_m == pytest.approx(computed, rel=0.02)


# (low, high): range that the source gives
BASES = [
    ("polyester", "modulus_mpa", 4500, 5001, "4500 (ISO 527), 4805 and 5001 (ASTM D882), two makers (read)"),
    ("polyester", "poisson", 0.38, 0.38, "typically 0.38 before yield, bulletin H-37232-3 (read)"),
    ("polyester", "density_kg_m3", 1390, 1390, "ASTM D1505, bulletin H-37232-3 (read)"),
    ("polyester", "base_humidity_strain_per_rh", 8e-6, 8e-6, "a film maker's page: the base alone (read)"),
    ("polyester", "poisson", 0.37, 0.44, "PET Properties 2008 (read second-hand)"),
    ("polyester", "density_kg_m3", 1300, 1400, "PET Properties 2008 (read)"),
    ("polyester", "expansion_per_k", 17e-6, 17e-6, "read second-hand"),
    (
        "polyester-thin",
        "humidity_strain_per_rh",
        1.6e-5,
        1.6e-5,
        "0.0016 % per % RH on 4 mil, processed, TI2375 section 2 (read)",
    ),
    (
        "polyester",
        "humidity_strain_per_rh",
        8e-6 + 8e-6 * 4 / 7 - 1e-7,
        8e-6 + 8e-6 * 4 / 7 + 1e-7,
        "8e-6 of the base and 4/7 of what gelatin adds on 4 mil (computed)",
    ),
    ("polyester", "thickness_mm", 0.007 * INCH - 0.003, 0.007 * INCH + 0.003, "0.007 in (read second-hand)"),
    (
        "polyester-thin",
        "thickness_mm",
        0.004 * INCH - 0.003,
        0.004 * INCH + 0.003,
        "0.004 in (read second-hand)",
    ),
    ("triacetate", "thickness_mm", 0.115, 0.135, "EP 0708135 abstract (read)"),
    (
        "triacetate",
        "thickness_high_mm",
        0.0055 * INCH - 0.001,
        0.0055 * INCH + 0.001,
        "JAIC 36(3) 1997 (read)",
    ),
    ("triacetate", "modulus_mpa", 3000, 4000, "from memory"),
    ("triacetate", "poisson", 0.38, 0.40, "from memory"),
    ("triacetate", "density_kg_m3", 1270, 1310, "from memory"),
    ("triacetate", "expansion_per_k", 2e-5, 5e-5, "from memory"),
    ("triacetate", "humidity_strain_per_rh", 5e-5, 8e-5, "from memory"),
    ("nitrate", "thickness_low_mm", 0.11, 0.11, "encyclopaedia, cellulosic base (read second-hand)"),
    ("nitrate", "thickness_high_mm", 0.14, 0.14, "encyclopaedia, cellulosic base (read second-hand)"),
    ("glass", "modulus_mpa", 70000, 70000, "EN 572-1 as quoted by a glass maker (read)"),
    ("glass", "poisson", 0.20, 0.20, "the same (read)"),
    ("glass", "density_kg_m3", 2500, 2500, "the same (read)"),
    ("glass", "expansion_per_k", 9e-6, 9e-6, "the same (read)"),
    (
        "triacetate-sheet",
        "modulus_low_mpa",
        1000,
        3000,
        "cellulose acetate, Springer handbook T. 3.3-23 (read)",
    ),
    ("triacetate-sheet", "modulus_mpa", 1000, 3000, "the same (read)"),
    ("triacetate-sheet", "expansion_per_k", 1.0e-4, 1.2e-4, "the same (read)"),
    ("triacetate", "density_kg_m3", 1260, 1320, "the same (read)"),
    ("triacetate", "refractive_index", 1.47, 1.50, "the same (read)"),
    ("glass", "refractive_index", 1.51, 1.53, "soda-lime glass: from memory"),
    ("polyester", "refractive_index", 1.62, 1.66, "in the plane: from memory"),
    ("triacetate", "refractive_index", 1.47, 1.49, "from memory"),
    ("nitrate", "thickness_mm", 0.11, 0.14, "encyclopaedia, cellulosic base (read second-hand)"),
    (
        "nitrate",
        "humidity_strain_per_rh",
        0.0015 / 20,
        0.0015 / 20,
        "Calhoun 1944 Table 5, coated film (read)",
    ),
]


@pytest.mark.parametrize(("key", "field", "low", "high", "source"), BASES)
def test_film_bases(key: str, field: str, low: float, high: float, source: str) -> None:
    value = getattr(tables.film_base(key), field)
    assert low - 1e-12 <= value <= high + 1e-12, source


MATERIALS = [
    ("pla", "density_kg_m3", 1220, 1260, "table of additive materials (read)"),
    ("pla", "modulus_mpa", 2540, 2540, "data sheet, XY (read)"),
    ("pla", "expansion_per_k", 68e-6, 101e-6, "68e-6 to 85e-6 from memory; 101e-6 in one data sheet (read)"),
    ("pla", "softening_c", 58.4, 59.2, "58.8 +-0.4 at 0.455 MPa (read second-hand)"),
    ("petg", "softening_c", 73, 73, "materials site, 0.45 MPa (read); one maker's 76.2 (read second-hand)"),
    ("petg", "expansion_per_k", 68e-6, 68e-6, "the same (read)"),
    ("petg", "density_kg_m3", 1250, 1290, "the same (read)"),
    ("petg", "modulus_mpa", 1900, 2100, "from memory"),
    ("petg", "expansion_per_k", 60e-6, 70e-6, "from memory"),
    ("abs", "density_kg_m3", 1050, 1080, "two handbook sites (read)"),
    ("abs", "expansion_per_k", 53e-6 * 1.8, 53e-6 * 1.8, "53e-6 per degF, extruded (read)"),
    ("abs", "modulus_mpa", 275 * 6.894757, 340 * 6.894757, "275 and 340 ksi (read)"),
    ("abs", "limit_c", 80, 80, "service limit, an engineering site (read)"),
    ("asa", "density_kg_m3", 1050, 1210, "articles on ASA (read)"),
    ("pc", "softening_c", 138, 138, "PMC9088909 Table 1 (read)"),
    ("pc", "expansion_per_k", 37.5e-6 * 1.8, 68e-6, "handbook site and PMC9088909 (read)"),
    ("pc", "modulus_mpa", 345 * 6.894757 - 2, 345 * 6.894757 + 2, "345 ksi (read)"),
    ("pa", "expansion_per_k", 45e-6 * 1.8, 45e-6 * 1.8, "45e-6 per degF, nylon 6/6 (read)"),
    (
        "pa",
        "modulus_mpa",
        1400,
        1400,
        "PA66 conditioned, ISO 527-2, a compounder's data sheet (read); 3100 dry",
    ),
    (
        "pa",
        "moisture_strain_per_rh",
        1.25e-4,
        2.1e-4,
        "PA6 0.02 * 3.5 / 9 / 60; PA66 0.035 * 2.5 / 7 / 60 (computed)",
    ),
    (
        "acrylic-cast",
        "moisture_strain_per_rh",
        0.002 / 60,
        0.001 / 20,
        "0.2 % to 60, 0.3 % to 80 % RH (read)",
    ),
    ("acrylic-extruded", "moisture_strain_per_rh", 0.002 / 60, 0.001 / 20, "the same page (read)"),
    (
        "mdf",
        "moisture_strain_per_rh",
        1.5 / 600 / 50,
        1.5 / 600 / 50,
        "1.5 mm of 600 from 35 to 85 % RH (read)",
    ),
    (
        "mdf",
        "thickness_swelling_per_rh",
        0.3 / 15 / 50,
        0.3 / 15 / 50,
        "0.3 mm of 15 from 35 to 85 % RH (read)",
    ),
    ("plywood-birch", "modulus_mpa", 8200, 10300, "flexural, parallel to face, ASTM D3043 (read)"),
    (
        "plywood-birch",
        "modulus_across_mpa",
        1180,
        1220,
        "0.7 * 26/27 + 13.9 * 1/27 GPa, three plies (computed)",
    ),
    ("pvc-foam", "limit_c", 50, 55, "greatest service 55 to 60 C, a museum's database (read)"),
    ("pp", "density_kg_m3", 900, 910, "PMC9088909 Table 1 (read)"),
    ("pp", "expansion_per_k", 81e-6, 100e-6, "PMC9088909 Table 1 (read)"),
    ("pp", "softening_c", 107, 121, "PMC9088909 Table 1, 66 psi (read)"),
    ("acrylic-cast", "density_kg_m3", 1170, 1200, "PMC9088909 Table 1 (read)"),
    ("acrylic-cast", "modulus_mpa", 2800, 3200, "supplier's page on cast stock, ISO 527 (read)"),
    ("acrylic-cast", "expansion_per_k", 77e-6, 80e-6, "two suppliers' pages, ISO 11359-2 (read)"),
    ("acrylic-cast", "softening_c", 100, 116, "Vicat B (read)"),
    ("acrylic-extruded", "expansion_per_k", 72e-6, 72e-6, "plastics supplier's page (read)"),
    ("acrylic-extruded", "softening_c", 91, 105, "264 psi to Vicat (read)"),
    ("acrylic-extruded", "limit_c", 71, 71, "maximum continuous (read)"),
    ("acrylic-extruded", "density_kg_m3", 1190, 1190, "plastics supplier's page (read)"),
    ("acrylic-extruded", "modulus_mpa", 2800, 2800, "plastics supplier's page (read)"),
    ("mdf", "density_kg_m3", 750, 750, "materials site citing the FPL Wood Handbook (read)"),
    ("mdf", "modulus_mpa", 4000, 4000, "same (read)"),
    ("mdf", "poisson", 0.25, 0.25, "same (read)"),
    ("mdf", "expansion_per_k", 12e-6, 12e-6, "same (read)"),
    ("mdf", "stock_tolerance_mm", 0.4, 0.4, "unsanded, a wood association's leaflet (read)"),
    ("plywood-birch", "expansion_per_k", 4.5e-6, 6.2e-6, "3.4e-6 per degF or 4.5e-6 (read second-hand)"),
    ("plywood-birch", "moisture_strain_per_rh", 2e-5, 2e-5, "0.0002 in/in per 10 % RH (read second-hand)"),
    ("pvc-sheet", "density_kg_m3", 1300, 1580, "PMC9088909 Table 1 (read)"),
    ("pvc-sheet", "softening_c", 57, 82, "PMC9088909 Table 1 (read)"),
    ("pvc-foam", "density_kg_m3", 500, 700, "from memory"),
    ("eva-foam", "softening_c", 58, 112, "melting of solid EVA, an identification guide (read)"),
    # kerfs: a laser cutting shop's table (read), inches
    ("acrylic-cast", "kerf_mm", 0.009 * INCH - 0.005, 0.009 * INCH + 0.005, "1/8 in acrylic 0.009 in"),
    ("plywood-birch", "kerf_mm", 0.008 * INCH - 0.005, 0.008 * INCH + 0.005, "1/8 in birch ply 0.008 in"),
    ("mdf", "kerf_mm", 0.006 * INCH - 0.005, 0.006 * INCH + 0.005, "1/8 in MDF 0.006 in"),
    ("museum-board", "kerf_mm", 0.005 * INCH - 0.005, 0.005 * INCH + 0.005, "4-ply museum board 0.005 in"),
]


@pytest.mark.parametrize(("key", "field", "low", "high", "source"), MATERIALS)
def test_materials(key: str, field: str, low: float, high: float, source: str) -> None:
    value = getattr(tables.material(key), field)
    assert low * (1 - 1e-9) <= value <= high * (1 + 1e-9), source


def tolerance(key: str, thickness: float) -> float:
    return stock_tolerance(tables.material(key), thickness)


@pytest.mark.parametrize(("thickness", "published"), [(3, 0.7), (5, 0.9), (6, 1.0), (10, 1.4)])
def test_cast_acrylic_tolerance(thickness: float, published: float) -> None:
    # ISO 7823-1: +-(0.4 + 0.1 t) mm, as tabled by a supplier (read); 3 mm is 2.30 to 3.70
    assert thickness in tables.material("acrylic-cast").stock_mm
    assert tolerance("acrylic-cast", thickness) == pytest.approx(published, abs=1e-9)


def test_extruded_acrylic_tolerance_is_the_standards() -> None:
    # ISO 7823-2: +-10 % below 3 mm, +-5 % from 3 mm, as quoted by a maker (read)
    for thickness in tables.material("acrylic-extruded").stock_mm:
        published = (0.10 if thickness < 3 else 0.05) * thickness
        assert tolerance("acrylic-extruded", thickness) == pytest.approx(published, abs=1e-9)


# Ranges of board thickness, mm (read): mat board, a board seller's guide; museum board, Saitzyk, Art
# Hardware (1987); mounting board, a picture framer's notes
BOARDS = [
    ("mat-board", 1.2, 0.040 * INCH, 0.052 * INCH),
    ("mat-board", 3.18, 0.125 * INCH, 0.125 * INCH),
    ("museum-board", 0.7, 2 * 0.0125 * INCH, 2 * 0.015 * INCH),
    ("museum-board", 1.4, 0.050 * INCH, 0.060 * INCH),
    ("museum-board", 2.8, 0.100 * INCH, 0.120 * INCH),
    ("mounting-board", 1.4, 1.4, 1.5),
]


@pytest.mark.parametrize(("key", "stock", "low", "high"), BOARDS)
def test_board_thickness_range_is_covered(key: str, stock: float, low: float, high: float) -> None:
    assert stock in tables.material(key).stock_mm
    half = tolerance(key, stock)
    assert stock - half <= low + 0.005
    assert stock + half >= high - 0.005


@pytest.mark.parametrize(("key", "out_at"), [("pla", 50), ("petg", 65), ("petg-sheet", 65)])
def test_temperature_rule(key: str, out_at: float) -> None:
    # below the lowest heat deflection of the sheets that were read: PLA 53, PETG 73 degrees
    assert tables.material(key).limit_c == out_at


@pytest.mark.parametrize("key", [k for k in tables.keys("materials") if k not in ("pla", "petg")])
def test_others_are_not_limited_at_scanner_temperatures(key: str) -> None:
    hottest = max(bed.lamp_rise_k for bed in map(tables.bed, tables.keys("beds"))) + 30
    assert tables.material(key).limit_c > hottest


@pytest.mark.parametrize(
    ("key", "verdict"),
    [
        # Univ. Illinois Chicago fab lab, approved materials (read)
        ("acrylic-cast", "allowed"),
        ("plywood-birch", "allowed"),
        ("mat-board", "allowed"),
        ("greyboard", "allowed"),
        ("pvc-foam", "forbidden"),  # the same list (read)
        ("pvc-sheet", "forbidden"),
        ("foam-board", "forbidden"),  # polystyrene foam: the same list (read)
        ("abs-sheet", "forbidden"),  # UT Austin, prohibited laser cutter materials (read)
        ("petg-sheet", "forbidden"),  # the same (read)
        ("polycarbonate-sheet", "forbidden"),  # a Swedish makerspace, above 1 mm (read)
        ("eva-foam", "forbidden"),  # CMU guide: foam of any type (read)
        ("pp-corrugated", "forbidden"),  # polypropylene: two workshops' lists (read)
    ],
)
def test_laser_permission(key: str, verdict: str) -> None:
    assert tables.material(key).laser == verdict


@pytest.mark.parametrize(
    ("key", "width", "picture", "pitch"),
    [
        ("16mm", 15.95, (10.26, 7.49), 7.605),
        ("9.5mm", 9.5, (8.5, 6.5), 7.54),
        ("aps", 24.0, (16.7, 30.2), 33.0),
    ],
)
def test_narrow_film(key: str, width: float, picture: tuple[float, float], pitch: float) -> None:
    """ISO 69 (film) and ISO 359 (camera's picture) of 16 mm; 9.5 mm and 24 mm film: all from memory."""
    film = tables.film_format(key)
    assert (film.cut_width_mm, film.image_width_mm, film.image_height_mm) == (width, *picture)
    assert film.frame_pitch_mm == pitch
    assert film.source_of("cut_width_mm").status == "from memory"


def test_single_frames_are_one_pitch_long() -> None:
    singles = [tables.film_format(k) for k in tables.keys("formats") if k.endswith("-single")]
    assert {film.frames for film in singles} == {1}
    assert {film.key: film.cut_height_mm for film in singles}[
        "35mm-single"
    ] == 38.0  # 8 perforations of 4.75 mm
