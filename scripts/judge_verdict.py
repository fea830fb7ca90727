"""Judge the stated chance of a good scan on simulated users: in each tenth of it, how often the scan was good.

    python -m scripts.judge_verdict [--first 0] [--count 120] [--kept FILE]

The users come from tests/simulators/users.py. Holder number N is always the same. Prints a line a holder, then the
table that docs/reliability.md keeps. Users of one film share its shape, so a holder's share of good scans is no surer
than its count of films allows: with 24 films by some 0.07, with 160 by 0.03. With --kept the lines go to a file, and
holders that stand in it are not judged again.
"""

from __future__ import annotations

import argparse
import time
from collections import defaultdict
from collections.abc import Sequence
from pathlib import Path

from holders.core.threads import one_thread

one_thread()

from holders.core.errors import HoldersError  # noqa: E402
from holders.preset.load import parse  # noqa: E402
from holders.study import study  # noqa: E402
from tests.simulators.users import good_scans, random_preset  # noqa: E402


def line_of(tenth: int, rows: Sequence[tuple[float, float, int]]) -> str:
    """A line of the table: what was stated and what came of it, users counted alike."""
    users = sum(row[2] for row in rows)
    name = f"{tenth / 10:.1f} to {tenth / 10 + 0.1:.1f}"
    if not users:
        return f"| {name} | 0 | 0 | | | |"
    stated, good = (sum(row[k] * row[2] for row in rows) / users for k in (0, 1))
    return f"| {name} | {len(rows)} | {users} | {stated:.3f} | {good:.3f} | {good - stated:+.3f} |"


def judged(number: int, films: int, users: int) -> tuple[float, float, int] | None:
    """Stated chance of a holder, the share of good scans and of how many users; None where it cannot be made."""
    text = random_preset(number)
    try:
        found = study(parse(text, "user"), text, extremes=False)
    except HoldersError:
        return None
    return (found.verdict.chance, *good_scans(found, films, users, seed=number))


def kept(file: Path | None) -> dict[int, tuple[float, float, int] | None]:
    """The holders whose lines stand in a file."""
    found: dict[int, tuple[float, float, int] | None] = {}
    if file is not None and file.exists():
        for words in (line.split() for line in file.read_text().splitlines()):
            found[int(words[0])] = (
                None if words[1] == "refused" else (float(words[2]), float(words[4]), int(words[6]))
            )
    return found


def main() -> None:
    """Simulate and print."""
    options = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawTextHelpFormatter)
    options.add_argument("--first", type=int, default=0)
    options.add_argument("--count", type=int, default=120)
    options.add_argument("--films", type=int, default=160, help="films solved for each holder")
    options.add_argument("--kept", type=Path, help="file of the lines, to go on from")
    options.add_argument("--users", type=int, default=20, help="users of each film")
    given = options.parse_args()
    tenths: dict[int, list[tuple[float, float, int]]] = defaultdict(list)
    before, refused = time.process_time(), 0
    known = kept(given.kept)
    for number in range(given.first, given.first + given.count):
        row = known[number] if number in known else judged(number, given.films, given.users)
        if number not in known:
            line = (
                f"{number} refused"
                if row is None
                else "{} stated {:.4f} good {:.4f} of {}".format(number, *row)
            )
            print(line, flush=True)
            if given.kept is not None:
                with given.kept.open("a") as lines:
                    lines.write(f"{line}\n")
        if row is None:
            refused += 1
        else:
            tenths[min(9, int(10 * row[0]))].append(row)
    print("\n| stated chance | holders | users | stated, mean | good | off by |\n|---|---|---|---|---|---|")
    for tenth in range(10):
        print(line_of(tenth, tenths[tenth]))
    print(f"{given.count} presets, {refused} refused, {time.process_time() - before:.0f} s of the processor")


if __name__ == "__main__":
    main()
