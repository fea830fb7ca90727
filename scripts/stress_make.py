"""``holders make`` as a whole command under hard conditions: the folder holds the old output or the new, never a mix.

Killed at a random moment; on a disk that is full; into a folder that may not be written; two runs into one folder at
once. After each the folder's files are compared, byte for byte, with what two undisturbed runs wrote, and the next
undisturbed run must succeed and leave nothing hidden behind.

Run from the project root: ``python scripts/stress_make.py --kills 60``
"""

from __future__ import annotations

import argparse
import ctypes
import hashlib
import json
import os
import random
import shutil
import signal
import subprocess
import sys
import tempfile
import time
from collections import Counter
from contextlib import suppress
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
PRESET = ROOT / "presets" / "8x10-mat-board.toml"
Tree = dict[str, str]


def tree(folder: Path) -> Tree:
    """Every file below a folder with its hash; what is hidden is told by its name alone."""
    if not folder.exists():
        return {}
    return {
        str(path.relative_to(folder)): hashlib.sha256(path.read_bytes()).hexdigest()
        for path in sorted(folder.rglob("*"))
        if path.is_file()
    }


def command(preset: Path, out: Path) -> list[str]:
    """The command as a user gives it, without next steps, which write nothing."""
    return [sys.executable, "-m", "holders", "make", str(preset), "--out", str(out), "--json", "--no-steps"]


def environment() -> dict[str, str]:
    """Ours, with the project found from any working folder."""
    return {**os.environ, "PYTHONPATH": str(ROOT), "OMP_NUM_THREADS": "1"}


def run(preset: Path, out: Path, **more: object) -> subprocess.CompletedProcess[str]:
    """Run to the end."""
    return subprocess.run(  # type: ignore[call-overload, no-any-return]
        command(preset, out),
        env=environment(),
        capture_output=True,
        text=True,
        check=False,
        timeout=300,
        **more,
    )


class Bench:
    """A preset before and after a change (one file name, as another's folder is refused), and what each writes."""

    def __init__(self, room: Path, preset: Path = PRESET) -> None:
        text = preset.read_text(encoding="utf-8")
        self.room = room
        self.presets = [room / "one" / "weir.toml", room / "two" / "weir.toml"]
        for path in self.presets:
            path.parent.mkdir()
        self.presets[0].write_text(text, encoding="utf-8")
        self.presets[1].write_text(text.replace("all_mm = 2.5", "all_mm = 2.6"), encoding="utf-8")
        self.made: list[Tree] = []
        start = time.perf_counter()
        for k, one in enumerate(self.presets):
            done = run(one, room / f"plain-{k}")
            if done.returncode != 0:
                raise SystemExit(f"an undisturbed run failed: {done.stderr}")
            self.slug = json.loads(done.stdout)["slug"]
            self.made.append(tree(room / f"plain-{k}" / self.slug))
        self.seconds = (time.perf_counter() - start) / 2
        if self.made[0] == self.made[1]:
            raise SystemExit("the two presets write the same files: nothing could be told apart")

    def old(self, out: Path) -> None:
        """Put the old output there."""
        shutil.copytree(self.room / "plain-0", out)

    def state(self, out: Path) -> str:
        """Old, new, or what it is instead."""
        found = tree(out / self.slug)
        for name, made in zip(("old", "new"), self.made, strict=True):
            if found == made:
                return name
        mixed = sorted(found.items() ^ self.made[1].items())
        return f"MIX of {len(found)} files, differing from the new in {[name for name, _ in mixed][:6]}"

    def healed(self, out: Path) -> str:
        """What the next undisturbed run leaves: "" when all is well."""
        done = run(self.presets[1], out)
        left = [path.name for path in out.iterdir() if path.name not in (self.slug, ".lock")]
        if done.returncode != 0 or self.state(out) != "new" or left:
            return f"the next run: exit {done.returncode}, {self.state(out)}, beside it {left}: {done.stderr[-300:]}"
        return ""


def helper_of(group: int) -> int | None:
    """The process in a command's group that loads the CAD kernel beside it; None where there is none (or no /proc)."""
    for path in Path("/proc").glob("[0-9]*/cmdline"):
        try:
            if b"spawn_main" in path.read_bytes() and os.getpgid(int(path.parent.name)) == group:
                return int(path.parent.name)
        except (OSError, ValueError):
            continue
    return None


def emptied(group: int, within_s: float = 20.0) -> bool:
    """Whether every process of the group ends by itself in time (told by /proc: on Linux alone)."""
    end = time.perf_counter() + within_s
    while time.perf_counter() < end:
        if not living(group):
            return True
        time.sleep(0.05)
    return False


def living(group: int) -> list[int]:
    """The processes of a group that have not ended (one that nobody has asked about since is counted as ended)."""
    found = []
    for path in Path("/proc").glob("[0-9]*/stat"):
        try:
            state, _, its = path.read_text().rpartition(")")[2].split()[:3]
        except (OSError, ValueError):
            continue
        if int(its) == group and state not in "ZX":
            found.append(int(path.parent.name))
    return found


def kill(process: subprocess.Popen[bytes], who: str) -> tuple[str, str]:
    """Kill the whole group, the command alone, or its helper alone: what was done, and the fault in what followed."""
    if process.poll() is not None:
        return "had ended", ""
    if who == "helper":
        number = helper_of(process.pid)
        if number is not None:
            with suppress(ProcessLookupError):
                os.kill(number, signal.SIGKILL)
        code = process.wait(timeout=300)
        return (
            f"helper {'killed' if number else 'not there'}",
            f"exit {code} without its helper" if code else "",
        )
    if who == "command":
        process.kill()
    else:
        os.killpg(process.pid, signal.SIGKILL)
    process.wait()
    return f"{who} killed", "" if emptied(process.pid) else "a process of it went on"


