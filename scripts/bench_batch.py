"""What `holders make` costs, as ratios measured in one run.

* a whole `make` of one holder against a bare `import cadquery` (aim: at most 1.5)
* a batch of all shipped presets against one `make` after the other, and against one process that makes them in turn

The runs take turns, so that a busy machine burdens all of them alike. Prints tables; nothing here is a test.
"""

from __future__ import annotations

import argparse
import os
import statistics
import subprocess
import sys
import tempfile
import time
from collections.abc import Sequence
from pathlib import Path

from bench_rows import row

ROOT = Path(__file__).resolve().parent.parent
PRESETS = sorted((ROOT / "presets").glob("*.toml"))
ONE = ROOT / "presets" / "8x10-printed.toml"
IN_TURN = """
import sys
from pathlib import Path
from holders.face.cli.commands import making
making.cores = lambda: 1
making.make_all([Path(p) for p in sys.argv[2:]], Path(sys.argv[1]), None, True)
"""
Case = tuple[str, Sequence[Sequence[str]]]


def make(out: str, *presets: Path) -> list[str]:
    return [sys.executable, "-m", "holders", "make", *map(str, presets), "--out", out, "--json"]


def seconds(commands: Sequence[Sequence[str]]) -> float:
    """Wall time of the commands one after the other."""
    begin = time.perf_counter()
    for command in commands:
        subprocess.run(command, cwd=ROOT, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=True)
    return time.perf_counter() - begin


def median_of_turns(cases: Sequence[Case], runs: int) -> dict[str, float]:
    """Median time of each case; a first turn warms the disk's cache and does not count."""
    taken: dict[str, list[float]] = {name: [] for name, _ in cases}
    for turn in range(runs + 1):
        for name, commands in cases:
            one = seconds(commands)
            if turn:
                taken[name].append(one)
    return {name: statistics.median(times) for name, times in taken.items()}


def table(times: dict[str, float], base: str) -> None:
    print(f"{'':44} {'seconds':>8} {'x ' + base:>28}")
    for name, value in times.items():
        print(f"{name:44} {value:8.2f} {value / times[base]:28.2f}")
    print()


def main() -> None:
    options = argparse.ArgumentParser(description=__doc__)
    options.add_argument("--runs", type=int, default=9, help="turns that count")
    runs = options.parse_args().runs
    load = f", load {os.getloadavg()[0]:.1f}" if hasattr(os, "getloadavg") else ""
    print(f"{os.cpu_count()} processors{load}\n")
    with tempfile.TemporaryDirectory() as out:
        times = median_of_turns(
            [
                ("import cadquery", [[sys.executable, "-c", "import cadquery"]]),
                ("holders make 8x10-printed", [make(out, ONE)]),
            ],
            runs,
        )
        table(times, "import cadquery")
        kernel, whole = times.values()
        row(
            "whole `make` of the 8x10 against bare `import cadquery`",
            f"{whole / kernel:.2f} ({whole:.2f} s)",
            "at most 1.5",
        )
        count = len(PRESETS)
        times = median_of_turns(
            [
                ("one make after the other", [make(out, path) for path in PRESETS]),
                (
                    f"one process, {count} in turn",
                    [[sys.executable, "-c", IN_TURN, out, *map(str, PRESETS)]],
                ),
                (f"batch of {count}", [make(out, *PRESETS)]),
            ],
            max(1, runs // 3),  # these take minutes each
        )
        table(times, "one make after the other")
        single, _, batch = times.values()
        row(
            f"`make` of {count} presets as a batch against one after the other",
            f"{batch / single:.2f} ({batch:.1f} s)",
            "below 0.5",
        )


if __name__ == "__main__":
    main()
