"""Spoilt picture files through ``holders focus`` and ``holders inspect``: each is refused in words or read honestly.

Makes ``--count`` mutated TIFF, BigTIFF, PNG and JPEG files from a seed and calls both commands on each, as the command
line does, in child processes that are watched: no exception but the program's own refusals (exit 0, 1 or 2, never 3),
no more than 10 s of processor time (or 60 s by the clock), no more than 512 MiB of memory. Prints what was found and
every file that broke a rule; exits with 1 if there is one. ``--keep DIR`` keeps those files.
"""

from __future__ import annotations

import argparse
import collections
import json
import os
import random
import resource
import select
import subprocess
import sys
import tempfile
import time
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from typer.testing import CliRunner

sys.path.insert(0, str(Path(__file__).resolve().parent))

import image_mutants

from holders.face.cli.main import app

CPU_LIMIT_S = 10.0
CLOCK_LIMIT_S = 60.0  # other work may share the processor
MEMORY_LIMIT_MB = 512.0
COMMANDS = (("focus", "--rise", "3", "--run", "6.7"), ("inspect",))


@dataclass(frozen=True)
class Outcome:
    """One command on one file: exit code (-1: none came), processor seconds, peak resident memory in MB, in words."""

    name: str
    command: str
    code: int
    seconds: float
    peak_mb: float
    words: str

    @property
    def wrong(self) -> str:
        """Which rule was broken; empty if none."""
        if self.code not in (0, 1, 2):
            return f"exit {self.code}: {self.words}"
        if self.seconds > CPU_LIMIT_S:
            return f"took {self.seconds:.1f} s"
        if self.peak_mb > MEMORY_LIMIT_MB:
            return f"held {self.peak_mb:.0f} MB"
        return ""


def child() -> None:
    """Read paths from standard input, one a line; answer with a line of JSON per command."""
    runner = CliRunner()
    # imports are paid for before anything is limited or measured
    runner.invoke(app, ["focus", os.devnull, *COMMANDS[0][1:]])
    runner.invoke(app, ["inspect", os.devnull])
    now = int(Path("/proc/self/statm").read_text().split()[0]) * resource.getpagesize()
    # a fence round address space, which is more than what is held: threads reserve some that they never touch
    resource.setrlimit(resource.RLIMIT_AS, (now + 1536 * 2**20,) * 2)
    for line in sys.stdin:
        for command, *more in COMMANDS:
            Path("/proc/self/clear_refs").write_text("5")  # the peak starts anew
            begin = time.process_time()
            done = runner.invoke(app, [command, line.strip(), *more, "--json"])
            seconds = time.process_time() - begin
            print(json.dumps([command, *_judged(done), seconds, _peak_mb()]), flush=True)


def _peak_mb() -> float:
    lines = Path("/proc/self/status").read_text().splitlines()
    return next(int(line.split()[1]) for line in lines if line.startswith("VmHWM")) / 1024


def _judged(done: Any) -> tuple[int, str]:
    """Exit code and words; what is no clean refusal and no whole answer gets a code of its own."""
    if done.exception is not None and not isinstance(done.exception, SystemExit):
        place = done.exc_info[2] if done.exc_info else None
        while place is not None and place.tb_next is not None:
            place = place.tb_next
        where = "" if place is None else f" at {place.tb_frame.f_code.co_filename}:{place.tb_lineno}"
        return 90, f"{type(done.exception).__name__}: {done.exception}{where}"[:300]
    if done.exit_code in (2, 3):
        words = done.stderr.strip()
        if "Traceback" in words or not words.startswith("holders: ") or len(words.splitlines()) != 1:
            return 91, f"no clean refusal: {words[:300]}"
        return done.exit_code, words
    try:
        answer = json.loads(done.stdout)
    except ValueError:
        return 92, f"no JSON: {done.stdout[:100]!r} {done.stderr[:100]!r}"
    return done.exit_code, str(answer.get("height", "inspected"))


def here(seed: int, number: int) -> list[Outcome]:
    """Both commands on file ``number`` in this process, whose memory somebody else watches."""
    runner, found = CliRunner(), []
    kind, data = image_mutants.mutant(random.Random(f"{seed}/{number}"), number)
    with tempfile.TemporaryDirectory() as folder:
        path = Path(folder) / f"{number:05d}-{kind}"
        path.write_bytes(data)
        for command, *more in COMMANDS:
            begin = time.process_time()
            done = runner.invoke(app, [command, str(path), *more, "--json"])
            seconds = time.process_time() - begin
            found.append(Outcome(path.name, command, *_coded(done, seconds)))
    return found


