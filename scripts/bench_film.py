"""How fast the film surface is: against a general finite-element code on the same cases, and by itself.

Both codes solve the same sheet and may use its double symmetry. "At 1 %" is measured, not assumed: each code runs at
its coarsest setting whose middle, edge middles and corner lie within 1 % of the greatest deflection of its own fine
solution; "agree" is how far the two then are from each other. New: the first film of its size, all matrices built;
known: its size was asked for before, as in a range study. Ours looks for all branches and judges stability in every
symmetry class, the finite elements do not. Least processor time of three runs on one thread, for either.

Run from the project root: ``OMP_NUM_THREADS=1 python scripts/bench_film.py``
"""

from __future__ import annotations

import importlib.util
import os
import sys
import time
from collections.abc import Callable
from functools import partial
from pathlib import Path
from types import ModuleType

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402
from bench_rows import row  # noqa: E402

from holders.film.band import Band, Picture  # noqa: E402
from holders.film.models import Kind, Lips, Sheet, Support  # noqa: E402
from holders.film.ranges import Span, Unknowns, study  # noqa: E402
from holders.film.solver import basis, contact, lines, membrane, plate  # noqa: E402
from holders.film.surface import solve_surface  # noqa: E402

FINE_DEGREE, DEGREES = 20, (6, 8, 10, 12, 16)
FINE_MESH, MESHES = 14, (2, 3, 4, 5, 6, 8, 10, 12)
BIG = Sheet(
    width_mm=203, height_mm=254, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
)
SMALL = BIG.model_copy(update={"width_mm": 101.0, "height_mm": 126.0})
STRIP = Sheet(
    width_mm=228,
    height_mm=35,
    thickness_mm=0.135,
    modulus_mpa=3800,
    poisson=0.38,
    density_kg_m3=1290,
    curl_y_per_m=5.0,
)
LEDGE = Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0))
CASES = (
    ("8x10 loose on its ledge", BIG, LEDGE),
    ("8x10 gripped and held", BIG, Support(kind=Kind.GRIPPED_HELD, lips=Lips.all_round(4.0))),
    (
        "4x5 loose, curl 1/m, emulsion up",
        SMALL.model_copy(update={"curl_x_per_m": 1.0, "emulsion": "up"}),
        LEDGE,
    ),
    ("4x5 loose, curl 2/m, emulsion down", SMALL.model_copy(update={"curl_x_per_m": 2.0}), LEDGE),
    ("35 mm strip loose, curl 5/m across", STRIP, Support(kind=Kind.LEDGE, lips=Lips.all_round(2.0))),
)


def reference() -> ModuleType:
    path = ROOT / "tests" / "film" / "fem_reference.py"
    spec = importlib.util.spec_from_file_location("film_fem_reference", path)
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


def forget() -> None:
    for remembered in (
        plate.assemble,
        membrane.stress_modes,
        lines.film_line,
        lines.stress_line,
        lines.spread,
        basis.build,
        basis.unit_modes,
        basis.quadrature,
        contact.net,
        contact.part_rows,
    ):
        remembered.cache_clear()


def least(run: Callable[[], object], times: int, before: Callable[[], None] = lambda: None) -> float:
    best = float("inf")
    for _ in range(times):
        before()
        start = time.process_time()
        run()
        best = min(best, time.process_time() - start)
    return best


def ours(sheet: Sheet, support: Support, degree: int) -> np.ndarray:
    """Deflection at the middle, two edge middles and a corner."""
    s = solve_surface(sheet, support, resolution=degree)
    w, mid_y, mid_x = s.deflection, len(s.y) // 2, len(s.x) // 2
    return np.array([w[mid_y, mid_x], w[mid_y, 0], w[0, mid_x], w[0, 0]])


def theirs(fem: ModuleType, sheet: Sheet, support: Support, mesh: int) -> np.ndarray:
    r = fem.solve(sheet, support, inside=mesh)
    x, y = sheet.width_mm / 2, sheet.height_mm / 2
    return np.array([r.centre_mm, r.at(x, 0), r.at(0, y), r.at(x, y)])


def coarsest(solve: Callable[[int], np.ndarray], settings: tuple[int, ...], fine: np.ndarray) -> int:
    size = np.abs(fine).max()
    return next((n for n in settings if np.abs(solve(n) - fine).max() < 0.01 * size), settings[-1])


def bench(fem: ModuleType, name: str, sheet: Sheet, support: Support) -> float:
    """One line of the table; returns the ratio for a new film."""
    mine, fe = partial(ours, sheet, support), partial(theirs, fem, sheet, support)
    fine_mesh = FINE_MESH if sheet.width_mm < 2 * sheet.height_mm else 10
    degree = coarsest(mine, DEGREES, mine(FINE_DEGREE))
    mesh = coarsest(fe, MESHES, fe(fine_mesh))
    agree = np.abs(mine(degree) - fe(mesh)).max() / np.abs(mine(degree)).max()
    slow = least(partial(fe, mesh), 3)
    new, known = least(partial(mine, degree), 3, forget), least(partial(mine, degree), 3)
    standard = least(partial(mine, 12), 3)
    print(
        f"{name:36}{degree:7d}{1e3 * new:8.1f}{1e3 * known:8.1f}{1e3 * standard:9.1f}{mesh:6d}{slow:7.2f}"
        f"{slow / new:11.0f}{slow / known:13.0f}{100 * agree:8.2f}%"
    )
    return slow / new


def main() -> int:
    fem = reference()
    print(f"{'':36}{'at 1 %: ours':>23}{'std.':>9}{'finite elem.':>13}{'times as fast':>24}")
    print(
        f"{'case':36}{'degree':>7}{'new ms':>8}{'known':>8}{'known ms':>9}{'mesh':>6}{'s':>7}{'new':>11}{'known':>13}"
        f"{'agree':>9}"
    )
    ratios = [bench(fem, *case) for case in CASES]
    picture, band = Picture(8.0, 8.0, 187.0, 238.0), Band(2.5, 3.5)
    curls = Unknowns(
        Span(0.175, 0.205), Span(4000, 5000), Span(-0.5, 1.0), Span(-0.5, 0.5), Span(30, 60), 50, -0.03
    )
    flat = Unknowns(Span(0.175, 0.205), Span(4000, 5000), Span(0, 0), Span(0, 0))
    for label, unknowns in (("curled both ways, humidity", curls), ("no curl", flat)):
        seconds = least(
            lambda: study(BIG, LEDGE, unknowns, picture, band, refractive_index=1.64, min_gap_mm=0.3),  # noqa: B023
            2,
            forget,
        )
        print(f"range study of the 8x10 sheet, {label}: {seconds:.2f} s")
        if unknowns is curls:
            row("range study of an 8x10 film", f"{seconds:.2f} s", "below 1 s")
    print(f"cases below 100 times for a new film: {sum(r < 100 for r in ratios)} of {len(ratios)}")
    row(
        "one film surface at 1 %, new film: times as fast as finite elements on the same case",
        f"{min(ratios):.0f} to {max(ratios):.0f}",
        "at least 100",
    )
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
