"""Change one thing in the code, again and again, and see whether the tests of that room find it.

    python scripts/mutants.py              go on where it stopped; the first time, draw the sample and trace the tests
    python scripts/mutants.py --guess      trace nothing; run the test files that name what was changed
    python scripts/mutants.py --again      bring the copy to HEAD; run those that survived once more
    python scripts/mutants.py --seed 7     another sample than the kept one, of which the tests know nothing yet
    python scripts/mutants.py --table      only print what is known

Mutations, and the session that keeps results, are cosmic-ray's (``pip install -r scripts/mutants-requirements.txt``).
Rooms, their tests, the size of the sample and the mutants that change nothing (with the reason) stand in
``scripts/mutants.toml``. All of it runs on a copy: a work tree of git below ``build/mutants``, at the HEAD of the first
run; ``--again`` brings it to that of today. Rooms take turns by their share, so that a run that was stopped has tried a
smaller sample of all of them. For each mutant only those tests of its room run that reach its line (then
their neighbours in the same files), quickest first, until one fails or their time is up. One process at a time, at low
priority; stop it and start it as you like.

Tests are traced once. A module that has changed since then is treated as with ``--guess``, and a test file that has is
traced again.
"""

from __future__ import annotations

import argparse
import compileall
import json
import os
import pickle
import re
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path
from typing import Any

import cosmic_ray.plugins
from cosmic_ray.mutating import use_mutation
from cosmic_ray.work_db import WorkDB
from cosmic_ray.work_item import TestOutcome, WorkerOutcome, WorkItem, WorkResult
from mutants_fork import STOPPED, forked, preload
from mutants_sample import Module, Mutant, digest, in_turns, sample
from mutants_trace import Reach, command, environ, guessed, trace

ROOT = Path(__file__).resolve().parent.parent
PLAN = Path(__file__).with_suffix(".toml")
FAILED = re.compile(r"^(?:FAILED|ERROR) (.+?)(?: - (.*))?$", re.M)
NOTHING_LOADS = "while loading conftest"
FIRST = 3  # guessed files that run before the others are loaded
FOUND, SURVIVED, UNREACHED = "found", "survived", "no test runs it"


def children_s() -> float:
    """Seconds of the processor that ended children of this process took."""
    used = os.times()
    return used.children_user + used.children_system


def git(*words: str, where: Path = ROOT) -> str:
    return subprocess.run(
        ["git", *words], cwd=where, check=True, capture_output=True, text=True
    ).stdout.strip()


