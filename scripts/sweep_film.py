"""Random films, curls and supports: how long the surface takes at worst, and how many are refused.

Films from a 35 mm strip to a large sheet, curled up to 5 per m both ways (roll film more, across), loose on lips even
and uneven or on two of them only, under a lid, a cover, a grip. A refusal (no equilibrium within the bounds) is
an answer that a design passes on as a finding; anything else that is raised counts as a fault.

Run from the project root: ``OMP_NUM_THREADS=1 python scripts/sweep_film.py [how many] [seed]``
"""

from __future__ import annotations

import os
import sys
import time
from dataclasses import dataclass
from pathlib import Path

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
sys.path.insert(0, str(Path(__file__).resolve().parents[1]))

import numpy as np  # noqa: E402

from holders.core.errors import NotConverged  # noqa: E402
from holders.film.models import Kind, Lips, Sheet, Support  # noqa: E402
from holders.film.solver.interior import Effort  # noqa: E402
from holders.film.surface import EFFORT, solve_surface  # noqa: E402

# width, height, thickness, modulus, density, greatest curl: mm, MPa, kg/m3, 1/m
FILMS = (
    (34.98, 228.0, 0.13, 3800.0, 1290.0, 21.0),
    (61.5, 178.0, 0.10, 3800.0, 1290.0, 21.0),
    (100.0, 125.0, 0.19, 4500.0, 1390.0, 8.0),
    (126.0, 176.0, 0.19, 4500.0, 1390.0, 8.0),
    (202.0, 253.0, 0.19, 4500.0, 1390.0, 8.0),
)
EXTREME = 5.0  # 1/m, both ways
SLOW = 0.5  # seconds


@dataclass(frozen=True)
class Case:
    """One random sheet on its support."""

    sheet: Sheet
    support: Support

    def __str__(self) -> str:
        s, p, lips = self.sheet, self.support, self.support.lips
        return (
            f"{s.width_mm:g} x {s.height_mm:g} mm, t {s.thickness_mm:.3f}, "
            f"curl {s.curl_x_per_m:.2f} {s.curl_y_per_m:.2f}, {s.emulsion}, "
            f"{p.kind.value} at {p.ledge_height_mm:.2f} mm, "
            f"lips {lips.left_mm:.1f} {lips.right_mm:.1f} {lips.head_mm:.1f} {lips.foot_mm:.1f}"
        )


def drawn(rng: np.random.Generator) -> Case:
    """One case."""
    width, height, thickness, modulus, density, most = FILMS[rng.integers(len(FILMS))]
    if rng.random() < 0.5:
        width, height = height, width
    across = float(rng.uniform(-0.3 * most, most))
    curls = (across, 0.0) if width < height else (0.0, across)
    if rng.random() < 0.5:
        both = rng.uniform(-EXTREME, EXTREME, 2)
        curls = (float(both[0]), float(both[1]))
    sheet = Sheet(
        width_mm=width,
        height_mm=height,
        thickness_mm=thickness * float(rng.uniform(0.8, 1.2)),
        modulus_mpa=modulus * float(rng.uniform(0.8, 1.2)),
        poisson=0.38,
        density_kg_m3=density,
        curl_x_per_m=curls[0],
        curl_y_per_m=curls[1],
        emulsion="up" if rng.random() < 0.5 else "down",
    )
    kind = rng.choice(
        np.array([Kind.LEDGE, Kind.LEDGE, Kind.LEDGE, Kind.LID, Kind.LID, Kind.COVER, Kind.GRIPPED])
    )
    return Case(
        sheet,
        Support(
            kind=kind,
            ledge_height_mm=float(rng.uniform(2.0, 5.0)),
            lips=_lips(rng),
            lid_play_mm=float(rng.uniform(0.05, 0.4)),
        ),
    )


def _lips(rng: np.random.Generator) -> Lips:
    """All round alike, a wider lip on one edge, all different, or on two opposite edges only."""
    a, b, c, d = (float(v) for v in rng.uniform(1.5, 5.0, 4))
    way = rng.integers(6)
    if way < 2:
        return Lips.all_round(a)
    if way == 2:
        return Lips(left_mm=a, right_mm=b, head_mm=a, foot_mm=a)
    if way == 3:
        return Lips(left_mm=a, right_mm=b, head_mm=c, foot_mm=d)
    if way == 4:
        return Lips(left_mm=a, right_mm=a)
    return Lips(head_mm=a, foot_mm=a)


@dataclass(frozen=True)
class Told:
    """What a sweep tells: processor seconds and work of each film, numbers of those refused, how many faults.

    Work is in billions of multiplications, as the solver counts it: the same on every machine.
    """

    seconds: list[float]
    work: list[float]
    refused: list[int]
    faults: int


def swept(count: int, seed: int) -> Told:
    """Solve so many random films; each that is refused, at fault or slow is printed."""
    rng = np.random.default_rng(seed)
    seconds: list[float] = []
    work: list[float] = []
    refused: list[int] = []
    faults = 0
    for number in range(count):
        case = drawn(rng)
        start, outcome, effort = time.process_time(), "", Effort(EFFORT)
        try:
            solve_surface(case.sheet, case.support, effort=effort)
        except NotConverged as error:
            refused.append(number)
            outcome = f"refused: {error}"
        except Exception as error:
            faults += 1
            outcome = f"FAULT: {error!r}"
        seconds.append(time.process_time() - start)
        work.append(EFFORT - effort.left)
        if outcome or seconds[-1] > SLOW:
            print(f"{number:4d} {seconds[-1]:6.2f} s  {case}  {outcome}", flush=True)
    return Told(seconds, work, refused, faults)


def main() -> int:
    """Sweep and tell."""
    count = int(sys.argv[1]) if len(sys.argv) > 1 else 100
    told = swept(count, int(sys.argv[2]) if len(sys.argv) > 2 else 1)
    spent = np.array(told.seconds)
    print(
        f"{count} films: median {1e3 * np.median(spent):.0f} ms, 95 % within {1e3 * np.quantile(spent, 0.95):.0f} ms, "
        f"worst {spent.max():.2f} s; refused {len(told.refused)} ({100 * len(told.refused) / count:.1f} %), "
        f"faults {told.faults} (processor time)"
    )
    return 1 if told.faults else 0


if __name__ == "__main__":
    raise SystemExit(main())
