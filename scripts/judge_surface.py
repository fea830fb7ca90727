"""Judge the film's surface from two scans on simulated pairs of known truth: error, sigma, limits.

    python scripts/judge_surface.py --out out/judge-surface [--pairs 200] [--full 3] [--window 35mm --dpi 600]
    python scripts/judge_surface.py --limits

Each pair's result is one line of ``pairs.jsonl``; a run that was stopped goes on where it ended. The moves of its
windows are kept beside it, and ``--again`` takes the surfaces from them anew, in seconds. ``--limits`` measures
the smallest shift, the flattest content and the largest noise instead; ``--prior`` how far the surfaces of the kept
moves go with another prior of the plate; ``--unknown-lens`` (with ``--again``) judges as for somebody who has not
measured the lens's distance. ``--window`` and ``--dpi`` hold every pair to
one film and resolution (quicker). The table is printed at the end.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import pickle
import sys
import tempfile
import time
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from unittest import mock

import numpy as np
from scipy.interpolate import RegularGridInterpolator

sys.path.insert(0, str(Path(__file__).resolve().parent.parent))

from holders.core.errors import HoldersError
from holders.measure.surface import measure
from holders.measure.surface.ledge import best_ledge
from holders.measure.surface.measure import Gathered, Known, gather, surface_of
from tests.simulators import shifted_pair as simulator

BAND_MM = (2.85, 3.15)  # narrower than most beds', so that the ledge matters
WANTED_MM, WANTED_SHIFT_MM, WANTED_DPI = 0.06, 20.0, 600.0


# film and resolution of the pairs in turn; of a "strip" the frame shows STRIP_MM along the bed with one end of the film
FILMS = (
    ("35mm", 600), ("6x6 strip", 600), ("4x5 strip", 600), ("35mm", 1200), ("8x10 strip", 600), ("35mm", 600),
    ("6x9 strip", 1200), ("35mm", 2400), ("6x6 strip", 600), ("35mm", 600), ("4x5 strip", 600), ("35mm", 1200),
    ("35mm", 600),
)  # fmt: skip
STRIP_MM = 28.0
PRIORS = (0.5, 5.0)


def cases(pairs: int, full: int, first: int = 0) -> Iterator[tuple[str, int, str, int]]:
    """Which pairs: class, number, window and resolution; the full ones in the midst of the others."""
    crops = pairs - full
    for k in range(crops):
        if k == min(100, crops - 1):
            for n in range(full):
                yield ("plain", "moving", "mixed")[n % 3], 1000 + first + n, "8x10", 600
        yield (
            simulator.CLASSES[k % len(simulator.CLASSES)],
            first + k // len(simulator.CLASSES),
            *FILMS[k % len(FILMS)],
        )


def drawn(kind: str, number: int, window: str, dpi: int) -> simulator.ShiftedPair:
    """One pair; a strip moved along the bed would show other film, so that it is a small whole film instead."""
    name, _, part = window.partition(" ")
    if part and kind == "along":
        name, part = "35mm", ""
    case = simulator.draw_case(number, kind, window=name, dpi=dpi)
    if not part:
        return case
    away = case.height_mm - STRIP_MM if number % 2 else 0.0
    return dataclasses.replace(case, height_mm=STRIP_MM, centre_y=case.centre_y - away)


def judge(
    case: simulator.ShiftedPair, kind: str, seen: Path | None = None, *, lens_known: bool = True
) -> dict[str, Any]:
    """Simulate, measure, compare: what came out of one pair. Its moves are kept in ``seen``, and taken from there."""
    truth = simulator.truth(case)
    row: dict[str, Any] = {
        "kind": kind, "shift": float(truth["shift"]), "dpi": case.dpi, "wide": case.surface.width_mm,
        "dip": case.surface.dip_mm, "scans": len(case.poses),
    }  # fmt: skip
    lens = truth["lens_distance"]
    lens = float(lens) if lens_known and np.isfinite(lens) else None
    known = Known(ledge_mm=float(truth["ledge"]), lens_distance_mm=lens)
    try:
        if seen is not None and seen.exists():
            gathered = pickle.loads(seen.read_bytes())  # written by this script
        else:
            gathered, row["seconds"] = matched(case)
            if seen is not None:
                seen.write_bytes(pickle.dumps(gathered))
        found = surface_of(gathered, known)
    except HoldersError as err:
        return row | {"refused": str(err)[:200]}
    return row | compared(found, truth)


def matched(case: simulator.ShiftedPair) -> tuple[Gathered, float]:
    """Scans simulated and matched; how long the matching took, s."""
    with tempfile.TemporaryDirectory() as folder:
        paths = [simulator.write(Path(folder) / f"{k}.tif", case, k) for k in range(len(case.poses))]
        begin = time.perf_counter()
        return gather(paths), round(time.perf_counter() - begin, 1)


def compared(found: Any, truth: dict[str, Any]) -> dict[str, Any]:
    """Errors of the heights against the truth at the same places."""
    at = RegularGridInterpolator((truth["y"], truth["x"]), truth["z"], bounds_error=False)
    yy, xx = np.meshgrid(found.y_mm, found.x_mm, indexing="ij")
    true = at(np.stack([yy, xx], axis=-1))
    seen = np.isfinite(true)
    both = seen & found.known
    out: dict[str, Any] = {
        "parallax": bool(found.parallax), "known": float(both.sum() / max(1, seen.sum())), "windows": found.windows,
        "noise_px": found.noise_px, "shift_error": found.shift_mm - float(truth["shift"]), "warnings": found.warnings,
    }  # fmt: skip
    if both.any():
        error, sigma = found.z_mm[both] - true[both], found.sigma_mm[both]
        out |= {
            "rms": float(np.sqrt(np.mean(error**2))), "sigma": float(np.sqrt(np.mean(sigma**2))),
            "worst": float(np.abs(error).max()), "within_two": float(np.mean(np.abs(error) < 2 * sigma)),
            "ledge": ledge_share(found.z_mm[both], true[both]),
            "mean_off": float(error.mean()) / found.sag_sigma_mm[1],
            "lowest_off": float(found.z_mm[both].min() - true[both].min()) / found.sag_sigma_mm[0],
        }  # fmt: skip
    return out


def ledge_share(measured: Any, true: Any) -> float:
    """Of what the truth's own best ledge puts into a sharp band, the share that the measured surface's ledge does."""
    best, ours = best_ledge(true, 0.0, BAND_MM), best_ledge(measured, 0.0, BAND_MM)
    assert best is not None
    assert ours is not None
    moved = true + ours.change_mm
    return float(np.mean((moved >= BAND_MM[0]) & (moved <= BAND_MM[1])) / best.sharp_then)


def pulled(case: simulator.ShiftedPair, seen: Gathered) -> list[float]:
    """How far the surface goes at its worst place, in its own sigma, with the plate's prior times ``PRIORS``."""
    known = Known(ledge_mm=case.surface.ledge_mm, lens_distance_mm=case.lens_distance_mm)
    usual, viewing = surface_of(seen, known), measure._viewing
    far = []
    for factor in PRIORS:

        def other(given: Known, wide: float, factor: float = factor) -> Any:
            view, priors = viewing(given, wide)
            return view, dataclasses.replace(priors, sag=factor * priors.sag)

        with mock.patch.object(measure, "_viewing", other):
            z = surface_of(seen, known).z_mm
        far.append(float(np.nanmax(np.abs(z - usual.z_mm) / usual.sigma_mm)))
    return far


