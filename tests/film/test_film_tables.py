"""Large deflections against published and independently computed tables.

Each row says what it is: *from memory* (a published table as remembered, not read), or *computed* (a separate Ritz
program in u, v, w, which shares nothing with this one). a short side, Q = q a⁴/(E t⁴), values w/t at the middle.
"""

from __future__ import annotations

import numpy as np
import pytest

from holders.film.models import GRAVITY_M_S2, Kind, Lips, Membrane, Sheet, Support
from holders.film.surface import solve_surface
from tests.tolerance import known_offset

SIDE, THICKNESS, MODULUS = 100.0, 0.1, 4000.0


def loaded(q: float, ratio: float, nu: float) -> Sheet:
    """A sheet whose own weight makes the load number Q."""
    density = q * MODULUS * THICKNESS**4 / SIDE**4 / (THICKNESS * GRAVITY_M_S2) * 1e9
    return Sheet(
        width_mm=SIDE,
        height_mm=ratio * SIDE,
        thickness_mm=THICKNESS,
        modulus_mpa=MODULUS,
        poisson=nu,
        density_kg_m3=density,
    )


def sag(q: float, ratio: float, nu: float, kind: Kind, membrane: Membrane) -> float:
    surface = solve_surface(
        loaded(q, ratio, nu), Support(kind=kind, membrane=membrane, ledge_height_mm=100.0)
    )
    assert surface.converged
    assert surface.residual < 1e-8
    return surface.max_sag_mm / THICKNESS


SS, CL = Kind.SIMPLY_SUPPORTED, Kind.CLAMPED

# S. Levy, Bending of rectangular plates with large deflections, NACA Report 737 (1942): square, simply supported,
# edge compression zero, ν = 0.316. From memory.
LEVY_Q = (12.1, 29.4, 56.9, 99.4, 161.0, 247.0, 358.0, 497.0)
LEVY = (0.486, 0.962, 1.424, 1.870, 2.307, 2.742, 3.174, 3.600)
# computed, same plate under other edge conditions in the plane
LEVY_PLATE = {
    Membrane.STRAIGHT: (0.4887, 0.9628, 1.4218, 1.8691, 2.3048, 2.7387, 3.1600, 3.5753),
    Membrane.HELD: (0.4224, 0.7252, 0.9944, 1.2540, 1.5078, 1.7611, 2.0065, 2.2467),
    Membrane.FREE: (0.5071, 1.0714, 1.6860, 2.3375, 3.0194, 3.7420, 4.4783, 5.2286),
    Membrane.FIXED: (0.4221, 0.7243, 0.9931, 1.2524, 1.5059, 1.7592, 2.0046, 2.2450),
}


@pytest.mark.parametrize(("q", "published"), list(zip(LEVY_Q, LEVY, strict=True)))
def test_levy_simply_supported_straight_edges(q: float, published: float) -> None:
    assert sag(q, 1.0, 0.316, SS, Membrane.STRAIGHT) == pytest.approx(published, rel=0.01)


@pytest.mark.parametrize("membrane", list(Membrane))
def test_the_same_plate_with_every_edge_condition(membrane: Membrane) -> None:
    ours = [sag(q, 1.0, 0.316, SS, membrane) for q in LEVY_Q]
    np.testing.assert_allclose(ours, LEVY_PLATE[membrane], rtol=4e-4)


def test_edge_conditions_are_far_apart_and_in_order() -> None:
    """A test with the wrong edge condition would fail: free, straight and held differ by a factor above two."""
    free, straight, held = (
        sag(500.0, 1.0, 0.3, SS, m) for m in (Membrane.FREE, Membrane.STRAIGHT, Membrane.HELD)
    )
    assert free / straight > 1.4
    assert straight / held > 1.5


# S. Levy, Square plate with clamped edges under normal pressure producing large deflections, NACA Report 740 (1942),
# ν = 0.316. From memory; the abstract (read) states a possible error of some 2 %, hence 2.5 %.
CLAMPED_Q = (17.79, 38.3, 63.4, 95.0, 134.9, 184.0, 245.0, 318.0, 402.0)
CLAMPED = (0.237, 0.471, 0.695, 0.912, 1.121, 1.323, 1.521, 1.714, 1.902)
CLAMPED_HELD = (0.2363, 0.4694, 0.6920, 0.9048, 1.1098, 1.3059, 1.4991, 1.6861, 1.8641)  # computed
CLAMPED_FIXED = (0.2362, 0.4687, 0.6903, 0.9018, 1.1056, 1.3005, 1.4927, 1.6788, 1.8560)  # computed


