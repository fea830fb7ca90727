"""The film surface against an independent finite-element code (see ``fem_reference.py``), within 1 %.

Short form: meshes that are good to 1 % themselves. Long form (``--slow``): finer meshes and more supports.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path
from types import ModuleType

import numpy as np
import pytest

from holders.film.models import Kind, Lips, Sheet, Support
from holders.film.surface import solve_surface
from tests.tolerance import within


def _load() -> ModuleType:
    path = Path(__file__).with_name("fem_reference.py")
    spec = importlib.util.spec_from_file_location("film_fem_reference", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


fem = _load()

BIG = Sheet(
    width_mm=203, height_mm=254, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
)
SMALL = BIG.model_copy(update={"width_mm": 101.0, "height_mm": 126.0})
STRIP = Sheet(
    width_mm=228, height_mm=35, thickness_mm=0.135, modulus_mpa=3800, poisson=0.38, density_kg_m3=1290
)
LEDGE = Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0))
NARROW = Support(kind=Kind.LEDGE, lips=Lips.all_round(2.0))


def agree(sheet: Sheet, support: Support, inside: int, *, middle: float = 0.01) -> None:
    """The middle agrees within ``middle``; it, edge middles and corner within 1 % of the greatest; the weight too."""
    ours = solve_surface(sheet, support)
    theirs = fem.solve(sheet, support, inside=inside)
    w = ours.deflection
    mid_y, mid_x = len(ours.y) // 2, len(ours.x) // 2
    half_x, half_y = sheet.width_mm / 2, sheet.height_mm / 2
    a = np.array([w[mid_y, mid_x], w[mid_y, 0], w[0, mid_x], w[0, 0]])
    b = np.array([theirs.centre_mm, theirs.at(half_x, 0), theirs.at(0, half_y), theirs.at(half_x, half_y)])
    assert a[0] == pytest.approx(b[0], rel=middle)
    np.testing.assert_allclose(a, b, rtol=0, atol=0.01 * np.abs(b).max())
    if support.kind is Kind.LEDGE:
        assert theirs.reaction_n == pytest.approx(sheet.weight_n, rel=1e-3)
        assert ours.total_reaction_n == pytest.approx(sheet.weight_n, rel=1e-6)


def test_rectangle_is_exact() -> None:
    """The reference's own element carries x³y² to the last digits, far from the origin and on small sides too.

    The library's element, built about the origin, loses nine digits here.
    """
    lines = np.array([0.0, 30.0, 111.9, 111.98, 112.0])
    mesh = fem.skfem.MeshQuad.init_tensor(lines, lines / 7)
    basis = fem.skfem.Basis(mesh, fem.Rectangle(), intorder=6)
    (x, y), given = mesh.p, np.zeros(basis.N)
    for row, value in zip(
        basis.nodal_dofs, [x**3 * y**2, 3 * x**2 * y**2, 2 * x**3 * y, 6 * x**2 * y], strict=True
    ):
        given[row] = value
    field, (x, y) = basis.interpolate(given), np.array(basis.global_coordinates())
    np.testing.assert_allclose(np.array(field), x**3 * y**2, rtol=0, atol=1e-14 * 112**3 * 16**2)
    np.testing.assert_allclose(field.grad[0], 3 * x**2 * y**2, rtol=0, atol=1e-11 * 3 * 112**2 * 16**2)
    np.testing.assert_allclose(field.hess[0][1], 6 * x**2 * y, rtol=0, atol=1e-8 * 6 * 112**2 * 16)


def test_the_reference_converges() -> None:
    """Its own error falls with the mesh, to less than a tenth of what the comparisons allow, and it is at rest.

    Numbers seen for the middle and the end (mm): 0.7286, 0.7244 at 6; 0.7290, 0.7249 at 8; 0.7292, 0.7251 at 12.
    """
    curled = STRIP.model_copy(update={"curl_y_per_m": 5.0})
    coarse, middling, fine = (fem.solve(curled, NARROW, inside=n) for n in (4, 6, 8))
    for x in (0.0, curled.width_mm / 2):
        a, b, c = coarse.at(x, 0), middling.at(x, 0), fine.at(x, 0)
        assert within(c - b, 0.5 * abs(b - a))
        assert within(c - b, 0.001 * c)
    for found in (coarse, middling, fine):
        assert found.residual < 1e-9
        assert found.strongest_pull < 1e-7
        assert found.deepest_dip_mm < 1e-9
        assert found.reaction_n == pytest.approx(curled.weight_n, rel=1e-8)


def test_an_unsettled_reference_says_so() -> None:
    with pytest.raises(RuntimeError, match="did not settle"):
        fem.solve(
            SMALL, Support(kind=Kind.GRIPPED, lips=Lips.all_round(4.0)), inside=2, load_steps=1, tol=0.0
        )


@pytest.mark.parametrize("sheet", [BIG, SMALL], ids=["8x10", "4x5"])
def test_sheet_on_its_ledge(sheet: Sheet) -> None:
    agree(sheet, LEDGE, 6)


@pytest.mark.parametrize("kind", [Kind.GRIPPED, Kind.GRIPPED_HELD])
def test_gripped_sheet(kind: Kind) -> None:
    agree(BIG, Support(kind=kind, lips=Lips.all_round(4.0)), 6)


def test_curled_strip() -> None:
    agree(STRIP.model_copy(update={"curl_y_per_m": 5.0}), NARROW, 8)


def test_curled_sheet() -> None:
    agree(SMALL.model_copy(update={"curl_x_per_m": 1.0, "emulsion": "up"}), LEDGE, 8)


@pytest.mark.slow
@pytest.mark.parametrize("kind", [Kind.LEDGE, Kind.GRIPPED, Kind.GRIPPED_HELD])
@pytest.mark.parametrize("sheet", [BIG, SMALL], ids=["8x10", "4x5"])
def test_sheets_finer(sheet: Sheet, kind: Kind) -> None:
    agree(sheet, Support(kind=kind, lips=Lips.all_round(4.0)), 16, middle=0.002)


@pytest.mark.slow
@pytest.mark.parametrize(("curl", "emulsion"), [(1.0, "down"), (1.0, "up"), (2.0, "down")])
def test_curled_sheet_finer(curl: float, emulsion: str) -> None:
    agree(SMALL.model_copy(update={"curl_x_per_m": curl, "emulsion": emulsion}), LEDGE, 12, middle=0.005)


@pytest.mark.slow
def test_strip_finer() -> None:
    curled = STRIP.model_copy(update={"curl_y_per_m": 5.0})
    agree(curled, NARROW, 10, middle=0.005)
    agree(curled.model_copy(update={"emulsion": "up"}), NARROW, 8)
    agree(STRIP, NARROW, 8)
