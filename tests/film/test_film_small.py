"""Small loads against series, and how fast the solver converges."""

from __future__ import annotations

import math

import pytest

from holders.film.models import Kind, Lips, Membrane, Sheet, Support
from holders.film.surface import solve_surface
from tests.film.closed_forms import (
    clamped_coefficient,
    glass_sag_mm,
    navier_coefficient,
    simply_supported_coefficient,
)

SIDE, THICKNESS, MODULUS = 100.0, 1.0, 4000.0


def coefficient(ratio: float, kind: Kind, nu: float = 0.3, resolution: int = 12) -> float:
    """α of w = α q a⁴/D from a sheet so light that it stays linear."""
    sheet = Sheet(
        width_mm=ratio * SIDE,
        height_mm=SIDE,
        thickness_mm=THICKNESS,
        modulus_mpa=MODULUS,
        poisson=nu,
        density_kg_m3=1.0,
    )
    surface = solve_surface(sheet, Support(kind=kind, membrane=Membrane.HELD), resolution=resolution)
    return -surface.branch.centre_deflection_mm * sheet.rigidity_nmm / (sheet.pressure_mpa * SIDE**4)


# Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, tables 8 and 35 (from memory); beside them the
# converged values (computed), since the book's are rounded and here and there off by 0.4 %
BOOK = {
    1.0: (0.00406, 0.004062, 0.00126, 0.001265),
    1.1: (0.00485, 0.004869, 0.00150, 0.001508),
    1.2: (0.00564, 0.005651, 0.00172, 0.001725),
    1.3: (0.00638, 0.006392, 0.00191, 0.001912),
    1.4: (0.00705, 0.007085, 0.00207, 0.002068),
    1.5: (0.00772, 0.007724, 0.00220, 0.002197),
    2.0: (0.01013, 0.010129, 0.00254, 0.002533),
}


@pytest.mark.parametrize("ratio", list(BOOK))
def test_series_against_the_book(ratio: float) -> None:
    hinged, hinged_exact, clamped, clamped_exact = BOOK[ratio]
    assert simply_supported_coefficient(ratio) == pytest.approx(hinged, rel=0.007)
    assert simply_supported_coefficient(ratio) == pytest.approx(hinged_exact, rel=2e-4)
    assert clamped_coefficient(ratio) == pytest.approx(clamped, rel=0.007)
    assert clamped_coefficient(ratio) == pytest.approx(clamped_exact, rel=5e-4)


@pytest.mark.parametrize("ratio", [1.0, 1.2, 1.5, 2.0, 3.0, 5.0])
def test_small_loads_meet_the_series(ratio: float) -> None:
    assert simply_supported_coefficient(ratio) == pytest.approx(navier_coefficient(ratio), rel=1e-6)
    assert coefficient(ratio, Kind.SIMPLY_SUPPORTED) == pytest.approx(
        simply_supported_coefficient(ratio), rel=1e-3
    )
    assert coefficient(ratio, Kind.CLAMPED) == pytest.approx(clamped_coefficient(ratio), rel=1e-3)


# Roark's Formulas for Stress and Strain, 7th ed., table 11.4 case 1a (read): w = α q b⁴/(E t³), ν = 0.3
@pytest.mark.parametrize(
    ("ratio", "alpha"), [(1.0, 0.0444), (1.2, 0.0616), (1.4, 0.0770), (2.0, 0.1110), (3.0, 0.1335)]
)
def test_roark_small_deflections(ratio: float, alpha: float) -> None:
    ours = coefficient(ratio, Kind.SIMPLY_SUPPORTED) * 12 * (1 - 0.3**2)
    assert ours == pytest.approx(alpha, rel=0.007)


def test_strip_limits() -> None:
    """A very long plate sags like a beam across it: 5/384 hinged and 1/384 clamped (exact)."""
    assert simply_supported_coefficient(20.0) == pytest.approx(5 / 384, rel=1e-6)
    assert clamped_coefficient(6.0) == pytest.approx(1 / 384, rel=2e-3)


def test_a_beam_on_two_edges_only() -> None:
    """A wide light sheet on two opposite ledges with ν = 0 sags as a beam between the lips' inner edges.

    The overhang beyond the support line loads the ends with the moment q c²/2.
    """
    sheet = Sheet(
        width_mm=100, height_mm=60, thickness_mm=0.5, modulus_mpa=4000, poisson=0.0, density_kg_m3=1390
    )
    lip = 5.0
    surface = solve_surface(sheet, Support(kind=Kind.LEDGE, lips=Lips(left_mm=lip, right_mm=lip)))
    span, q, d = 100 - 2 * lip, sheet.pressure_mpa, sheet.rigidity_nmm
    expected = 5 * q * span**4 / (384 * d) - (q * lip**2 / 2) * span**2 / (8 * d)
    assert surface.max_sag_mm == pytest.approx(expected, rel=1e-3)
    tip = surface.deflection[len(surface.y) // 2, 0]
    slope = q * span**3 / (24 * d) - (q * lip**2 / 2) * span / (2 * d)
    assert tip == pytest.approx(lip * slope - q * lip**4 / (8 * d), rel=2e-3)


def test_convergence_is_faster_than_any_fixed_order() -> None:
    """Observed orders (in the degree) of the clamped square: at least 6 from one degree to the next."""
    exact = clamped_coefficient(1.0, terms=400)
    degrees = [6, 8, 10, 14]
    errors = [abs(coefficient(1.0, Kind.CLAMPED, resolution=n) / exact - 1) for n in degrees]
    orders = [math.log(errors[i] / errors[i + 1]) / math.log(degrees[i + 1] / degrees[i]) for i in range(3)]
    assert errors[0] < 5e-3
    assert errors[2] < 1e-5
    assert min(orders) > 6


def test_convergence_on_a_ledge() -> None:
    """Contact makes corners in the solution, so convergence is of a finite order: second at least, 0.2 % at 12."""
    sheet = Sheet(
        width_mm=203, height_mm=254, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
    )
    support = Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0))
    sags = {n: solve_surface(sheet, support, resolution=n).max_sag_mm for n in (6, 8, 12, 22)}
    errors = {n: abs(sags[n] / sags[22] - 1) for n in (6, 8, 12)}
    assert errors[12] < 2e-3
    assert errors[8] < 0.01
    assert math.log(errors[6] / errors[12]) / math.log(2) > 2


def test_glass_plate() -> None:
    """3 mm float glass over A4 sags a hundredth of a millimetre: E 70 GPa, ν 0.22, 2500 kg/m³ (from memory)."""
    sag = glass_sag_mm(210, 297, 3.0, modulus_mpa=70000, poisson=0.22, density_kg_m3=2500)
    solved = solve_surface(
        Sheet(
            width_mm=210, height_mm=297, thickness_mm=3.0, modulus_mpa=70000, poisson=0.22, density_kg_m3=2500
        ),
        Support(kind=Kind.SIMPLY_SUPPORTED),
    ).max_sag_mm
    assert sag == pytest.approx(solved, rel=1e-3)
    assert 0.004 < sag < 0.02
    turned = glass_sag_mm(297, 210, 3.0, modulus_mpa=70000, poisson=0.22, density_kg_m3=2500)
    assert turned == sag
    thin = glass_sag_mm(210, 297, 1.5, modulus_mpa=70000, poisson=0.22, density_kg_m3=2500)
    assert thin / sag == pytest.approx(4.0, rel=1e-5)