def prior(out: Path, pairs: int, full: int, first: int) -> str:
    """What the plate's prior decides in the pairs whose moves are kept."""
    rows = []
    for kind, number, film, pitch in cases(pairs, full, first):
        kept = out / f"{kind}-{number}.moves"
        if kind not in ("along", "contact_sensor") and kept.exists():
            rows.append(pulled(drawn(kind, number, film, pitch), pickle.loads(kept.read_bytes())))
    table = np.array(rows)
    return "\n".join(
        f"prior of the sag times {factor:g}: the worst place moves by {np.median(far):.2f} sigma (median of {len(far)} "
        f"pairs), {far.max():.2f} at most, more than one in {int((far > 1).sum())}"
        for factor, far in zip(PRIORS, table.T, strict=True)
    )


def limit(row: dict[str, Any]) -> float:
    """Largest rms error that is wanted at this shift, mm."""
    return WANTED_MM * max(1.0, WANTED_SHIFT_MM / abs(row["shift"]))


def table(rows: list[dict[str, Any]]) -> str:
    """What came out, class by class."""
    lines = [
        "| class | pairs | refused | rms mm | worst pair | over limit | within two sigma: pairs by rms, mean, lowest; "
        "places | known | least ledge share |",
        "|---|---|---|---|---|---|---|---|---|",
    ]
    for kind in (*simulator.CLASSES, "all that show heights"):
        some = [
            r
            for r in rows
            if r["kind"] == kind or (kind.startswith("all") and r["kind"] not in ("contact_sensor", "along"))
        ]
        if not some:
            continue
        good = [r for r in some if "rms" in r]
        refused = sum("refused" in r or r.get("parallax") is False for r in some)
        if not good:
            lines.append(f"| {kind} | {len(some)} | {refused} | | | | | |")
            continue
        rms = float(np.sqrt(np.mean([r["rms"] ** 2 for r in good])))
        over = sum(r["rms"] > limit(r) for r in good)
        held = [
            100 * float(np.mean(v))
            for v in (
                [r["rms"] < 2 * r["sigma"] for r in good],
                [abs(r["mean_off"]) < 2 for r in good],
                [abs(r["lowest_off"]) < 2 for r in good],
            )
        ]
        points = float(np.mean([r["within_two"] for r in good]))
        lines.append(
            f"| {kind} | {len(some)} | {refused} | {rms:.3f} | {max(r['rms'] for r in good):.3f} | {over} | "
            f"{held[0]:.0f}, {held[1]:.0f}, {held[2]:.0f} %; {100 * points:.0f} % | "
            f"{100 * float(np.mean([r['known'] for r in good])):.0f} % | "
            f"{100 * min([r['ledge'] for r in good if 'ledge' in r], default=float('nan')):.0f} % |"
        )
    return "\n".join(lines)