class Session:
    """The copy, its traces, the sample, and what is known of each mutant."""

    def __init__(
        self, state: Path, again: bool = False, seed: int | None = None, count: int | None = None
    ) -> None:
        self.plan: dict[str, Any] = tomllib.loads(PLAN.read_text(encoding="utf-8"))
        self.plan["seed"] = self.plan["seed"] if seed is None else seed
        if count is not None:  # of few, each room has its share all the same
            self.plan["count"] = count
            self.plan["least"] = min(self.plan["least"], count // len(self.plan["rooms"]))
        self.rooms: dict[str, dict[str, list[str]]] = self.plan["rooms"]
        self.state = state
        self.tree = state / "tree"
        state.mkdir(parents=True, exist_ok=True)
        if not self.tree.exists():
            git("worktree", "prune")
            git("worktree", "add", "--force", "--detach", str(self.tree), "HEAD")
        if again:
            git("checkout", "--quiet", "--detach", git("rev-parse", "HEAD"), where=self.tree)
        self.mutants = self._sample()
        self.results = WorkDB(state / "session.sqlite", WorkDB.Mode.create)
        known = {item.job_id for item in self.results.work_items}
        self.results.add_work_items(
            WorkItem.single(m.key, m.spec) for m in self.mutants if m.key not in known
        )
        self.reaches: dict[str, Reach] = {}

    def _sample(self) -> list[Mutant]:
        sources = {room: row["source"] for room, row in self.rooms.items()}
        drawn = [
            sources,
            *(self.plan[name] for name in ("count", "least", "seed")),
            git("rev-parse", "HEAD", where=self.tree),
        ]
        kept = self.state / f"sample-{digest(json.dumps(drawn))[:12]}.pickle"
        if not kept.exists():
            mutants = sample(self.tree, sources, self.plan["count"], self.plan["least"], self.plan["seed"])
            kept.write_bytes(pickle.dumps(mutants))
        found: list[Mutant] = pickle.loads(kept.read_bytes())
        return in_turns(found)

    def known(self) -> dict[str, dict[str, Any]]:
        return {key: json.loads(result.output) for key, result in self.results.results}

    def reach(self, room: str) -> Reach:
        """What the room's tests reach; traced now if they never were, single files again where they have changed."""
        if room not in self.reaches:
            folders = []
            for tests in self.rooms[room]["tests"]:
                folders.append(self.state / "trace" / tests.replace("/", "-").replace(".py", ""))
                trace(self.tree, tests, folders[-1])
            changed = self._changed(tuple(self.rooms[room]["tests"]))
            for file, blob in changed.items():
                folders.append(self.state / "trace" / f"{Path(file).stem}-{blob[:12]}")
                trace(self.tree, file, folders[-1])
            self.reaches[room] = Reach(folders, self._unsteady())
        return self.reaches[room]

    def _changed(self, tests: tuple[str, ...]) -> dict[str, str]:
        """Test files of a room that differ from those of the sample's commit, and what they hold."""
        lines = git("diff", "--name-only", self.traced_at(), "HEAD", "--", *tests, where=self.tree).split()
        files = [
            name for name in lines if Path(name).name.startswith("test_") and (self.tree / name).exists()
        ]
        return {name: git("hash-object", name, where=self.tree) for name in files}

    def traced_at(self) -> str:
        """The commit at which whole groups of tests were traced."""
        kept = self.state / "traced-at"
        if not kept.exists():
            kept.write_text(git("rev-parse", "HEAD", where=self.tree), encoding="utf-8")
        return kept.read_text(encoding="utf-8")

    def moved(self, file: str) -> bool:
        """Whether a module has other lines than when the tests were traced."""
        return bool(git("diff", "--name-only", self.traced_at(), "HEAD", "--", file, where=self.tree))

    def _unsteady(self) -> set[str]:
        kept = self.state / "unsteady.json"
        return set(json.loads(kept.read_text(encoding="utf-8"))) if kept.exists() else set()

    def run(self, mutant: Mutant, guess: bool = False) -> dict[str, Any]:
        """Run the tests that may find a mutant, note and return what came of it."""
        if guess or self.moved(mutant.file):
            order: list[str] = []
            room = self.rooms[mutant.room]
            files = guessed(self.tree, room["tests"], mutant.file, mutant.name, room.get("every", ()))
            files.sort(key=lambda file: file in self.plan.get("late", ()))
        else:
            reach = self.reach(mutant.room)
            order = reach.chosen(self.tree / mutant.file, self._lines(mutant, reach))
            files = list(dict.fromkeys(test.split("::")[0] for test in order))
        if not files:
            return self._note(mutant, UNREACHED, 0, "", "")
        operator = cosmic_ray.plugins.get_operator(mutant.spec.operator_name)()
        before = mutant.spec.module_path.stat()
        with use_mutation(mutant.spec.module_path, operator, mutant.spec.occurrence) as (_, changed):
            if changed is None:
                raise SystemExit(f"{mutant.file}:{mutant.line} is not what it was when the sample was drawn")
            code, said, ran = self._until_found(order, files)
        os.utime(
            mutant.spec.module_path, ns=(before.st_atime_ns, before.st_mtime_ns)
        )  # what was compiled is right again
        if code == 0:
            return self._note(mutant, SURVIVED, len(ran), "", "")
        if NOTHING_LOADS in said:
            return self._note(mutant, FOUND, 0, "every test: nothing can be loaded", "")
        failed = FAILED.search(said)
        by = ran[-1] if ran else failed[1] if failed else ""
        if not by or (failed is None and code >= 0):
            raise SystemExit(f"{mutant.file}:{mutant.line}: no test failed, and yet:\n{said}")
        return self._note(
            mutant, FOUND, len(ran), by, ((failed[2] or "") if failed else "took too long")[:200]
        )

    def _until_found(self, order: list[str], files: list[str]) -> tuple[int, str, list[str]]:
        """Exit code, what was printed, what was run. Guessed files come in two helpings: few load sooner than all."""
        helpings = [files] if order else [some for some in (files[:FIRST], files[FIRST:]) if some]
        code, said, ran, most_s = 0, "", list[str](), float(self.plan["most_s"])
        for some in helpings:
            used = children_s()
            code, said, more = self.tests(order, some, ["-x"], most_s)
            ran += more
            most_s -= children_s() - used
            if code != 0 or most_s <= 0:
                break
        return code, said, ran

    def tests(
        self, order: list[str], files: list[str], options: list[str], most_s: float = 1e9
    ) -> tuple[int, str, list[str]]:
        """Run tests in a fork of this process: exit code (0 also where time was up), what was printed, what was run."""
        place, now, out = (self.state / name for name in ("order", "now", "printed"))
        place.write_text("\n".join(order), encoding="utf-8")
        now.write_text("", encoding="utf-8")
        more = {"MUTANTS_ORDER": str(place), "MUTANTS_NOW": str(now), "MUTANTS_S": str(most_s)}
        code = forked(
            [*command()[3:], *options, *files],
            self.tree,
            environ(self.tree) | more,
            out,
            *([86_400] if most_s > 1e6 else []),
        )
        said = out.read_text(encoding="utf-8", errors="replace")
        return (
            (0 if code == STOPPED and "enough" in said else code),
            said,
            now.read_text(encoding="utf-8").split("\n")[:-1],
        )

    def _note(self, mutant: Mutant, what: str, tests: int, by: str, how: str) -> dict[str, Any]:
        row = {"what": what, "tests": tests, "by": by, "how": how}
        outcome = TestOutcome.KILLED if what == FOUND else TestOutcome.SURVIVED
        kind = WorkerOutcome.NO_TEST if what == UNREACHED else WorkerOutcome.NORMAL
        self.results.set_result(mutant.key, WorkResult(kind, json.dumps(row), outcome))
        return row

    def _lines(self, mutant: Mutant, reach: Reach) -> set[int]:
        """The lines whose tests may find it: its statement's; for what runs at import, those where it is used."""
        file = self.tree / mutant.file
        if reach.tests(file, mutant.statement):
            return set(mutant.statement)
        module = Module(self.tree, file)
        name = module.defined(mutant.line)
        if name is not None:
            used = {k for k, text in enumerate(module.lines, 1) if re.search(rf"\b{name}\b", text)}
            used = {line for k in used for line in module.statement(k)}
            if reach.tests(file, used):
                return used
        return next((set(lines) for lines in module.around(mutant.line) if reach.tests(file, lines)), set())

    def control(self) -> int:
        """Run every test that found something on the unchanged code; forget what those found that fail there too."""
        known = self.known()
        tests = sorted({row["by"] for row in known.values() if "::" in row["by"]})
        if not tests:
            return 0
        files = sorted({test.split("::")[0] for test in tests})
        _, said, _ = self.tests(tests, files, [])
        bad = {found[1] for found in FAILED.finditer(said)}
        kept = self.state / "unsteady.json"
        kept.write_text(json.dumps(sorted(bad | self._unsteady())), encoding="utf-8")
        for mutant in self.mutants:
            if known.get(mutant.key, {}).get("by") in bad:
                self.reaches.clear()
                self.run(mutant)
        return len(bad)


def equivalent(session: Session) -> dict[str, str]:
    """Mutants of the sample that change nothing, and why."""
    reasons = {
        (row["file"], row["before"], row["after"]): row["reason"]
        for row in session.plan.get("equivalent", [])
    }
    return {
        m.key: reasons[m.file, m.before, m.after]
        for m in session.mutants
        if (m.file, m.before, m.after) in reasons
    }


def table(session: Session) -> str:
    """What is known, room by room, as Markdown; and each mutant that survived."""
    known, same = session.known(), equivalent(session)
    lines = [
        "| room | sample | change nothing | found | survived | no test runs it | found of those that change |"
    ]
    lines.append("|---|---|---|---|---|---|---|")
    whole: Counter[str] = Counter()
    for room in session.rooms:
        count: Counter[str] = Counter()
        for mutant in session.mutants:
            if mutant.room == room and mutant.key in known:
                count["all"] += 1
                count["same" if mutant.key in same else known[mutant.key]["what"]] += 1
        whole += count
        lines.append(_row(f"`{room}`", count))
    lines.append(_row("all", whole))
    for what in (SURVIVED, UNREACHED):
        lines.append(f"\n{what}:")
        for m in session.mutants:
            if m.key in known and m.key not in same and known[m.key]["what"] == what:
                lines.append(f"  {m.file}:{m.line}\n    - {m.before}\n    + {m.after}")
    lines.append(f"\nchange nothing: {len(same)}")
    lines.extend(
        f"  {m.file}:{m.line}: {same[m.key]}\n    + {m.after}" for m in session.mutants if m.key in same
    )
    return "\n".join(lines)


def _row(name: str, count: Counter[str]) -> str:
    changing = count["all"] - count["same"]
    share = f"{100 * count[FOUND] / changing:.0f} %" if changing else ""
    cells = (count["all"], count["same"], count[FOUND], count[SURVIVED], count[UNREACHED], share)
    return f"| {name} | " + " | ".join(map(str, cells)) + " |"


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument(
        "--again", action="store_true", help="bring the copy to HEAD, and run the survivors once more"
    )
    given.add_argument(
        "--guess", action="store_true", help="trace nothing: the files that name what was changed run"
    )
    given.add_argument("--seed", type=int, help="another sample than that of mutants.toml")
    given.add_argument("--count", type=int, help="how many in all, in place of that of mutants.toml")
    given.add_argument("--table", action="store_true", help="run nothing")
    given.add_argument("--rooms", default="", help="only these, with semicolons between")
    given.add_argument(
        "--state", type=Path, default=ROOT / "build" / "mutants", help="where copy and results are kept"
    )
    asked = given.parse_args()
    session = Session(asked.state.resolve(), asked.again, asked.seed, asked.count)
    preload()
    compileall.compile_dir(session.tree / "holders", quiet=1)
    compileall.compile_dir(session.tree / "tests", quiet=1)
    os.nice(max(0, 10 - os.nice(0)))
    known, same = session.known(), equivalent(session)
    rooms = [name.strip() for name in asked.rooms.split(";")] if asked.rooms else list(session.rooms)
    for number, mutant in enumerate(session.mutants, 1):
        old = known.get(mutant.key)
        due = old is None or (asked.again and old["what"] != FOUND and mutant.key not in same)
        if asked.table or not due or mutant.room not in rooms:
            continue
        try:
            row = session.run(mutant, asked.guess)
        except TimeoutError as late:
            print(
                f"{number}/{len(session.mutants)} not decided ({late})  {mutant.file}:{mutant.line}",
                flush=True,
            )
            continue
        by = f" by {row['by']}" if row["by"] else ""
        print(
            f"{number}/{len(session.mutants)} {row['what']}{by}  {mutant.file}:{mutant.line}  {mutant.after}",
            flush=True,
        )
    if not asked.table:
        print(f"{session.control()} tests that found something also fail on the unchanged code")
    print(table(session))


if __name__ == "__main__":
    sys.exit(main())
