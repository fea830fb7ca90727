"""Every long attack by one name, in pieces that are taken up again: ``python scripts/stress.py ATTACK --count N``.

Cases are worked through in blocks, each in a process of its own that is watched: what it dies of, what takes longer
or holds more than the attack allows, and every fault, is noted with its number. Where it stands is kept in
``scripts/stress_kept/ATTACK-SEED.json``, which is committed: the same command goes on from there, on any machine.
The last line is a row for docs/reliability.md. A case is repeated with ``--first N --count 1``.
"""

from __future__ import annotations

import argparse
import datetime
import json
import multiprocessing
import os
import subprocess
import sys
import traceback
from collections.abc import Callable, Iterator
from dataclasses import asdict, dataclass, field
from functools import partial
from multiprocessing.connection import Connection
from pathlib import Path
from typing import Any

for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
    os.environ.setdefault(name, "1")
ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "scripts")]
import stress_carriers  # noqa: E402
import stress_extremes  # noqa: E402
import stress_grammar  # noqa: E402
import stress_images  # noqa: E402
import stress_presets  # noqa: E402

KEPT = ROOT / "scripts" / "stress_kept"
BLOCK = 40  # cases in one process
BEGUN_MIB = 100.0  # held by a process that has only read this script; what it inherits beyond is no case's
CHECKED = 8  # one in so many of the flat ones goes through the checks too, which take most of the time
MOST_FAULTS = 200  # that are kept in words


@dataclass(frozen=True)
class Case:
    """How one case ended: seconds of the processor, most memory in MiB, the fault in words, what else is kept."""

    number: int
    seconds: float
    mib: float
    words: str = ""
    kept: Any = None


@dataclass(frozen=True)
class Attack:
    """One kind of attack: what is done with a case, what it may take, how long a block may sleep without an answer."""

    title: str
    judge: Callable[[int, int], tuple[str, Any]]
    limit_s: float
    limit_mib: float
    clock_s: float = 600.0


@dataclass
class State:
    """Where an attack stands."""

    done: int = 0
    seconds: float = 0.0
    slowest: tuple[float, int] = (0.0, -1)
    largest: tuple[float, int] = (0.0, -1)
    faults: list[tuple[int, str]] = field(default_factory=list)
    count_of_faults: int = 0
    kept: list[tuple[int, Any]] = field(default_factory=list)
    runs: list[tuple[int, str]] = field(default_factory=list)  # up to which case, day and commit

    def take(self, one: Case) -> None:
        """Count a case."""
        self.done, self.seconds = self.done + 1, self.seconds + one.seconds
        self.slowest = max(self.slowest, (round(one.seconds, 2), one.number))
        self.largest = max(self.largest, (round(one.mib), one.number))
        if one.words:
            self.count_of_faults += 1
            self.faults = [*self.faults, (one.number, one.words)][:MOST_FAULTS]
        if one.kept is not None:
            self.kept.append((one.number, one.kept))


# ---------------------------------------------------------------- what is done with one case


def _grammar(seed: int, number: int) -> tuple[str, Any]:
    return stress_grammar.fault(stress_grammar.text(seed, number)), None


def _carriers(seed: int, number: int) -> tuple[str, Any]:
    return stress_carriers.fault(stress_carriers.case(seed, number)[1]), None


def _presets(seed: int, number: int) -> tuple[str, Any]:
    text = stress_presets.case(seed, number).encode(errors="replace").decode()
    return _raised(partial(stress_presets.attempt, text, False))


def _flat(seed: int, number: int) -> tuple[str, Any]:
    checked = number % CHECKED == 0
    return _raised(partial(stress_extremes.flat, stress_extremes.case(seed, number), checked=checked))


def _whole(seed: int, number: int) -> tuple[str, Any]:
    words, found = _raised(partial(stress_extremes.whole, stress_extremes.case(seed, number)))
    if words:
        return words, None
    accepted, size, longest, step = found
    late = f"{step}: {longest:.1f} s" if longest > stress_extremes.LIMIT_S else ""
    return late, size if accepted else None