def test_levy_clamped() -> None:
    held = [sag(q, 1.0, 0.316, CL, Membrane.HELD) for q in CLAMPED_Q]
    np.testing.assert_allclose(held, CLAMPED, rtol=0.025)
    np.testing.assert_allclose(held, CLAMPED_HELD, rtol=4e-4)
    fixed = [sag(q, 1.0, 0.316, CL, Membrane.FIXED) for q in CLAMPED_Q]
    np.testing.assert_allclose(fixed, CLAMPED_FIXED, rtol=4e-4)


# Roark's Formulas for Stress and Strain, 7th ed., § 11.11, after Levy. From memory. Tolerance 1 % where the remembered
# figure is good to that (from Q = 50 up); below that the remembered rounding is coarser (up to 2.3 %), and the
# computed row binds instead.
ROARK_Q = (12.5, 25.0, 50.0, 75.0, 100.0, 125.0, 150.0, 175.0, 200.0, 250.0)
ROARK_SQUARE = (0.430, 0.650, 0.930, 1.13, 1.26, 1.37, 1.47, 1.56, 1.63, 1.77)
SQUARE = (0.432, 0.665, 0.939, 1.119, 1.257, 1.371, 1.469, 1.555, 1.633, 1.769)
ROARK_LONG = (0.625, 0.879, 1.18, 1.37, 1.53, 1.68, 1.77, 1.88, 1.96, 2.12)
LONG = (0.628, 0.884, 1.179, 1.375, 1.526, 1.652, 1.761, 1.858, 1.945, 2.099)
ROARK_CLAMPED = (0.165, 0.32, 0.59, 0.80, 0.95, 1.08, 1.19, 1.28, 1.38, 1.54)
FIXED_SQUARE = (0.168, 0.324, 0.581, 0.777, 0.934, 1.064, 1.175, 1.273, 1.361, 1.513)


# remembered figures that are off by about as much as the tolerance, against the converged rows
SQUARE_OFF = ROARK_Q.index(25.0), ROARK_Q.index(50.0), ROARK_Q.index(75.0)  # -2.2, -0.9 and +1.0 %
LONG_OFF = ROARK_Q.index(125.0)  # +1.7 %
CLAMPED_OFF = ROARK_Q.index(75.0)  # +3.0 %


def _rest(values: np.ndarray | tuple[float, ...], *off: int) -> np.ndarray:
    return np.delete(np.array(values), off)


def test_roark_held_square() -> None:
    ours = np.array([sag(q, 1.0, 0.316, SS, Membrane.HELD) for q in ROARK_Q])
    np.testing.assert_allclose(ours, SQUARE, rtol=2e-3)
    np.testing.assert_allclose(_rest(ours, *SQUARE_OFF), _rest(ROARK_SQUARE, *SQUARE_OFF), rtol=0.01)
    first, *others = SQUARE_OFF
    with known_offset("the remembered figures are 2.2 and 0.9 % too small, 1.0 % too large"):
        assert ours[first] == pytest.approx(ROARK_SQUARE[first], rel=0.024)
        np.testing.assert_allclose(ours[others], np.array(ROARK_SQUARE)[others], rtol=0.01)


def test_roark_held_rectangle() -> None:
    ours = np.array([sag(q, 1.5, 0.316, SS, Membrane.HELD) for q in ROARK_Q])
    np.testing.assert_allclose(ours, LONG, rtol=2e-3)
    np.testing.assert_allclose(_rest(ours, LONG_OFF), _rest(ROARK_LONG, LONG_OFF), rtol=0.018)
    with known_offset("the remembered figure is 1.7 % too large"):
        assert ours[LONG_OFF] == pytest.approx(ROARK_LONG[LONG_OFF], rel=0.018)


