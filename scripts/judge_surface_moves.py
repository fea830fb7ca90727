"""Judge the film's surface on exact moves of simulated pairs: the geometry without the pictures, many pairs in minutes.

    python scripts/judge_surface_moves.py [--pairs 200] [--films 50 [--first 0] [--images]]
    python scripts/judge_surface_moves.py --causes 60 --first 20000

A pair is drawn as ``judge_surface.py`` draws it; its windows move as the simulator says, with noise as registration
leaves it (measured on pictures: 0.01 to 0.02 px) and rows that wobble. ``--films`` are computed surfaces of a shipped
holder at curls drawn by their chance: the ledge that follows from the measured one is held against the ledge that the
truth asks for, and against the ledge of the usual film. With ``--images`` the films are scanned and matched.
"""

from __future__ import annotations

import argparse
import dataclasses
import sys
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from scipy.interpolate import RegularGridInterpolator

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from holders.core.errors import HoldersError
from holders.design.held.curl_shapes import curl_shapes
from holders.measure.surface.ledge import best_ledge
from holders.measure.surface.measure import Gathered, Known, surface_of
from holders.measure.surface.opening import BORDER_MM, Opening, Side
from holders.measure.surface.search import Moves2D
from holders.study import study_file
from scripts.judge_surface import WANTED_MM, WANTED_SHIFT_MM, compared, matched, table
from tests.simulators import shifted_pair as simulator
from tests.simulators.film_surface import draw_rim

PRESETS = Path(__file__).resolve().parent.parent / "presets"
NOISE_PX = 0.02
WINDOWS = 1200
OWN_WOBBLE, SHARED_WOBBLE = (
    0.4,
    0.2,
)  # of a pose's wobble that the mean over a window keeps; of the one all scans share
KINDS = tuple(k for k in simulator.CLASSES if k not in ("contact_sensor", "along"))
HOLDERS = (("4x5-insert", 25.0), ("8x10-one-board", 10.0))  # and how far it is slid, mm


def opening_of(case: simulator.ShiftedPair) -> Opening:
    """The window in the first scan; a side that leaves the scan is not seen."""
    left, top, right, bottom = simulator.truth(case, 4.0)["window"]
    ends = ((left, right, case.width_mm), (top, bottom, case.height_mm))
    sides = []
    for low, high, size in ends:
        sides += [
            Side(max(low, 0.0), 0.0, low > BORDER_MM),
            Side(min(high, size), 0.0, high < size - BORDER_MM),
        ]
    return Opening(*sides)


def moves(case: simulator.ShiftedPair, index: int, random: np.random.Generator) -> Moves2D:
    """Moves of places in the first scan to scan ``index``."""
    left, right, top, bottom = opening_of(case).box
    rim = 1.5
    step = max(1.5, float(np.sqrt((right - left - 2 * rim) * (bottom - top - 2 * rim) / WINDOWS)))
    nx, ny = (max(2, int((b - a - 2 * rim) / step) + 1) for a, b in ((left, right), (top, bottom)))
    x, y = (
        v.ravel()
        for v in np.meshgrid(
            np.linspace(left + rim, right - rim, nx), np.linspace(top + rim, bottom - rim, ny)
        )
    )
    fx, fy, _, _ = case.looks_at(case.poses[0], x, y)
    sx, sy = case.seen_at(case.poses[index], fx, fy)
    sigma = np.full(len(x), NOISE_PX * 25.4 / min(case.dpi, 1200))
    rows = sum(
        size * random.standard_normal(ny)
        for size in (
            *(OWN_WOBBLE * case.poses[k].wobble_mm for k in (0, index)), SHARED_WOBBLE * case.wobble_mm
        )
    )  # fmt: skip
    u = sx - x + sigma * random.standard_normal(len(x)) + np.repeat(rows, nx)
    v = sy - y + sigma * random.standard_normal(len(x))
    return Moves2D(x, y, u, v, sigma, sigma).at((sx > 1) & (sx < case.width_mm - 1))


def gathered(case: simulator.ShiftedPair, seed: int) -> Gathered:
    """What matching the scans would find."""
    random = np.random.default_rng([seed, 31])
    back = moves(case, 2, random) if len(case.poses) > 2 else None
    pitch = 25.4 / case.dpi
    return Gathered(
        opening_of(case), moves(case, 1, random), back, (case.width_mm, case.height_mm), (pitch, pitch), ()
    )