def limits() -> Iterator[tuple[str, float, simulator.ShiftedPair]]:
    """One setting at a time from a plain 35 mm frame at 600 dpi, ever harder."""
    plain = simulator.draw_case(3, "plain", window="35mm", dpi=600)
    second = dataclasses.replace(plain.poses[1], shift_mm=20.0)
    plain = dataclasses.replace(
        plain, poses=(plain.poses[0], second), centre_x=-10.0, left=-31.0, width_mm=62.0, content="picture"
    )  # fmt: skip
    for shift in (20.0, 12.0, 8.0, 6.0, 5.0, 4.2):
        yield (
            "shift mm",
            shift,
            dataclasses.replace(plain, poses=(plain.poses[0], dataclasses.replace(second, shift_mm=shift))),
        )
    for grain in (0.05, 0.02, 0.01, 0.005, 0.002, 0.001, 0.0005):
        yield "grain of a plain sky", grain, dataclasses.replace(plain, content="sky", grain=grain)
    for noise in (0.005, 0.01, 0.02, 0.04, 0.08, 0.16, 0.32):
        yield (
            "noise at white",
            noise,
            dataclasses.replace(
                plain, sensor=dataclasses.replace(plain.sensor, noise=noise, read_noise=noise / 5)
            ),
        )


def main() -> None:
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--out", type=Path, default=Path("out/judge-surface"))
    parser.add_argument("--pairs", type=int, default=200)
    parser.add_argument("--full", type=int, default=3)
    parser.add_argument(
        "--first", type=int, default=0, help="number of each class's first pair: others are other films"
    )
    parser.add_argument("--window", choices=list(simulator.WINDOWS))
    parser.add_argument("--dpi", type=int)
    parser.add_argument("--limits", action="store_true")
    parser.add_argument("--again", action="store_true")
    parser.add_argument("--prior", action="store_true")
    parser.add_argument("--unknown-lens", action="store_true", help="nobody knows the lens's distance")
    asked = parser.parse_args()
    asked.out.mkdir(parents=True, exist_ok=True)
    if asked.limits:
        print("| setting | value | rms mm | sigma mm | known |\n|---|---|---|---|---|")
        for name, value, case in limits():
            r = judge(case, "plain")
            words = (
                r.get("refused") or f"{r['rms']:.3f} | {r['sigma']:.3f} | {100 * r['known']:.0f} %"
                if "rms" in r or "refused" in r
                else "nothing known"
            )
            print(f"| {name} | {value:g} | {words} |", flush=True)
        return
    if asked.prior:
        print(prior(asked.out, asked.pairs, asked.full, asked.first))
        return
    store = asked.out / "pairs.jsonl"
    if asked.again:
        store.unlink(missing_ok=True)
    rows = [json.loads(line) for line in store.read_text().splitlines()] if store.exists() else []
    done = {tuple(r["key"]) for r in rows}
    for kind, number, film, pitch in cases(asked.pairs, asked.full, asked.first):
        if (kind, number) in done:
            continue
        seen = asked.out / f"{kind}-{number}.moves"
        if asked.again and not seen.exists():
            continue
        window, dpi = asked.window or film, asked.dpi or pitch
        row = judge(drawn(kind, number, window, dpi), kind, seen, lens_known=not asked.unknown_lens)
        row |= {"key": [kind, number], "film": window}
        rows.append(row)
        with store.open("a") as stream:
            stream.write(json.dumps(row) + "\n")
        print(
            {k: round(v, 3) if isinstance(v, float) else v for k, v in row.items() if k != "warnings"},
            file=sys.stderr,
            flush=True,
        )
    print(table(rows))
    for dpi in sorted({r["dpi"] for r in rows}):
        far = [
            r["rms"] for r in rows if "rms" in r and r["dpi"] == dpi and abs(r["shift"]) >= WANTED_SHIFT_MM
        ]
        if far:
            over = sum(v > WANTED_MM for v in far)
            print(
                f"slid {WANTED_SHIFT_MM:g} mm and more at {dpi} per inch: {len(far)} pairs, "
                f"{float(np.sqrt(np.mean(np.square(far)))):.3f} mm rms, worst {max(far):.3f}, {over} over {WANTED_MM:g}"
            )


if __name__ == "__main__":
    main()