def _made(seed: int, number: int) -> tuple[str, Any]:
    """As commands, from outside: exits, words on the terminal, time and memory of all their processes."""
    text, codes = stress_extremes.case(seed, number), []
    for name, command in stress_extremes.commands(text):
        words, code = _commanded(name, command, stress_extremes.LIMIT_S)
        if words:
            return words, None
        codes.append(code)
    return "" if codes in (
        [0, 0],
        [1, 1],
        [2, 2],
    ) else f"check exits with {codes[0]}, make with {codes[1]}", None


def _commanded(name: str, command: list[str], limit_s: float) -> tuple[str, int]:
    before = os.times()
    done = subprocess.run(
        command, capture_output=True, check=False, cwd=ROOT, env={**os.environ, "PYTHONPATH": str(ROOT)}
    )
    after = os.times()
    spent = after.children_user + after.children_system - before.children_user - before.children_system
    said = (done.stdout + done.stderr).decode("utf-8", "replace")
    if not said.replace("\n", "").isprintable():
        return f"{name}: a control character on the terminal", done.returncode
    if done.returncode not in (0, 1, 2) or "Traceback" in said:
        return f"{name} exits with {done.returncode}: {said[-600:]}", done.returncode
    return (f"{name}: {spent:.1f} s" if spent > limit_s else ""), done.returncode


def _raised(work: Callable[[], Any]) -> tuple[str, Any]:
    try:
        return "", work()
    except Exception:
        return traceback.format_exc(limit=-6), None


def _scans(seed: int, number: int) -> tuple[str, Any]:
    found = stress_images.here(seed, number)
    return "; ".join(f"{one.command}: {one.wrong}" for one in found if one.wrong), None


ATTACKS = {
    "grammar": Attack("grammar of TOML", _grammar, 2.0, 512.0),
    "carriers": Attack("files that carry a preset: bombs, spoilt", _carriers, 5.0, 512.0),
    "presets": Attack("presets from the schema, mutated, damaged: designed, film flat", _presets, 15.0, 1024.0),
    "flat": Attack(f"presets of combined extremes: film flat, one in {CHECKED} checked", _flat, 15.0, 1024.0),
    "whole": Attack("presets of combined extremes: film, checks, pictures, page", _whole, 75.0, 1024.0, 1800.0),
    "made": Attack("those of them that check accepts, as commands, the largest first", _made, 60.0, 1024.0, 1800.0),
    "scans": Attack("spoilt scans through focus and inspect", _scans, 20.0, 512.0),
}  # fmt: skip


# ---------------------------------------------------------------- blocks


def block(attack: Attack, seed: int, numbers: list[int]) -> Iterator[Case]:
    """Every case of a block, in a process of its own; that it dies or says nothing is the fault of the case at hand."""
    context = multiprocessing.get_context("fork" if hasattr(os, "fork") else "spawn")
    ours, theirs = context.Pipe()
    process = context.Process(target=_serve, args=(theirs, attack, seed, numbers))
    process.start()
    theirs.close()
    left = list(numbers)
    try:
        while left:
            if not ours.poll(attack.clock_s):
                yield Case(
                    left.pop(0), attack.clock_s, 0.0, f"no answer within {attack.clock_s:.0f} s by the clock"
                )
                break
            yield ours.recv()
            left.pop(0)
    except EOFError:
        process.join()
        yield Case(left.pop(0), 0.0, 0.0, f"its process ended with {process.exitcode}")
    finally:
        process.kill()
        process.join()
        ours.close()
    if left:
        yield from block(attack, seed, left)


def _serve(line: Connection, attack: Attack, seed: int, numbers: list[int]) -> None:
    _forget_peak()
    inherited = max(0.0, _peak_mib() - BEGUN_MIB)
    for number in numbers:
        _forget_peak()
        start = _spent()
        words, kept = attack.judge(seed, number)
        spent, mib = _spent() - start, max(0.0, _peak_mib() - inherited)
        if not words:
            over = [f"{spent:.1f} s of the processor"] if spent > attack.limit_s else []
            over += [f"{mib:.0f} MiB"] if mib > attack.limit_mib else []
            words = ", ".join(over)
        line.send(Case(number, spent, mib, words, kept))


def _spent() -> float:
    """Seconds of the processor, of this process and of the commands it ran."""
    return sum(os.times()[:4])


