"""Physical constants: one value each, in one place."""

from __future__ import annotations

import math
import re
from pathlib import Path

import pytest

import holders
from holders.facts import constants, habits, tables

PACKAGE = Path(holders.__file__).parent


def test_gravity_is_the_standard_value() -> None:
    # 9.806 65 m/s2 exactly: 3rd CGPM (1901), ISO 80000-3 (from memory)
    assert constants.GRAVITY_M_S2 == 9.80665


def test_no_module_writes_gravity_or_the_density_of_glass_again() -> None:
    again = re.compile(r"\b9\.8[0-9]*\b|\b2500(\.0)?\b.*glass|glass.*\b2500(\.0)?\b")
    found = [
        f"{path.name}: {line.strip()}"
        for path in PACKAGE.rglob("*.py")
        for line in path.read_text(encoding="utf-8").splitlines()
        if again.search(line)
    ]
    assert found == []
    rows = [row for name in tables.MODELS for row in tables.table(name)]
    assert sum(getattr(row, "density_kg_m3", 0) == 2500.0 for row in rows) == 1
    assert not any("glass" in key and "density" in key for key in habits.table())


@pytest.mark.parametrize(
    ("celsius", "hpa"),
    # saturation pressure of water, steam tables (IAPWS, from memory): 611.2 Pa, 1.228, 2.339, 4.247 and 7.384 kPa
    [(0.0, 6.112), (10.0, 12.28), (20.0, 23.39), (30.0, 42.47), (40.0, 73.84)],
)
def test_magnus_coefficients_give_the_steam_table(celsius: float, hpa: float) -> None:
    slope, offset = constants.constant("magnus-slope"), constants.constant("magnus-offset")
    found = constants.constant("magnus-pressure") * math.exp(slope * celsius / (offset + celsius))
    assert found == pytest.approx(hpa, rel=0.006)  # what the formula claims from -45 to 60 C (from memory)


def test_permeability_is_four_pi_to_nine_digits() -> None:
    assert constants.constant("vacuum-permeability") == pytest.approx(4e-7 * math.pi, rel=1e-8)


def test_an_unknown_constant_is_a_fault_of_the_caller() -> None:
    with pytest.raises(KeyError):
        constants.constant("antigravity")
