"""Judge `focus` by scans of a simulator written apart from it (tests/simulators/slope_scan.py), and print a table.

    python scripts/judge_focus.py --scans 40 --keep out/judge_focus.jsonl

Forty scans of each class, by default, from seed 0 on; the estimate was made with scans of seeds from 10000 on. Each
result is kept as a line of the file, so that a run which was stopped goes on where it was. ``--bare`` says nothing of
the target; without it the measurement is told what a careful user knows: a ruler that sags is of acrylic, of a
thickness read to 5 %, on a span as long as the run; a film that is not held is film; everything else lies straight.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

import holders  # noqa: E402, F401 - sets the number of threads before numpy is loaded
from holders.core.errors import InputError  # noqa: E402
from holders.facts.tables import target  # noqa: E402
from holders.measure.slope.geometry import SlopeGeometry  # noqa: E402
from holders.measure.slope.measure import measure_focus  # noqa: E402
from holders.measure.slope.target.shape import TargetShape, beam_sag  # noqa: E402
from tests.simulators import slope_scan  # noqa: E402

NEAR_MM = 0.1


def shape_known(facts: dict[str, Any], seed: int) -> TargetShape:
    """What a careful user knows of the target's shape."""
    sag = facts["case"]["sag_mm"]
    if sag == 0.0 and facts["case"]["trough_mm"] == 0.0:
        return TargetShape("flat")
    if sag <= 0.0:
        return TargetShape("film")
    row = target("acrylic-ruler")
    thick = (beam_sag(1.0, facts["run"], row.density_kg_m3, row.modulus_mpa) / sag) ** 0.5
    read = thick * (1.0 + 0.05 * float(np.random.default_rng(seed).standard_normal()))
    return TargetShape("acrylic-ruler", max(0.03, read), facts["run"])


def judge_one(kind: str, seed: int, *, bare: bool = False) -> dict[str, Any]:
    """Measure one simulated scan; what came of it, as plain data."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.tif"
        facts = slope_scan.write(path, seed, kind)
        row: dict[str, Any] = {
            "kind": kind, "seed": seed, "target": facts["target"], "inside": facts["inside"],
            "truth": facts["height"], "spread": facts["spread"],
        }  # fmt: skip
        slope = SlopeGeometry(
            rise_mm=facts["rise"],
            run_mm=facts["run"],
            start_height_mm=facts["start_height"],
            reverse=facts["reverse"],
        )
        try:
            found = measure_focus([path], geometry=slope, shape=None if bare else shape_known(facts, seed))
        except InputError as refusal:
            return {**row, "refused": str(refusal)}
    sharp = found.resolution
    return {
        **row, "error": found.height - facts["height"], "sigma": found.height_sigma, "at_edge": found.at_edge,
        "confidence": found.confidence, "warnings": list(found.warnings), "by": found.judged_by,
        "mtf50": None if sharp is None else sharp.mtf50_lp_mm, "lens_mtf50": facts["lens_mtf50_lp_mm"],
        "sharpened": facts["sharpened"], "band": found.band,
    }  # fmt: skip


def table(rows: list[dict[str, Any]]) -> str:
    """The table of all classes, and how far the confidence can be believed."""
    head = (
        "class          scans refused  end  wrong end  error med   p90  sigma med  in 2 sigma  >0.1 unwarned"
    )
    lines = [head]
    everything: list[dict[str, Any]] = []
    for kind in slope_scan.CLASSES:
        some = [r for r in rows if r["kind"] == kind]
        if not some:
            continue
        told = [r for r in some if "error" in r]
        good = [r for r in told if r["inside"] and not r["at_edge"]]
        wrong = [r for r in told if r["at_edge"] == r["inside"]]
        missed = [r for r in told if not r["inside"] and not r["at_edge"]]
        everything += good + missed
        lines.append(_line(kind, some, told, good + missed, wrong))
    lines.append(_line("all", rows, [r for r in rows if "error" in r], everything, []))
    return "\n".join([*lines, "", *_confidence(everything)])


def _line(kind: str, some: list[Any], told: list[Any], good: list[Any], wrong: list[Any]) -> str:
    ends = sum(r["at_edge"] for r in told)
    head = f"{kind:14s} {len(some):5d} {len(some) - len(told):7d} {ends:4d} {len(wrong):10d} "
    if not good:
        return head
    error = np.array([abs(r["error"]) for r in good])
    sigma = np.array([r["sigma"] for r in good])
    bad = sum(abs(r["error"]) > NEAR_MM and not r["warnings"] for r in good)
    inside = f"{100 * float((error <= 2 * sigma).mean()):9.1f} %"
    return f"{head}{np.median(error):10.4f} {np.percentile(error, 90):6.3f} {np.median(sigma):9.4f} {inside} {bad:10d}"


def _confidence(rows: list[dict[str, Any]]) -> list[str]:
    order = sorted(rows, key=lambda r: r["confidence"])
    lines = ["confidence, fifth by fifth: said, and within 0.1 mm"]
    for part in np.array_split(np.arange(len(order)), 5):
        if len(part):
            said = float(np.mean([order[i]["confidence"] for i in part]))
            true = float(np.mean([abs(order[i]["error"]) <= NEAR_MM for i in part]))
            lines.append(f"  {100 * said:5.1f} %  {100 * true:5.1f} %  ({len(part)} scans)")
    return lines


def main() -> None:
    """Run what is missing and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--scans", type=int, default=40, help="of each class")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--keep", type=Path, default=ROOT / "out" / "judge_focus.jsonl")
    parser.add_argument("--kind", action="append", choices=slope_scan.CLASSES, help="only this class")
    parser.add_argument("--bare", action="store_true", help="say nothing of the target")
    args = parser.parse_args()
    args.keep.parent.mkdir(parents=True, exist_ok=True)
    rows = [json.loads(line) for line in args.keep.read_text().splitlines()] if args.keep.exists() else []
    done = {(r["kind"], r["seed"]) for r in rows}
    with args.keep.open("a") as file:
        for seed in range(args.first, args.first + args.scans):
            for kind in args.kind or slope_scan.CLASSES:
                if (kind, seed) in done:
                    continue
                rows.append(judge_one(kind, seed, bare=args.bare))
                file.write(json.dumps(rows[-1], default=float) + "\n")
                file.flush()
    print(table(rows))


if __name__ == "__main__":
    main()
