"""Judge `inspect` by finished scans of a simulator written apart from it, and print a table.

    python scripts/judge_inspect.py --scans 200 --keep out/judge_inspect.jsonl

The simulator is tests/simulators/finished_scan.py; its nine classes are taken in turn, from seed 0 on. The estimate was
made with scans of seeds from 5000 on. Each result is kept as a line of the file, so that a run which was stopped goes
on where it was. Wrong advice: any on a film that is in the band all over; on a film that is not, advice about another
shape than it has. Rings are not looked for.
"""

from __future__ import annotations

import argparse
import json
import sys
import tempfile
import time
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

import holders  # noqa: E402, F401 - sets the number of threads before numpy is loaded
from holders.measure.finished.look import inspect_scan  # noqa: E402
from tests.simulators import finished_scan  # noqa: E402

NEAR = 0.1  # of the film's area
EDGE_MM = 0.5
SHARP = 0.95
# what may be said of a film of each class that is out of the band somewhere
RIGHT = {
    "soft": ("soft",), "sagging": ("sag", "unclear"), "leaning": ("tilt", "ends", "unclear"),
}  # fmt: skip


def judge_file(path: Path, facts: dict[str, Any]) -> dict[str, Any]:
    """Inspect one simulated scan; what came of it, as plain data."""
    begin = time.perf_counter()
    found = inspect_scan(path, rings=False)
    s, truth = found.sharpness, float(facts["in_band_fraction"])
    names = ("left", "head", "right", "foot")
    edges = {e.name: e.at_mm - facts["window"][names.index(e.name)] for e in found.placement.edges}
    right = ("even",) if truth > SHARP else RIGHT.get(facts["kind"], ("unclear",))
    return {
        "kind": facts["kind"], "seed": facts["seed"], "dpi": facts["dpi"], "noise": facts["case"]["sensor"]["noise"],
        "truth": truth, "found": s.in_band_fraction, "sigma": s.in_band_sigma, "roughly": s.roughly,
        "judged": s.judged_fraction,
        "pattern": s.pattern, "advice": [a.what for a in found.advice],
        "wrong_advice": bool(found.advice) and s.pattern not in right,
        "edges": edges, "warnings": [*found.warnings, *found.placement.doubts], "seconds": time.perf_counter() - begin,
    }  # fmt: skip


def judge_one(kind: str, seed: int) -> dict[str, Any]:
    """Render one scan and judge it."""
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / "scan.tif"
        return judge_file(path, finished_scan.write(path, seed, kind))


def summary(rows: list[dict[str, Any]]) -> dict[str, float]:
    """The numbers that count."""
    fine = [r for r in rows if r["dpi"] >= 1200]
    known = [r for r in rows if r["found"] is not None]
    off = [abs(v) for r in rows for v in r["edges"].values() if not r["warnings"]]
    return {
        "scans": len(rows),
        "within": float(np.mean([abs(r["found"] - r["truth"]) <= NEAR for r in known])) if known else float("nan"),
        "in two sigma": float(np.mean([abs(r["found"] - r["truth"]) <= 2 * r["sigma"] for r in known])),
        "judged from 1200 dpi": float(np.mean([r["found"] is not None for r in fine])) if fine else float("nan"),
        "area judged from 1200 dpi": float(np.mean([r["judged"] for r in fine])) if fine else float("nan"),
        "wrong advice": float(np.mean([r["wrong_advice"] for r in rows])),
        "edges": len(off), "edges off unsaid": int(sum(v > EDGE_MM for v in off)),
    }  # fmt: skip


def table(rows: list[dict[str, Any]]) -> str:
    """The table of all classes."""
    lines = ["class           scans  judged  area  within 0.1  worst  wrong advice  edges off unsaid"]
    for kind in [*finished_scan.CLASSES, "all"]:
        some = [r for r in rows if kind in ("all", r["kind"])]
        if not some:
            continue
        known = [r for r in some if r["found"] is not None]
        worst = max((abs(r["found"] - r["truth"]) for r in known), default=0.0)
        n = summary(some)
        lines.append(
            f"{kind:15s} {len(some):5d} {len(known):7d} {np.mean([r['judged'] for r in some]):5.2f} "
            f"{sum(abs(r['found'] - r['truth']) <= NEAR for r in known):11d} {worst:6.2f} "
            f"{sum(r['wrong_advice'] for r in some):13d} {n['edges off unsaid']:17d}"
        )
    return "\n".join([*lines, "", *(f"{name}: {value:.3g}" for name, value in summary(rows).items())])


def main() -> None:
    """Run what is missing and print the table."""
    parser = argparse.ArgumentParser(
        description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter
    )
    parser.add_argument("--scans", type=int, default=200, help="in all")
    parser.add_argument("--first", type=int, default=0, help="first seed")
    parser.add_argument("--keep", type=Path, default=ROOT / "out" / "judge_inspect.jsonl")
    args = parser.parse_args()
    args.keep.parent.mkdir(parents=True, exist_ok=True)
    rows = [json.loads(line) for line in args.keep.read_text().splitlines()] if args.keep.exists() else []
    done = {(r["kind"], r["seed"]) for r in rows}
    kinds = finished_scan.CLASSES
    with args.keep.open("a") as file:
        for number in range(args.scans):
            kind, seed = kinds[number % len(kinds)], args.first + number // len(kinds)
            if (kind, seed) in done:
                continue
            rows.append(judge_one(kind, seed))
            file.write(json.dumps(rows[-1], default=float) + "\n")
            file.flush()
    print(table(rows))


if __name__ == "__main__":
    main()
