"""Why no lid has spring fingers round its film: what they press with, against weight, magnets and steel of today."""

from __future__ import annotations

from pathlib import Path

import pytest

from holders.design.resolve import design
from holders.facts.models import Material
from holders.facts.tables import material
from holders.fittings.cover.pane import Pane
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.workshop.stiffness.creep import creep_factor
from tests.film.test_film_not_gripped import LIDDED, held_n
from tests.presets_made import SHIPPED

LONG_MM, PITCH_MM = 25.0, 28.0  # a finger along the lid's rail, and from one to the next
DOWN_MM = 1.0  # how far closing the lid bends it
THICK_MM = {"print": 1.2, "laser": 2.0}  # six layers; a sheet
WIDE_MM = {"print": 2.0, "laser": 2.5}  # as wide as a lid's lip over the film
WARM_C, WEEKS_H = 32.0, 1000.0


def finger_n_mm(stuff: Material, wide_mm: float, thick_mm: float) -> float:
    """Stiffness of a cantilever loaded at its end: 3 E I / L^3 (any handbook of mechanics)."""
    return 3 * stuff.modulus_mpa * wide_mm * thick_mm**3 / 12 / LONG_MM**3


def strain(thick_mm: float) -> float:
    """The greatest, at its root: 3 t d / (2 L^2)."""
    return 1.5 * thick_mm * DOWN_MM / LONG_MM**2


def catches_n_mm() -> float:
    """Stiffness of four hairpin catches against being lifted, together: what holds the lid against its fingers."""
    made = design(resolve(load(next(path for path in SHIPPED if path.stem == "5x7-glass-cover")))).find(Pane)
    assert made is not None
    assert made.spring is not None
    stuff = material("petg")
    return made.catches / made.spring.lift_mm(1.0, stuff.modulus_mpa, stuff.poisson)


def pressed_n(fingers_n_mm: float, catches: float) -> float:
    """Fingers and catches bend in a row: the catches give, and the fingers are bent by so much less."""
    return DOWN_MM / (1 / fingers_n_mm + 1 / catches)


@pytest.mark.parametrize("path", LIDDED, ids=lambda path: path.stem)
def test_fingers_press_less_than_what_lies_on_every_shipped_lid(path: Path) -> None:
    job = resolve(load(path))
    made = design(job)
    film, route = made.mine[0].film, made.route
    count = 2 * (int(film.width / PITCH_MM) + int(film.height / PITCH_MM))
    each = finger_n_mm(job.material, WIDE_MM[route], THICK_MM[route])
    fresh = pressed_n(count * each, catches_n_mm())
    left = fresh * creep_factor(job.material, WEEKS_H, WARM_C)
    assert left < fresh < 0.75 * held_n(job, made)


def test_the_numbers_of_the_model_page() -> None:
    """8x10 printed: 32 fingers; and what strains them, against what the material bears again and again."""
    petg, catches = material("petg"), catches_n_mm()
    assert finger_n_mm(petg, 2.0, 1.2) == pytest.approx(0.11, abs=0.005)
    assert catches == pytest.approx(2.6, abs=0.05)
    fresh = pressed_n(32 * finger_n_mm(petg, 2.0, 1.2), catches)
    assert fresh == pytest.approx(1.5, abs=0.05)
    assert fresh * creep_factor(petg, WEEKS_H, WARM_C) == pytest.approx(0.65, abs=0.02)
    assert (strain(1.2), petg.spring_strain) == (pytest.approx(0.0029, abs=5e-5), 0.008)
    assert strain(2.0) > material("plywood-birch").spring_strain  # fingers of plywood break