def _coded(done: Any, seconds: float) -> tuple[int, float, float, str]:
    code, words = _judged(done)
    return code, seconds, 0.0, words


class Watched:
    """A child process that is started again when it dies or must be ended."""

    def __init__(self) -> None:
        self._child: subprocess.Popen[bytes] | None = None
        self._pending = b""

    def call(self, path: Path) -> Iterator[Outcome]:
        """Both commands on one file."""
        kid = self._running()
        assert kid.stdin is not None
        kid.stdin.write(os.fsencode(f"{path}\n"))
        for command, *_ in COMMANDS:
            line = self._line(kid)
            if not line:
                why = "died" if kid.poll() is not None else f"no answer within {CLOCK_LIMIT_S:.0f} s"
                self.end()
                yield Outcome(path.name, command, -1, 0.0, 0.0, why)
                return
            told, code, words, seconds, peak = json.loads(line)
            yield Outcome(path.name, told, code, seconds, peak, words)

    def _line(self, kid: subprocess.Popen[bytes]) -> bytes:
        """The next line, or nothing when the child ends or takes too long."""
        assert kid.stdout is not None
        end = time.monotonic() + CLOCK_LIMIT_S
        while b"\n" not in self._pending:
            ready, _, _ = select.select([kid.stdout], [], [], max(0.0, end - time.monotonic()))
            more = os.read(kid.stdout.fileno(), 65536) if ready else b""
            if not more:
                return b""
            self._pending += more
        line, self._pending = self._pending.split(b"\n", 1)
        return line

    def _running(self) -> subprocess.Popen[bytes]:
        if self._child is not None and self._child.poll() is not None:
            self.end()
        if self._child is None:
            self._child = subprocess.Popen(
                [sys.executable, str(Path(__file__).resolve()), "--child"],
                stdin=subprocess.PIPE, stdout=subprocess.PIPE, stderr=subprocess.DEVNULL, bufsize=0,
                env={**os.environ, "OMP_NUM_THREADS": "1"},
            )  # fmt: skip
        return self._child

    def end(self) -> None:
        """End the child."""
        if self._child is not None:
            self._child.kill()
            self._child.communicate()
            self._child, self._pending = None, b""


def stress(
    count: int, seed: int, first: int = 0, keep: Path | None = None, *, progress: bool = False
) -> list[Outcome]:
    """Every outcome of ``count`` files from number ``first`` on."""
    found: list[Outcome] = []
    watched = Watched()
    with tempfile.TemporaryDirectory() as folder:
        for number in range(first, first + count):
            kind, data = image_mutants.mutant(random.Random(f"{seed}/{number}"), number)
            path = Path(folder) / f"{number:05d}-{kind}"
            path.write_bytes(data)
            some = list(watched.call(path))
            found += some
            if keep is not None and any(o.wrong for o in some):
                keep.mkdir(parents=True, exist_ok=True)
                (keep / path.name).write_bytes(data)
            path.unlink()
            if progress and number % 100 == 99:
                print(f"{number + 1} files", file=sys.stderr, flush=True)
    watched.end()
    return found


def main() -> int:
    """Run it and tell."""
    parser = argparse.ArgumentParser(description=__doc__)
    parser.add_argument("--count", type=int, default=2000)
    parser.add_argument("--seed", type=int, default=1)
    parser.add_argument("--first", type=int, default=0)
    parser.add_argument("--keep", type=Path, default=None)
    parser.add_argument("--child", action="store_true", help=argparse.SUPPRESS)
    options = parser.parse_args()
    if options.child:
        child()
        return 0
    found = stress(options.count, options.seed, options.first, options.keep, progress=True)
    codes = collections.Counter((o.command, o.code) for o in found)
    for (command, code), n in sorted(codes.items()):
        print(f"{command:8} exit {code:3}: {n}")
    worst = max(found, key=lambda o: o.peak_mb)
    slowest = max(found, key=lambda o: o.seconds)
    print(f"most memory {worst.peak_mb:.0f} MB ({worst.name}, {worst.command})")
    print(f"longest {slowest.seconds:.1f} s ({slowest.name}, {slowest.command})")
    broken = [o for o in found if o.wrong]
    print(f"{len(broken)} of {len(found)} broke a rule")
    for o in broken[:40]:
        print(f"BROKEN {o.name} {o.command}: {o.wrong}")
    return 1 if broken else 0


if __name__ == "__main__":
    sys.exit(main())