def _forget_peak() -> None:
    if sys.platform == "linux":
        Path("/proc/self/clear_refs").write_text("5")


def _peak_mib() -> float:
    """The most that this process held since, or one of its commands ever, MiB (0: the system says nothing)."""
    if sys.platform != "linux":
        return 0.0
    import resource  # noqa: PLC0415 - not on Windows

    lines = Path("/proc/self/status").read_text().splitlines()
    own = next(int(line.split()[1]) for line in lines if line.startswith("VmHWM"))
    return max(own, resource.getrusage(resource.RUSAGE_CHILDREN).ru_maxrss) / 1024


def run(
    name: str, seed: int, numbers: list[int], state: State, keep: Callable[[State], None] = lambda _: None
) -> State:
    """Work through the numbers and count; ``keep`` is called after every block."""
    for start in range(0, len(numbers), BLOCK):
        for one in block(ATTACKS[name], seed, numbers[start : start + BLOCK]):
            state.take(one)
            if one.words:
                print(f"case {one.number}: {one.words}", flush=True)
        keep(state)
    return state


# ---------------------------------------------------------------- where it stands


def loaded(path: Path) -> State:
    """The state in a file, or a new one."""
    if not path.is_file():
        return State()
    data = json.loads(path.read_text(encoding="utf-8"))
    for key in ("slowest", "largest"):
        data[key] = tuple(data[key])
    for key in ("faults", "kept", "runs"):
        data[key] = [tuple(one) for one in data[key]]
    return State(**data)


def stored(path: Path, state: State) -> None:
    """Write it aside and rename, so that a stop loses nothing but a block."""
    path.parent.mkdir(parents=True, exist_ok=True)
    new = path.with_suffix(".new")
    new.write_text(json.dumps(asdict(state)), encoding="utf-8")
    new.replace(path)


def now_at() -> str:
    """The day and the commit."""
    commit = subprocess.run(
        ["git", "rev-parse", "--short", "HEAD"], cwd=ROOT, capture_output=True, text=True, check=False
    ).stdout.strip()
    return f"{datetime.datetime.now(datetime.UTC).date().isoformat()}, {commit}"


def noted(state: State, at: str) -> None:
    """Note how far this day's commit came: one entry a day and commit."""
    state.runs = [one for one in state.runs if one[1] != at] + [(state.done, at)]


def row(name: str, seed: int, state: State, at: str) -> str:
    """The row for docs/reliability.md."""
    when = "; ".join(f"to {done}: {run}" for done, run in state.runs) if len(state.runs) > 1 else at
    return (
        f"| {ATTACKS[name].title} | `stress.py {name}` (seed {seed}) | {state.done} cases, {state.count_of_faults} "
        f"faults; slowest {state.slowest[0]:.1f} s (case {state.slowest[1]}), most memory {state.largest[0]:.0f} MiB "
        f"(case {state.largest[1]}); {when} |"
    )


def numbers_of(name: str, seed: int, state: State, count: int) -> list[int]:
    """The cases that are left; those to be made are the accepted of ``whole``, the largest first."""
    if name != "made":
        return list(range(state.done, count))
    accepted = loaded(KEPT / f"whole-{seed}.json").kept
    return [number for number, _ in sorted(accepted, key=lambda one: -one[1])][state.done : count]


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("attack", choices=sorted(ATTACKS))
    ask.add_argument("--count", type=int, default=1000)
    ask.add_argument("--seed", type=int, default=1)
    ask.add_argument("--first", type=int, default=None, help="these cases alone, and nothing is kept")
    given = ask.parse_args()
    path, at = KEPT / f"{given.attack}-{given.seed}.json", now_at()

    def keep(state: State) -> None:
        noted(state, at)
        stored(path, state)

    if given.first is not None:
        state = run(given.attack, given.seed, list(range(given.first, given.first + given.count)), State())
    else:
        state = loaded(path)
        left = numbers_of(given.attack, given.seed, state, given.count)
        state = run(given.attack, given.seed, left, state, keep)
    print(row(given.attack, given.seed, state, at))
    return int(state.count_of_faults > 0)


if __name__ == "__main__":
    sys.exit(main())
