"""Judge the stated chance of a good scan on simulated users: in each tenth of it, how often the scan was good.

    python -m scripts.judge_verdict [--first 0] [--count 120]

The users come from tests/simulators/users.py. Holder number N is always the same. Prints a line a holder, then the
table that docs/reliability.md keeps.
"""

from __future__ import annotations

import argparse
import time
from collections import defaultdict
from collections.abc import Sequence

from holders.core.errors import HoldersError
from holders.preset.load import parse
from holders.study import study
from tests.simulators.users import good_scans, random_preset


def line_of(tenth: int, rows: Sequence[tuple[float, float, int]]) -> str:
    """A line of the table: what was stated and what came of it, users counted alike."""
    users = sum(row[2] for row in rows)
    name = f"{tenth / 10:.1f} to {tenth / 10 + 0.1:.1f}"
    if not users:
        return f"| {name} | 0 | 0 | | | |"
    stated, good = (sum(row[k] * row[2] for row in rows) / users for k in (0, 1))
    return f"| {name} | {len(rows)} | {users} | {stated:.3f} | {good:.3f} | {good - stated:+.3f} |"


def main() -> None:
    """Simulate and print."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--count", type=int, default=120)
    options.add_argument("--films", type=int, default=48, help="films solved for each holder")
    options.add_argument("--users", type=int, default=20, help="users of each film")
    given = options.parse_args()
    tenths: dict[int, list[tuple[float, float, int]]] = defaultdict(list)
    before, refused = time.process_time(), 0
    for number in range(given.first, given.first + given.count):
        text = random_preset(number)
        try:
            found = study(parse(text, "user"), text, extremes=False)
        except HoldersError:
            refused += 1
            continue
        chance = found.verdict.chance
        share, users = good_scans(found, given.films, given.users, seed=number)
        tenths[min(9, int(10 * chance))].append((chance, share, users))
        print(f"{number} stated {chance:.3f} good {share:.3f} of {users}", flush=True)
    print("\n| stated chance | holders | users | stated, mean | good | off by |\n|---|---|---|---|---|---|")
    for tenth in range(10):
        print(line_of(tenth, tenths[tenth]))
    print(f"{given.count} presets, {refused} refused, {time.process_time() - before:.0f} s of the processor")


if __name__ == "__main__":
    main()
