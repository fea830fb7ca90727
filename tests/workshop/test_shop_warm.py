"""Warm lamp and damp: bows against worked examples and a numerical contact solution, growth, softening margins."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st
from scipy.optimize import nnls

from holders.core.errors import InputError
from holders.design.resolve import design
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.workshop.stiffness.bow import (
    Strip,
    Way,
    arc_height_mm,
    curvature_per_m,
    diagonal_mm,
    on_feet,
    resting,
    strip,
)
from holders.workshop.stiffness.warm import damp_bow, foot_span_mm, growths, warm_bow, warmth
from tests.presets_made import SHIPPED, job

# --- curvature -------------------------------------------------------------------------------------------------------


@pytest.mark.parametrize(
    ("alpha", "kappa", "sag"),
    # per kelvin, 3 mm thick, over 200 mm: kappa = alpha dT/t, kappa L²/8 (Timoshenko and Woinowsky-Krieger, ch. 3;
    # Roark, thermal bending; from memory, exact for a linear gradient; numbers computed by hand)
    [
        (101e-6, 0.0336667, 0.168333),
        (72e-6, 0.0240000, 0.120000),
        (23e-6, 0.00766667, 0.0383333),
        (4.5e-6, 0.00150000, 0.00750000),
    ],
)
def test_thermal_bow_of_a_plate(alpha: float, kappa: float, sag: float) -> None:
    found = curvature_per_m(alpha, 1.0, 3.0)
    assert found == pytest.approx(kappa, rel=1e-5)
    assert arc_height_mm(found, 200.0) == pytest.approx(sag, rel=1e-5)


def test_curvature_refusals() -> None:
    with pytest.raises(InputError):
        curvature_per_m(1e-4, 1.0, 0.0)
    with pytest.raises(InputError):
        resting(Strip(100.0, 1.0, 1.0), -0.1, "bowl")


# --- lying under its own weight --------------------------------------------------------------------------------------


def numeric_lift(of: Strip, kappa: float, way: Way, n: int = 240) -> float:
    """The same contact by finite differences: least energy with every height at or above the bed."""
    h = of.span_mm / n
    second = np.zeros((n - 1, n + 1))
    for i in range(n - 1):
        second[i, i : i + 3] = np.array([1.0, -2.0, 1.0]) / h**2
    sign = 1.0 if way == "bowl" else -1.0
    weight = np.full(n + 1, of.load * h)
    weight[[0, -1]] /= 2
    root = math.sqrt(of.stiffness * h)
    # min |root (second w - sign kappa)|²/2 + weight.w, w >= 0, as a non-negative least squares problem
    small = 1e-6 * of.load * h
    rows = np.vstack([root * second, small * np.eye(n + 1)])
    right = np.concatenate([np.full(n - 1, root * sign * kappa), -weight / small])
    scale = 1 / np.linalg.norm(rows, axis=0)
    found, _ = nnls(rows * scale, right, maxiter=40 * n)
    return float((found * scale).max())


@pytest.mark.parametrize("pull", [4.0, 8.0, 9.0, 9.55, 12.0, 15.0, 30.0])
@pytest.mark.parametrize("way", ["bowl", "dome"])
def test_closed_forms_against_a_numerical_contact(way: Way, pull: float) -> None:
    span, stiffness, kappa = 300.0, 4500.0, 5e-5
    of = Strip(span, stiffness, pull * stiffness * kappa / span**2)
    found = resting(of, 1000 * kappa, way)
    assert found.lift_mm == pytest.approx(numeric_lift(of, kappa, way), rel=0.03, abs=2e-4)


def test_how_it_touches() -> None:
    span, stiffness, kappa = 300.0, 4500.0, 5e-5

    def touch(pull: float, way: Way) -> str:
        return resting(Strip(span, stiffness, pull * stiffness * kappa / span**2), 1000 * kappa, way).contact

    assert [touch(p, "dome") for p in (9.0, 10.0, 17.0)] == ["ends", "ends and middle", "flat middle"]
    assert [touch(p, "bowl") for p in (7.9, 8.1)] == ["middle", "flat middle"]
    assert resting(Strip(span, stiffness, 0.0), 0.05, "dome").lift_mm == pytest.approx(
        arc_height_mm(0.05, span)
    )
    assert resting(Strip(span, stiffness, 1e-4), 0.0, "dome").lift_mm == 0.0


@settings(max_examples=100)
@given(
    st.floats(50, 400),
    st.floats(1, 8),
    st.floats(0.001, 0.2),
    st.floats(0.1, 8),
    st.sampled_from(("bowl", "dome")),
)
def test_laws_of_lying(span: float, t: float, kappa: float, load: float, way: Way) -> None:
    of = strip(span, t, 2500.0, 1200.0, load)
    found = resting(of, kappa, way)
    assert -1e-12 <= found.lift_mm <= found.free_mm + 1e-12
    heavier = resting(strip(span, t, 2500.0, 1200.0, load * 1.1), kappa, way)
    assert heavier.lift_mm <= found.lift_mm + 1e-12
    rounder = resting(of, kappa * 1.1, way)
    assert rounder.lift_mm >= found.lift_mm - 1e-12
    # a nudge moves it a little: the cases join without a jump
    assert resting(of, kappa * 1.0001, way).lift_mm == pytest.approx(found.lift_mm, rel=0.02, abs=1e-9)


def test_on_feet() -> None:
    of = strip(200.0, 3.0, 2000.0, 1270.0)
    sag = 5 * of.load * 200.0**4 / (384 * of.stiffness)
    assert on_feet(of, 0.0, 1.0, "dome") == pytest.approx(-sag)
    assert on_feet(of, 0.05, 1.0, "dome") == pytest.approx(0.25 - sag)
    assert on_feet(of, 0.5, 0.4, "bowl") == -0.4  # it lies on the glass
    assert diagonal_mm(3.0, 4.0) == 5.0


# --- real holders ----------------------------------------------------------------------------------------------------


def test_softening_margin_names_its_test() -> None:
    made = job(
        material={"name": "pla"}, room={"ambient_c": 25.0}, bed={"name": "a4-wide", "lamp_rise_k": 20.0}
    )
    found = warmth(made)
    assert found.warmest_c == 45.0
    assert found.margin_k == pytest.approx(5.0)  # PLA is out at 50 C
    assert found.soft_margin_k == pytest.approx(13.8)  # 58.8 C at 0.455 MPa (read second-hand)
    assert "heat deflection at 0.45 MPa" in found.method
    assert found.sigma_k == pytest.approx(math.hypot(2.0, 3.0))
    # 5 K is 1.387 sigma: 8.3 % (normal table)
    assert found.chance_over_limit == pytest.approx(0.0828, abs=0.001)


def test_pla_is_out_at_fifty_and_petg_at_sixty_five() -> None:
    # below the lowest heat deflection that was read, 53 and 73 C
    hot = {"ambient_c": 30.0}
    pla = warmth(job(material={"name": "pla"}, room=hot, bed={"name": "a4-wide", "lamp_rise_k": 26.0}))
    assert pla.margin_k < 0
    assert pla.chance_over_limit > 0.5
    petg = warmth(job(material={"name": "petg"}, room=hot, bed={"name": "a4-wide", "lamp_rise_k": 26.0}))
    assert petg.margin_k > 0


def test_molten_has_no_modulus_left() -> None:
    made = job(
        material={"name": "pla"}, room={"ambient_c": 40.0}, bed={"name": "a4-wide", "lamp_rise_k": 30.0}
    )
    assert warmth(made).modulus_left is None


def test_wood_chars_before_it_softens() -> None:
    found = warmth(job(route="laser", material={"name": "mdf"}))
    assert found.softening_c is None
    assert found.soft_margin_k is None
    assert "char" in found.method
    assert found.modulus_left is not None
    day, long = found.modulus_left
    assert 0 < long < day < 1


def test_growth_by_hand() -> None:
    # PETG 68e-6/K (a materials site, read) over 296 mm and 10 K: 0.2013 mm in the 1.0 mm that two gaps of 0.5 leave
    made = job()
    rim = next(g for g in growths(made, design(made)) if "rim" in g.what and g.way == "along")
    assert rim.by_warmth_mm == pytest.approx(296.0 * 68e-6 * 10)
    assert rim.by_damp_mm == 0.0
    assert rim.room_mm == pytest.approx(1.0)
    assert rim.used == pytest.approx(0.20128)


def test_plywood_and_damp() -> None:
    # 0.0002 in/in per 10 % humidity (read second-hand): 296 mm and 20 % grow 0.1184 mm
    made = job(route="laser", material={"name": "plywood-birch"})
    rim = next(g for g in growths(made, design(made)) if "rim" in g.what and g.way == "along")
    assert rim.by_damp_mm == pytest.approx(296.0 * 2e-5 * 20)


def test_no_gap_is_seen() -> None:
    made = job(layout={"slide_gap_mm": 0.05})
    tightest = growths(made, design(made))[0]
    assert tightest.used > 1
    assert "rim" in tightest.what
    none = job(layout={"slide_gap_mm": 0.0})
    assert growths(none, design(none))[0].used == math.inf


@pytest.mark.parametrize(
    ("film", "frame", "warmth", "damp"),
    [
        ((17e-6, 0.0), (65e-6, 0.0), 0.0, 0.0),  # the frame grows more by the lamp: the film comes loose
        ((65e-6, 0.0), (17e-6, 0.0), 48e-6, 0.0),
        ((17e-6, 8e-6), (65e-6, 3e-6), 0.0, 5e-6),  # on a damp day
        ((17e-6, 3e-6), (65e-6, 8e-6), 0.0, 5e-6),  # on a dry day
    ],
)
def test_film_tightens_only_where_it_outgrows_its_pocket(
    film: tuple[float, float], frame: tuple[float, float], warmth: float, damp: float
) -> None:
    made = job()
    base = made.base.model_copy(update={"expansion_per_k": film[0], "humidity_strain_per_rh": film[1]})
    stuff = made.material.model_copy(update={"expansion_per_k": frame[0], "moisture_strain_per_rh": frame[1]})
    holder = design(made)
    made = replace(made, base=base, material=stuff)
    found = [g for g in growths(made, holder, 20.0) if g.what == "film against its pocket"]
    assert found
    for grown in found:
        assert grown.by_warmth_mm == pytest.approx(grown.size_mm * warmth * made.bed.lamp_rise_k)
        assert grown.by_damp_mm == pytest.approx(grown.size_mm * damp * 20.0)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: Path(p).stem)
def test_shipped_holders_have_room_to_grow(path: Path) -> None:
    made = resolve(load(path))
    found = growths(made, design(made))
    assert found == tuple(sorted(found, key=lambda g: (-g.used, g.what, g.way)))
    assert found[0].used < 1
    assert warmth(made).margin_k > 0
    bow = warm_bow(made, design(made))
    assert 0 <= bow.lift_mm <= bow.corner_mm
    assert bow.free_mm < bow.corner_mm
    assert (bow.feet_mm is None) == (design(made).heights.foot_protrusion == 0)


def test_bow_of_a_holder_by_hand() -> None:
    # PETG, 3 K between the faces; free arc kappa L²/8 over 296 mm
    made = job(layout={"pocket_depth_mm": 1.0}, bed={"name": "a4-wide", "focus_height_mm": 3.0})
    holder = design(made)
    thick = max(p.z1 for p in holder.parts)
    found = warm_bow(made, holder)
    assert found.curvature_per_m == pytest.approx(68e-6 * 3 / (thick / 1000))
    assert found.free_mm == pytest.approx(68e-6 * 3 / thick * 296.0**2 / 8)
    assert found.resting is not None
    assert found.used == pytest.approx(found.resting.lift_mm / 0.6)


def test_a_hotter_face_bows_more_and_leaves_the_band() -> None:
    cold = job(bed={"name": "a4-wide", "face_difference_k": 1.0})
    hot = job(bed={"name": "a4-wide", "face_difference_k": 12.0})
    assert warm_bow(cold, design(cold)).used < warm_bow(hot, design(hot)).used
    assert warm_bow(hot, design(hot)).used > 1


def test_dry_plastic_does_not_bow_by_damp_and_board_does() -> None:
    plastic = job(feet={"count": 4, "thickness_mm": 1.5, "recess_mm": 1.0})
    assert damp_bow(plastic, design(plastic)).lift_mm == 0.0
    mat = job(route="knife", material={"name": "mat-board"})
    assert damp_bow(mat, design(mat)).free_mm > 1.0  # 1e-4 x 5 % over 296 mm in 3 to 4 mm of board


def test_feet_make_the_span() -> None:
    stood = job(feet={"count": 4, "thickness_mm": 1.5, "recess_mm": 1.0})
    assert 100 < foot_span_mm(design(stood)) < 297
    assert foot_span_mm(design(job())) == 0.0