def killed(bench: Bench, times: int, seed: int) -> list[str]:
    """SIGKILL at ``times`` random moments, half of them near the end: all its processes, the command, or its helper."""
    rng, seen, faults = random.Random(seed), Counter[str](), []
    for k in range(times):
        out = bench.room / f"killed-{k}"
        bench.old(out)
        wait = bench.seconds * (rng.uniform(0, 1.1) if k % 2 else rng.uniform(0.75, 1.05))
        process = subprocess.Popen(
            command(bench.presets[1], out),
            env=environment(),
            stdout=subprocess.DEVNULL,
            stderr=subprocess.DEVNULL,
            start_new_session=True,
        )
        time.sleep(wait)
        what, words = kill(process, ("all", "command", "helper")[k % 3])
        state = bench.state(out)
        seen[f"{state[:3]}, {what}"] += 1
        wanted = ("new",) if what.startswith("helper") else ("old", "new")
        if words or state not in wanted:
            faults.append(f"{what} after {wait:.3f} s: {state} {words}")
        elif k % 5 == 0 and (words := bench.healed(out)):
            faults.append(f"{what} after {wait:.3f} s: {words}")
        shutil.rmtree(out)
    print(f"killed: {times} runs of {bench.seconds:.1f} s: {dict(sorted(seen.items()))}")
    return faults


def full(bench: Bench) -> list[str]:
    """A disk with too little room, in steps; needs the right to mount."""
    size = sum(path.stat().st_size for path in (bench.room / "plain-0").rglob("*") if path.is_file())
    faults, tried = [], 0
    for share in (0.05, 0.4, 0.8, 1.2, 1.6, 1.95):
        out = bench.room / f"full-{share}"
        out.mkdir()
        kib = max(16, int(size * share / 1024))
        mounted = subprocess.run(
            ["mount", "-t", "tmpfs", "-o", f"size={kib}k", "tmpfs", str(out)],
            capture_output=True,
            check=False,
        )
        if mounted.returncode != 0:
            print("disk full: skipped, this user may not mount")
            return faults
        try:
            if share >= 1.2:
                shutil.copytree(bench.room / "plain-0" / bench.slug, out / bench.slug)
            before = tree(out / bench.slug)
            done = run(bench.presets[1], out)
            tried += 1
            words = done.stderr.strip()
            if done.returncode != 3 or "Traceback" in words or "full" not in words:
                faults.append(f"disk of {share} times the output: exit {done.returncode}: {words[-300:]}")
            if tree(out / bench.slug) != before or [p.name for p in out.iterdir() if p.name != bench.slug]:
                faults.append(f"disk of {share} times the output: what was there has changed")
        finally:
            subprocess.run(["umount", str(out)], check=True)
    print(f"disk full: {tried} sizes")
    return faults


def without_override() -> None:
    """Take root's right to write anywhere away from this process and its children (Linux)."""
    drop_from_bounding_set, cap_dac_override = 24, 1
    ctypes.CDLL(None).prctl(drop_from_bounding_set, cap_dac_override, 0, 0, 0)


def read_only(bench: Bench) -> list[str]:
    """A folder without the right to write; root runs it without its right to write anywhere."""
    out = bench.room / "read-only"
    bench.old(out)
    for path in (out, out / bench.slug):
        path.chmod(0o555)
    more: dict[str, object] = {"preexec_fn": without_override} if os.geteuid() == 0 else {}
    done = run(bench.presets[1], out, **more)
    words = done.stderr.strip()
    faults = []
    if done.returncode != 3 or "Traceback" in words or "may not write" not in words:
        faults.append(f"read-only folder: exit {done.returncode}: {words[-400:]}")
    if bench.state(out) != "old":
        faults.append(f"read-only folder: {bench.state(out)}")
    out.chmod(0o755)
    print(f"read-only folder: {words[:160]}")
    return faults


def two_at_once(bench: Bench, times: int) -> list[str]:
    """Both presets into one folder at the same time."""
    seen, faults = Counter[str](), []
    for k in range(times):
        out = bench.room / f"both-{k}"
        runs = [
            subprocess.Popen(
                command(one, out),
                env=environment(),
                stdout=subprocess.DEVNULL,
                stderr=subprocess.PIPE,
                text=True,
            )
            for one in bench.presets
        ]
        ends = [(one.communicate()[1], one.returncode) for one in runs]
        state = bench.state(out)
        seen[state[:3]] += 1
        if state not in ("old", "new") or any(code != 0 for _, code in ends):
            faults.append(f"two at once: {state}; {[(code, words[-200:]) for words, code in ends]}")
        if left := [path.name for path in out.iterdir() if path.name not in (bench.slug, ".lock")]:
            faults.append(f"two at once: left behind {left}")
        shutil.rmtree(out)
    print(f"two at once: {times} times, the last to finish was {dict(sorted(seen.items()))}")
    return faults


def main() -> int:
    """All four; prints what came of each; 1 when anything was mixed, lost or unclear."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--kills", type=int, default=60)
    ask.add_argument("--pairs", type=int, default=6)
    ask.add_argument("--seed", type=int, default=1)
    given = ask.parse_args()
    with tempfile.TemporaryDirectory(prefix="holders-stress-") as room:
        bench = Bench(Path(room))
        faults = [
            *killed(bench, given.kills, given.seed),
            *full(bench),
            *read_only(bench),
            *two_at_once(bench, given.pairs),
        ]
    for fault in faults:
        print(f"FAULT {fault}")
    print("nothing mixed, nothing lost" if not faults else f"{len(faults)} faults")
    return 1 if faults else 0


if __name__ == "__main__":
    sys.exit(main())
