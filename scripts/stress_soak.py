"""The page left open for a long evening: another holder at every change, and the memory of all its processes watched.

Starts the page as a program, asks what the page asks at a change (the sketch, the film as a drawing, the whole), and
notes what the page's processes hold of their own (Pss where the system says it) every fifty changes. It ends with 1
when they hold more than 5 % above what they held after the first two hundred, or when an answer is neither a holder
nor words. ``--changes 2000`` is the long form; every change differs, so that nothing is answered from what is kept.

Run from the project root: ``python scripts/stress_soak.py --changes 2000``
"""

from __future__ import annotations

import argparse
import datetime
import http.client
import json
import random
import subprocess
import sys
import tempfile
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parents[1]
SETTLED = 200  # changes until what is kept on purpose is full
MOST_GROWTH = 0.05
EVERY = 50
CODE = (
    "from holders.face.page.server import serve\nif __name__ == '__main__':\n"
    "    serve(0, open_browser=False, tell=lambda a: print(a, flush=True))\n"
)
KINDS = ("sketch", "film?drawing", "whole")


def form(rng: random.Random, number: int) -> dict[str, Any]:
    """The form's values at a change: film, lip, focus height and what holds the film, all of them others."""
    film = rng.choice(("4x5", "5x7", "8x10", "35mm-strip", "roll-6x6", "mount-50", "half-plate"))
    route, material = rng.choice((("print", "petg"), ("knife", "mat-board"), ("laser", "acrylic-cast")))
    values: dict[str, Any] = {
        "title": f"Low Weir {number}",
        "route": route,
        "bed": {"name": "a4-wide", "focus_height_mm": round(rng.uniform(2.5, 3.5), 4)},
        "film": {"format": film, "emulsion": rng.choice(("down", "up"))},
        "material": {"name": material},
        "lip": {"all_mm": round(rng.uniform(1.5, 3.5), 4)},
        "base": {"curl_per_m": round(rng.uniform(0.0, 4.0), 4)},
    }
    if rng.random() < 0.4:
        values["lid"] = {"thickness_mm": round(rng.uniform(1.5, 3.0), 3)}
    return values


def family(root: int) -> list[int]:
    """A process and all below it (Linux)."""
    children: dict[int, list[int]] = {}
    for stat in Path("/proc").glob("[0-9]*/stat"):
        try:
            number, parent = int(stat.parent.name), int(stat.read_text().rpartition(")")[2].split()[1])
        except (OSError, ValueError, IndexError):
            continue
        children.setdefault(parent, []).append(number)
    found, ahead = [], [root]
    while ahead:
        one = ahead.pop()
        found.append(one)
        ahead += children.get(one, [])
    return found


def held_mib(root: int) -> float:
    """What they hold, shared pages parted among them, MiB."""
    total = 0
    for number in family(root):
        try:
            lines = Path(f"/proc/{number}/smaps_rollup").read_text().splitlines()
        except OSError:
            continue
        total += next((int(line.split()[1]) for line in lines if line.startswith("Pss:")), 0)
    return total / 1024


def asked(address: str, kind: str, values: dict[str, Any]) -> str:
    """What is wrong with an answer; "" where nothing is."""
    where, _, token = address.partition("/#")
    link = http.client.HTTPConnection(where.removeprefix("http://"), timeout=120)
    head = {"x-holders-token": token, "content-type": "application/json"}
    try:
        link.request("POST", f"/api/{kind}", json.dumps(values), head)
        answer = link.getresponse()
        data = json.loads(answer.read())
    finally:
        link.close()
    fine = answer.status in (200, 422) and (data.get("ok") or data.get("errors"))
    return "" if fine else f"{kind}: {answer.status} {str(data)[:300]}"


def soak(changes: int, seed: int, settled: int = SETTLED) -> tuple[list[tuple[int, float]], list[str]]:
    """Memory (MiB) after so many changes, and what went wrong."""
    rng, held, wrong = random.Random(seed), [], []
    with tempfile.TemporaryDirectory(prefix="holders-soak-") as temp:
        path = Path(temp) / "run_page.py"
        path.write_text(CODE, encoding="utf-8")
        page = subprocess.Popen([sys.executable, str(path)], cwd=ROOT, stdout=subprocess.PIPE, text=True)
        try:
            assert page.stdout is not None
            address = page.stdout.readline().strip()
            for number in range(1, changes + 1):
                values = form(rng, number)
                wrong += [
                    f"change {number}, {words}" for kind in KINDS if (words := asked(address, kind, values))
                ]
                if number % EVERY == 0 or number in (settled, changes):
                    held.append((number, held_mib(page.pid)))
                    print(f"after {number}: {held[-1][1]:.0f} MiB", file=sys.stderr, flush=True)
        finally:
            page.terminate()
            page.wait()
    return held, wrong


def growth(held: list[tuple[int, float]], settled: int = SETTLED) -> float:
    """The last reading over that after the first two hundred, less 1."""
    begin = next((mib for number, mib in held if number >= settled), held[-1][1])
    return held[-1][1] / begin - 1


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--changes", type=int, default=2000)
    ask.add_argument("--seed", type=int, default=1)
    given = ask.parse_args()
    held, wrong = soak(given.changes, given.seed)
    for words in wrong[:40]:
        print(words)
    grown = growth(held)
    begin = next((mib for number, mib in held if number >= SETTLED), held[-1][1])
    today = datetime.datetime.now(datetime.UTC).date().isoformat()
    print(
        f"| the page, another holder at every change | `stress_soak.py` (seed {given.seed}) | {given.changes} changes, "
        f"{len(wrong)} faults; {begin:.0f} MiB after {SETTLED}, {held[-1][1]:.0f} MiB at the end ({grown:+.1%}); "
        f"{today} |"
    )
    return int(grown > MOST_GROWTH or bool(wrong))


if __name__ == "__main__":
    sys.exit(main())
