"""How long the light commands take, as ratios to a bare interpreter start, all measured in one run.

Prints a table; nothing here is a test. The aim is 0.3 s for `holders --help` and `holders list`.
"""

from __future__ import annotations

import statistics
import subprocess
import sys
import time

from bench_rows import row

RUNS = 7
CASES = (
    ("bare interpreter", [sys.executable, "-c", "pass"]),
    ("holders --help", [sys.executable, "-m", "holders", "--help"]),
    ("holders list formats", [sys.executable, "-m", "holders", "list", "formats"]),
    ("holders list materials", [sys.executable, "-m", "holders", "list", "materials"]),
    ("holders list checks", [sys.executable, "-m", "holders", "list", "checks"]),
    ("holders check 8x10", [sys.executable, "-m", "holders", "check", "presets/8x10-printed.toml"]),
    ("import cadquery", [sys.executable, "-c", "import cadquery"]),
    ("holders make 8x10", [sys.executable, "-m", "holders", "make", "presets/8x10-printed.toml"]),
)


def seconds(command: list[str]) -> float:
    """Median wall time of a command over ``RUNS`` runs, the first (cold) one left out."""
    taken = []
    for _ in range(RUNS + 1):
        begin = time.perf_counter()
        subprocess.run(command, stdout=subprocess.DEVNULL, stderr=subprocess.DEVNULL, check=False)
        taken.append(time.perf_counter() - begin)
    return statistics.median(taken[1:])


def main() -> None:
    """Measure every case and print times and ratios."""
    times = {name: seconds(command) for name, command in CASES}
    bare, kernel = times["bare interpreter"], times["import cadquery"]
    print(f"{'command':28} {'seconds':>8} {'x bare start':>13} {'x import cadquery':>18}")
    for name, taken in times.items():
        print(f"{name:28} {taken:8.3f} {taken / bare:13.1f} {taken / kernel:18.2f}")
    for name in ("holders --help", "holders list formats"):
        if name in times:
            ratio = times[name] / kernel
            row(
                f"`{name}` against `import cadquery`",
                f"{ratio:.2f} ({times[name]:.2f} s)",
                "instant: at most 0.25",
            )


if __name__ == "__main__":
    main()