def test_roark_clamped_square() -> None:
    ours = np.array([sag(q, 1.0, 0.316, CL, Membrane.HELD) for q in ROARK_Q])
    np.testing.assert_allclose(ours, FIXED_SQUARE, rtol=4e-3)
    np.testing.assert_allclose(_rest(ours, CLAMPED_OFF), _rest(ROARK_CLAMPED, CLAMPED_OFF), rtol=0.031)
    with known_offset("the remembered figure is 3.0 % too large"):
        assert ours[CLAMPED_OFF] == pytest.approx(ROARK_CLAMPED[CLAMPED_OFF], rel=0.031)


# a square in the same form, ν = 0.3 (computed)
GRID_Q = (1.0, 2.0, 5.0, 10.0, 20.0, 50.0, 100.0, 200.0, 500.0)
GRID = {
    (SS, Membrane.HELD): (0.0442, 0.0878, 0.2089, 0.3709, 0.5897, 0.9449, 1.2648, 1.6422, 2.2643),
    (SS, Membrane.STRAIGHT): (0.0443, 0.0885, 0.2180, 0.4171, 0.7388, 1.3306, 1.8780, 2.5213, 3.5857),
    (SS, Membrane.FREE): (0.0443, 0.0886, 0.2198, 0.4290, 0.7953, 1.5608, 2.3536, 3.3794, 5.2547),
    (CL, Membrane.HELD): (0.0138, 0.0276, 0.0689, 0.1368, 0.2665, 0.5858, 0.9405, 1.3695, 2.0507),
    (CL, Membrane.FREE): (0.0138, 0.0276, 0.0690, 0.1377, 0.2730, 0.6471, 1.1469, 1.8488, 3.1363),
}


@pytest.mark.parametrize("case", list(GRID), ids=lambda c: f"{c[0].value}-{c[1].value}")
def test_computed_grid(case: tuple[Kind, Membrane]) -> None:
    ours = [sag(q, 1.0, 0.3, *case) for q in GRID_Q]
    np.testing.assert_allclose(ours, GRID[case], rtol=1e-3, atol=6e-5)


@pytest.mark.parametrize(
    ("ratio", "nu", "constant"),
    [(1.0, 0.25, 0.2917), (1.0, 0.3, 0.2865), (1.0, 0.38, 0.2775), (1.25, 0.3, 0.3209), (1.25, 0.38, 0.3112)],
)
def test_membrane_limit_of_a_fixed_sheet(ratio: float, nu: float, constant: float) -> None:
    """Bending fades under great loads: w/t → C Q^(1/3) (C computed)."""
    q = 1e6
    ours = solve_surface(
        loaded(q, ratio, nu),
        Support(kind=SS, membrane=Membrane.FIXED, ledge_height_mm=1000.0),
        resolution=24,
    )
    assert ours.max_sag_mm / THICKNESS == pytest.approx(constant * q ** (1 / 3), rel=0.005)


def test_film_sheets_sag_as_first_estimated() -> None:
    """8x10 and 4x5 polyester, 0.19 mm: 1.4 mm free and 0.5 mm held, 0.3 and 0.1 to 0.2 mm (own first estimate)."""
    big = Sheet(
        width_mm=203, height_mm=254, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
    )
    small = big.model_copy(update={"width_mm": 101.0, "height_mm": 126.0})

    def of(sheet: Sheet, kind: Kind) -> float:
        return solve_surface(sheet, Support(kind=kind, lips=Lips.all_round(3.0))).max_sag_mm

    assert of(big, Kind.LEDGE) == pytest.approx(1.4, abs=0.1)
    assert of(big, Kind.GRIPPED_HELD) == pytest.approx(0.5, abs=0.05)
    assert of(small, Kind.LEDGE) == pytest.approx(0.3, abs=0.03)
    assert 0.1 < of(small, Kind.GRIPPED_HELD) < of(small, Kind.GRIPPED) < 0.2


def test_sheet_of_the_load_number_831() -> None:
    """b/a = 1.25, ν = 0.38, Q = 831, FREE, 0.18 mm: 1.4 to 1.5 mm (computed)."""
    assert 1.4 < 0.18 * sag(831.0, 1.25, 0.38, SS, Membrane.FREE) < 1.5
