"""Judge `holders curl` on simulated scans of film stood on edge: within 3 % or 0.05 per m, 95 % within two sigma.

    python -m scripts.judge_curl [--first 0] [--count 200]

The scans come from tests/simulators/edge_scan.py, which was written without a look at the estimator: formats from 35 mm
to 8x10, curl 0.5 to 30 per m, any direction, off the axis, leaning wall, noise, dust, fibres, fingerprints, a bent
corner in one of five, straight ends in another. Scan number N is always the same.
"""

from __future__ import annotations

import argparse
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from holders.core.errors import InputError
from holders.measure.curl.scan import measure_scan
from tests.simulators.edge_scan import EdgeScene, render, write_tiff

# length and width in mm, thickness: strip of 35 mm, roll film, 4x5, 5x7, 8x10
FILMS = (
    (150.0, 35.0, 0.13),
    (90.0, 61.5, 0.13),
    (126.0, 101.0, 0.18),
    (176.0, 126.0, 0.18),
    (252.0, 201.0, 0.18),
)


@dataclass(frozen=True)
class Judged:
    """One scan: whether the curl is near enough, whether it is within two sigma, both in words."""

    good: bool
    inside: bool
    error: float
    words: str


def scene(seed: int) -> EdgeScene:
    """The scene of a number."""
    r = np.random.default_rng(1000 + seed)
    kind = int(r.integers(0, 5))
    long, short, thick = FILMS[int(r.integers(0, 5))]
    length, height = (long, short) if r.random() < 0.5 else (short, long)
    low = 0.5 if r.random() < 0.2 else 2.0
    curl = float(np.exp(r.uniform(np.log(low), np.log(min(30.0, 3500 / length)))))
    turned = r.uniform(-180, 180) if r.random() < 0.4 else 90 * r.integers(0, 2) + r.normal(0, 5)
    more: dict[str, float] = {}
    if kind == 1:
        more = {"bent_mm": r.uniform(4, 12), "bent_per_m": r.choice([-1, 1]) * r.uniform(40, 100)}
    if kind == 2:
        more = {
            "straight_start_mm": r.uniform(0, 0.25) * length,
            "straight_end_mm": r.uniform(0, 0.25) * length,
        }
    return EdgeScene(
        curl_per_m=curl, length_mm=length, height_mm=height, thickness_mm=thick, side=int(r.choice([-1, 1])),
        angle_deg=float(turned), off_axis_mm=float(r.normal(0, 20)), lean_deg=float(r.normal(0, 2)),
        dpi=300.0 if length > 150 else float(r.choice([300, 600])), noise=float(r.uniform(0.003, 0.015)),
        dust=int(r.integers(0, 120)), fibres=int(r.integers(0, 10)), fingerprints=int(r.integers(0, 3)),
        background=float(r.uniform(0.005, 0.03)), gradient=float(r.uniform(0, 0.04)),
        light=float(r.uniform(0.25, 0.8)), wall=float(r.uniform(0.03, 0.2)), falloff_mm=float(r.uniform(8, 25)),
        gamma=float(r.choice([1.0, 2.2, 2.2])), bits=int(r.choice([8, 16])), rgb=bool(r.random() < 0.3),
        blur_px=float(r.uniform(0.5, 1.2)), seed=seed, **{k: float(v) for k, v in more.items()},
    )  # fmt: skip


def judged(seed: int, folder: Path) -> Judged:
    """Render, measure and compare one scan."""
    edge = scene(seed)
    file = folder / "judged.tif"
    write_tiff(file, render(edge), compressed=seed % 2 == 1)
    head = f"{seed}: {edge.length_mm:.0f} mm at {edge.angle_deg:.0f} deg, curl {edge.curl_per_m:.3f}"
    try:
        found = measure_scan(file).result
    except InputError as refused:
        return Judged(False, False, float("nan"), f"{head}: refused: {refused}")
    error = found.curl_per_m - edge.curl_per_m
    good = abs(error) <= max(0.05, 0.03 * edge.curl_per_m)
    inside = abs(error) <= 2 * found.sigma
    parts = ", ".join(f"{p.kind} {p.length_mm:.0f}" for p in found.parts)
    return Judged(good, inside, error, f"{head}: found {found.curl_per_m:.3f} ± {found.sigma:.3f} ({parts})")


def main() -> int:
    asked = argparse.ArgumentParser(description="Judge holders curl on simulated scans.")
    asked.add_argument("--first", type=int, default=0)
    asked.add_argument("--count", type=int, default=200)
    options = asked.parse_args()
    found = []
    with tempfile.TemporaryDirectory() as folder:
        for seed in range(options.first, options.first + options.count):
            found.append(judged(seed, Path(folder)))
            mark = "" if found[-1].good and found[-1].inside else "  <<<"
            print(f"{found[-1].words}{mark}", flush=True)
    errors = np.abs([f.error for f in found])
    good, inside = sum(f.good for f in found), sum(f.inside for f in found)
    print(f"{len(found)} scans: {good} within 3 % or 0.05 per m, {inside} within two sigma")
    middle, most = np.nanmedian(errors), np.nanmax(errors)
    print(f"error: median {middle:.4f}, 95 % {np.nanquantile(errors, 0.95):.4f}, most {most:.4f} per m")
    return 0 if good == len(found) and inside >= 0.95 * len(found) else 1


if __name__ == "__main__":
    sys.exit(main())