def measured(case: simulator.ShiftedPair, seed: int, *, images: bool = False) -> tuple[Any, dict[str, Any]]:
    """The surface of a case, by its exact moves or through its scans, and its truth."""
    truth = simulator.truth(case)
    known = Known(ledge_mm=float(truth["ledge"]), lens_distance_mm=float(truth["lens_distance"]))
    return surface_of(matched(case)[0] if images else gathered(case, seed), known), truth


@dataclass(frozen=True)
class Computed:
    """A computed surface as the simulator takes it: ``above_mm`` over the window on even cells, and a rim."""

    width_mm: float
    height_mm: float
    ledge_mm: float
    above_mm: Any
    rim: Any

    def height(self, x_mm: Any, y_mm: Any) -> Any:
        """Height above the glass at places from the window's centre."""
        shape = np.broadcast_shapes(np.shape(x_mm), np.shape(y_mm))
        n = np.linspace(-1, 1, len(self.above_mm))
        u = np.clip(x_mm * (2 / self.width_mm), -1, 1)
        v = np.clip(y_mm * (2 / self.height_mm), -1, 1)
        u, v = np.broadcast_to(u, shape), np.broadcast_to(v, shape)
        at = RegularGridInterpolator((n, n), self.above_mm)(np.stack([v, u], axis=-1))
        return np.reshape(self.ledge_mm + at + self.rim.height(x_mm, y_mm), shape)


def film_pair(seed: int) -> tuple[simulator.ShiftedPair, Any, float]:
    """A film of a shipped holder at a drawn curl, as a pair; the usual film's surface; the curl."""
    random = np.random.default_rng([seed, 41])
    name, slide = HOLDERS[seed % len(HOLDERS)]
    found = study_file(PRESETS / f"{name}.toml")
    shapes = curl_shapes(found.film.sag)
    base = found.job.base
    curl = float(random.triangular(base.curl_low_per_m, base.curl_per_m, base.curl_high_per_m))
    above = shapes.at(curl)[0] + shapes.of_base(curl, float(random.uniform(0.1, 0.9)))
    o, ledge = found.design.windows[0].opening, found.design.heights.sharp_plane
    drawn = simulator.draw_case(seed, "moving", window="8x10" if o.width > 150 else "4x5", dpi=600)
    flat = dataclasses.replace(
        drawn.surface, middle_mm=0.0, saddle_mm=0.0, ripple_mm=0.0, lift_mm=0.0, ledge_mm=0.0
    )
    rim = dataclasses.replace(flat, width_mm=o.width, height_mm=o.height, rim=draw_rim(random, 0.02))
    surface: Any = Computed(o.width, o.height, ledge, above, rim)
    pose = dataclasses.replace(drawn.poses[1], shift_mm=slide)
    case = dataclasses.replace(
        drawn, surface=surface, centre_x=-slide / 2, centre_y=o.height / 2 + 3,
        poses=(drawn.poses[0], pose, *drawn.poses[2:]),
        left=-slide / 2 - o.width / 2 - 3, width_mm=o.width + slide + 6, height_mm=o.height + 6,
    )  # fmt: skip
    return case, found, curl


