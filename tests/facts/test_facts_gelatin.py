"""Gelatin and hazards: the rows agree with one another and with what they were computed from."""

from __future__ import annotations

import math

import pytest
from scipy.optimize import brentq

from holders.facts import tables
from holders.facts.numbers import TABLES, numbers

GELATIN = numbers("gelatin")


@pytest.mark.parametrize("name", TABLES)
def test_every_number_says_where_it_comes_from(name: str) -> None:
    for row in numbers(name).values():
        assert len(row.source) > 5
        assert row.source_of("value").status == row.status != "measured"
        assert (row.name + row.source + row.unit).isascii()


# Calhoun, J. SMPE 43(4) 1944, Table 5 (read): sagitta across 35 mm film in inches at relative humidity
@pytest.mark.parametrize(("humidity", "inches"), [(70, -0.03), (50, 0.05), (20, 0.20)])
def test_curl_follows_from_the_sagitta(humidity: int, inches: float) -> None:
    sagitta = GELATIN[f"calhoun-sagitta-{humidity}"].value
    assert sagitta == pytest.approx(inches * 25.4, abs=1e-9)
    width = GELATIN["calhoun-width"].value
    radius = brentq(lambda r: r * (1 - math.cos(width / (2 * r))) - abs(sagitta), width / math.pi, 1e5)
    assert GELATIN[f"calhoun-curl-{humidity}"].value == pytest.approx(
        math.copysign(1000 / radius, sagitta), rel=0.002
    )


def test_growth_of_the_emulsion_follows_from_the_contractions() -> None:
    to_50, to_20 = GELATIN["calhoun-emulsion-50"].value, GELATIN["calhoun-emulsion-20"].value
    assert GELATIN["emulsion-strain-damp"].value == pytest.approx(to_50 / 20, rel=1e-6)
    assert GELATIN["emulsion-strain-dry"].value == pytest.approx((to_20 - to_50) / 30, rel=2e-3)
    nitrate = tables.film_base("nitrate")
    assert nitrate.base_humidity_strain_per_rh == pytest.approx(GELATIN["calhoun-base-50"].value / 20)
    assert nitrate.humidity_strain_per_rh == pytest.approx(GELATIN["calhoun-film-50"].value / 20)


def test_emulsion_is_the_thickness_that_formats_leave_for_it() -> None:
    # 15 to 20 um for black and white, up to 35 um for colour: an encyclopaedia's article (read second-hand)
    assert 0.015 <= GELATIN["emulsion-thickness"].value <= 0.020
    assert GELATIN["emulsion-thickness-most"].value == 0.035


@pytest.mark.parametrize("key", tables.keys("bases"))
def test_gelatin_adds_to_the_growth_of_the_base(key: str) -> None:
    base = tables.film_base(key)
    assert base.base_humidity_strain_per_rh <= base.humidity_strain_per_rh
    if base.rigid:
        assert base.back_coat == "no"


def test_magnets_keep_fifteen_centimetres() -> None:
    # 15 cm: a study of telephones with magnets (read)
    row = tables.hazard("magnets")
    assert row.distance_mm == 150
    assert "15 cm" in row.words


@pytest.mark.parametrize("key", tables.keys("hazards"))
def test_a_hazard_is_a_caution_that_can_be_printed(key: str) -> None:
    row = tables.hazard(key)
    assert row.words.endswith(".")
    assert row.words.isascii()
    assert row.status in ("read", "read second-hand", "from memory")
