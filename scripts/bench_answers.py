"""What one change on the page costs in processor time: the film, the chance, all checks, next steps, a proposal.

Two holders, an 8x10 by printer and four 4x5 by laser, are each changed in three usual ways (lip, sharpest height of the
scanner, film), as by somebody who has just opened the page on them. Every case is a process of its own, so that nothing
is left over from another. With ``--against FOLDER`` (the project as it was, another worktree say) each case is measured
there as well, in turn with this tree, and the ratios are printed with whether the answers are the same to the last
letter.

Run from the project root: ``python scripts/bench_answers.py [--against FOLDER] [--runs N] [--tried] [--case NAME ...]``
or ``python scripts/bench_answers.py --helped N``
"""

from __future__ import annotations

import argparse
import copy
import hashlib
import json
import os
import statistics
import subprocess
import sys
import time
from functools import partial
from pathlib import Path
from typing import Any

from bench_rows import row

ROOT = Path(__file__).resolve().parents[1]
PRINTED, FOUR = "8x10 by printer", "four 4x5 by laser"
HOLDERS: dict[str, dict[str, Any]] = {
    PRINTED: {},  # the preset that comes along
    FOUR: {
        "title": "four 4x5",
        "route": "laser",
        "bed": {"name": "a4-wide", "focus_height_mm": 3.1, "focus_sigma_mm": 0.05},
        "film": {"format": "4x5", "emulsion": "down"},
        "material": {"name": "acrylic-cast"},
        "layout": {"count": 4},
        "lid": {},
    },
}
CHANGES: dict[str, tuple[str, str, Any]] = {
    "lip": ("lip", "all_mm", 3.0),
    "sharpest height": ("bed", "focus_height_mm", 3.3),
    "film": ("film", "format", {PRINTED: "5x7", FOUR: "roll-6x9-single"}),
}
ANSWERS = ("draft", "chance", "whole")
AIMS = {"chance": "0.5 s", "steps": "5 s"}


def case(name: str, tried: bool) -> dict[str, Any]:
    """Processor seconds and a digest of each answer to one change, in this process."""
    from holders.face.page.form.values import values_of  # noqa: PLC0415 - of the tree that is measured
    from holders.face.page.work import answers  # noqa: PLC0415

    if hasattr(os, "sched_setaffinity"):  # one processor alone, so that nothing is handed to another process
        os.sched_setaffinity(0, {min(os.sched_getaffinity(0))})
    holder, change = name.split(": ")
    values = HOLDERS[holder]
    if holder == PRINTED:
        values = values_of((ROOT / "presets" / "8x10-printed.toml").read_text(encoding="utf-8"), holder)
    answers.warm()
    for kind in ANSWERS:
        answers.KINDS[kind](values)
    after = copy.deepcopy(values)
    table, key, value = CHANGES[change]
    after.setdefault(table, {})[key] = value[holder] if isinstance(value, dict) else value
    found: dict[str, Any] = {}

    def measured(kind: str, ask: Any) -> None:
        begun = time.process_time()
        answer = ask()
        text = json.dumps(answer, sort_keys=True).encode()
        if not answer["ok"]:
            raise SystemExit(f"{name}: {kind}: {answer['errors']}")
        found[kind] = (time.process_time() - begun, hashlib.sha256(text).hexdigest())

    for kind in ANSWERS:
        measured(kind, lambda kind=kind: answers.KINDS[kind](after))
    if tried:
        measured("steps", lambda: _all_steps(answers, after))
        begun_with = {
            key: after[key] for key in ("route", "bed", "film", "material", "printer") if key in after
        }
        measured("propose", lambda: answers.propose({"values": begun_with, "by_hand": []}))
    return found


def _all_steps(answers: Any, values: dict[str, Any]) -> dict[str, Any]:
    while True:
        answer: dict[str, Any] = answers.steps(values)
        if not answer["ok"] or answer["done"]:
            return answer


def helped(rounds: int) -> None:
    """How soon a worker of the page has the chance by the clock, with its helper against without, in turn."""
    from holders.core.workers import Worker  # noqa: PLC0415
    from holders.face.page.form.values import values_of  # noqa: PLC0415
    from holders.face.page.work.worker import _answered, _load, _load_helped  # noqa: PLC0415

    values = values_of((ROOT / "presets" / "8x10-printed.toml").read_text(encoding="utf-8"), PRINTED)
    beside = Worker(_load)
    workers = {"with": Worker(partial(_load_helped, _load, beside.line)), "without": Worker(_load)}
    spent: dict[str, list[float]] = {name: [] for name in workers}
    for k in range(rounds + 1):
        for name, worker in workers.items():
            changed = {**values, "lip": {**values["lip"], "all_mm": 2.5 + k / 10}}
            begun = time.perf_counter()
            worker.ask(_answered, "chance", changed)
            assert worker.answer()["ok"]
            spent[name].append(time.perf_counter() - begun)
    for worker in (*workers.values(), beside):
        worker.kill()
    ours, alone = (
        statistics.median(each[1:]) for each in spent.values()
    )  # the first loads what is left to load
    said = f"{ours / alone:.2f} ({ours:.2f} s against {alone:.2f} s by the clock)"
    row(f"page, {PRINTED}: the chance after a change of the lip, with a helper against without", said, "")


def measured(tree: Path, name: str, tried: bool) -> dict[str, Any]:
    """One case in a process of its own, on one thread, of the project in ``tree``."""
    command = [
        sys.executable,
        str(Path(__file__).resolve()),
        "--inside",
        "--case",
        name,
        *(["--tried"] if tried else []),
    ]
    environment = {**os.environ, "PYTHONPATH": str(tree), "OPENBLAS_NUM_THREADS": "1"}
    told = subprocess.run(command, cwd=tree, env=environment, capture_output=True, text=True, check=True)
    found: dict[str, Any] = json.loads(told.stdout)
    return found


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    every = [f"{holder}: {change}" for holder in HOLDERS for change in CHANGES]
    asked.add_argument("--against", type=Path, help="the project as it was")
    asked.add_argument("--runs", type=int, default=3)
    asked.add_argument(
        "--tried", action="store_true", help="next steps and a proposal as well, which takes long"
    )
    asked.add_argument("--case", nargs="*", default=every, choices=every)
    asked.add_argument(
        "--helped", type=int, metavar="N", help="by the clock instead, with a helper and without"
    )
    asked.add_argument("--inside", action="store_true", help=argparse.SUPPRESS)
    options = asked.parse_args()
    if options.inside:
        print(json.dumps(case(options.case[0], options.tried)))
        return 0
    if options.helped:
        helped(options.helped)
        return 0
    differ = 0
    for name in options.case:
        runs: dict[str, list[dict[str, Any]]] = {"now": [], "before": []}
        for _ in range(options.runs):
            runs["now"].append(measured(ROOT, name, options.tried))
            if options.against is not None:
                runs["before"].append(measured(options.against.resolve(), name, options.tried))
        for kind in runs["now"][0]:
            now = statistics.median(run[kind][0] for run in runs["now"])
            said = f"{now:.2f} s of processor"
            if runs["before"]:
                before = statistics.median(run[kind][0] for run in runs["before"])
                same = len({run[kind][1] for run in (*runs["now"], *runs["before"])}) == 1
                differ += not same
                seconds = f"{now:.2f} s for {before:.2f} s of processor"
                said = f"{now / before:.2f} ({seconds}, {'the same answer' if same else 'ANOTHER ANSWER'})"
            row(f"page, {name} changed: {kind}", said, AIMS.get(kind, ""))
    return 1 if differ else 0


if __name__ == "__main__":
    raise SystemExit(main())