def films(count: int, first: int = 0, *, images: bool = False) -> str:
    """The table of ledges from measured, and from predicted, surfaces."""
    shares: list[tuple[str, float, float, float]] = []
    for seed in range(first, first + count):
        case, found, curl = film_pair(seed)
        heights = found.design.heights
        band = (heights.band_low, heights.band_high)
        result, truth = measured(case, seed, images=images)
        at = RegularGridInterpolator((truth["y"], truth["x"]), truth["z"], bounds_error=False)
        yy, xx = np.meshgrid(result.y_mm, result.x_mm, indexing="ij")
        true = at(np.stack([yy, xx], axis=-1))
        both = np.isfinite(true) & result.known
        best, ours = best_ledge(true[both], 0.0, band), best_ledge(result.z_mm[both], 0.0, band)
        assert best is not None
        assert ours is not None
        then = [
            np.mean((true[both] + d >= band[0]) & (true[both] + d <= band[1])) for d in (ours.change_mm, 0.0)
        ]
        error = float(np.sqrt(np.mean((result.z_mm[both] - true[both]) ** 2)))
        shares.append(
            (
                HOLDERS[seed % len(HOLDERS)][0],
                float(then[0] / best.sharp_then),
                float(then[1] / best.sharp_then),
                error,
            )
        )
        print(f"{seed} curl {curl:.2f}: {shares[-1]}", file=sys.stderr, flush=True)
    lines = [
        "| holder | films | error mm | least share: measured | predicted | below 95 %: measured | predicted |",
        "|---|---|---|---|---|---|---|",
    ]
    for name, _ in HOLDERS:
        a = np.array([row[1:] for row in shares if row[0] == name])
        if len(a):
            lines.append(
                f"| {name} | {len(a)} | {np.sqrt(np.mean(a[:, 2] ** 2)):.3f} | {100 * a[:, 0].min():.0f} % | "
                f"{100 * a[:, 1].min():.0f} % | {(a[:, 0] < 0.95).sum()} | {(a[:, 1] < 0.95).sum()} |"
            )
    return "\n".join(lines)


def without(case: simulator.ShiftedPair, *causes: str) -> simulator.ShiftedPair:
    """The pair without some causes of error: "movement" of the film, its "rim" off the ledge, the holder's "lean"."""
    if "movement" in causes:
        case = dataclasses.replace(
            case, poses=tuple(dataclasses.replace(p, film_moved_mm=0.0) for p in case.poses)
        )
    if "lean" in causes:
        case = dataclasses.replace(
            case, poses=tuple(dataclasses.replace(p, rise_mm=0.0, tilt_x=0.0, tilt_y=0.0) for p in case.poses)
        )
    return (
        dataclasses.replace(case, surface=dataclasses.replace(case.surface, rim=()))
        if "rim" in causes
        else case
    )


def causes(count: int, first: int) -> str:
    """The table of what the error consists of, over pairs slid 20 mm and more: each cause left out in turn."""
    left_out = ((), ("movement",), ("rim",), ("movement", "rim"), ("movement", "rim", "lean"))
    errors: dict[tuple[str, ...], list[float]] = {some: [] for some in left_out}
    number = first
    while len(errors[()]) < count:
        case = simulator.draw_case(number, KINDS[number % len(KINDS)])
        number += 1
        if abs(case.poses[1].shift_mm) >= WANTED_SHIFT_MM:
            for some, all_errors in errors.items():
                all_errors.append(float(compared(*measured(without(case, *some), number))["rms"]))
    lines = ["| without | error mm | worst pair | over what is wanted |", "|---|---|---|---|"]
    for some, all_errors in errors.items():
        a = np.array(all_errors)
        over = int((a > WANTED_MM).sum())
        lines.append(
            f"| {', '.join(some) or '-'} | {np.sqrt(np.mean(a**2)):.3f} | {a.max():.3f} | {over} of {count} |"
        )
    return "\n".join(lines)


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--pairs", type=int, default=200)
    parser.add_argument("--films", type=int, default=0)
    parser.add_argument("--first", type=int, default=0, help="number of the first film, or pair")
    parser.add_argument("--causes", type=int, default=0, help="what the error of so many pairs consists of")
    parser.add_argument(
        "--images", action="store_true", help="films through simulated scans, not by exact moves"
    )
    asked = parser.parse_args()
    if asked.causes:
        print(causes(asked.causes, asked.first))
        return
    rows: list[dict[str, Any]] = []
    for k in range(asked.pairs):
        kind, number = KINDS[k % len(KINDS)], k // len(KINDS)
        case = simulator.draw_case(number, kind)
        row = {"kind": kind, "shift": case.poses[1].shift_mm, "key": [kind, number]}
        try:
            rows.append(row | compared(*measured(case, k)))
        except HoldersError as err:
            rows.append(row | {"refused": str(err)})
    if rows:
        print(table(rows))
        far = [r["rms"] for r in rows if "rms" in r and abs(r["shift"]) >= 20]
        rms = float(np.sqrt(np.mean(np.square(far))))
        print(f"slid 20 mm and more: {len(far)} pairs, {rms:.3f} mm rms, worst {max(far):.3f}", flush=True)
    if asked.films:
        print(films(asked.films, asked.first, images=asked.images))


if __name__ == "__main__":
    main()
