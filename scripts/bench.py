"""The speed report: every bench script in one run, their ratios as one table, kept in docs/speed.md by ``--write``.

Ratios compare two things measured in the same run on the same machine; the seconds beside them are this machine's.

Run from the project root: ``make bench``
"""

from __future__ import annotations

import argparse
import datetime as dt
import os
import platform
import subprocess
import sys
from pathlib import Path

from bench_rows import MARK

ROOT = Path(__file__).resolve().parents[1]
PAGE = ROOT / "docs" / "speed.md"
BEGIN, END = "<!-- bench:begin -->", "<!-- bench:end -->"
SCRIPTS = (
    ("bench_start.py",),
    ("bench_batch.py", "--runs", "9"),
    ("bench_film.py",),
    ("bench_focus.py", "--size", "1500"),
    ("bench_nest.py",),
    ("bench_page.py",),
)


def rows_of(command: tuple[str, ...]) -> list[str]:
    """Run one script, show what it says, and keep its rows."""
    print(f"== {' '.join(command)}", flush=True)
    path = os.pathsep.join([str(ROOT), os.environ.get("PYTHONPATH", "")])
    with subprocess.Popen(
        [sys.executable, str(ROOT / "scripts" / command[0]), *command[1:]],
        cwd=ROOT,
        env={**os.environ, "PYTHONPATH": path},
        stdout=subprocess.PIPE,
        text=True,
    ) as process:
        assert process.stdout is not None
        lines = []
        for line in process.stdout:
            print(line, end="", flush=True)
            lines.append(line.rstrip())
    if process.returncode:
        raise SystemExit(f"{command[0]} failed")
    return [line for line in lines if line.startswith(MARK)]


def machine() -> str:
    """What it ran on, in general words."""
    memory = os.sysconf("SC_PAGE_SIZE") * os.sysconf("SC_PHYS_PAGES") / 2**30
    return (
        f"{os.cpu_count()} processors ({platform.machine()}), {memory:.0f} GiB, {platform.system()}, "
        f"Python {platform.python_version()}"
    )


def table(rows: list[str]) -> str:
    """The block for docs/speed.md."""
    told = f"Measured {dt.date.today().isoformat()} in one run on {machine()}."
    return "\n".join([BEGIN, told, "", "| what | measured | aim |", "|---|---|---|", *rows, END])


def renewed(block: str, script: str, rows: list[str]) -> str:
    """The table with one script's rows measured anew, and a line that says so."""
    lines = [line for line in block.splitlines() if not line.startswith(f"`{script}` anew")]
    for row in rows:
        what = row.rsplit(" | ", 2)[0]
        (at,) = (k for k, line in enumerate(lines) if line.startswith(f"{what} | "))
        lines[at] = row
    told = f"`{script}` anew {dt.date.today().isoformat()}, in a run of its own on the same machine."
    start = lines.index("| what | measured | aim |")
    return "\n".join([*lines[: start - 1], told, *lines[start - 1 :]])


def main() -> int:
    """Run all, print the table; with ``--write`` also put it into docs/speed.md."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--write", action="store_true", help="put the table into docs/speed.md")
    ask.add_argument(
        "--only", choices=[name for name, *_ in SCRIPTS], help="renew one script's rows in the table"
    )
    given = ask.parse_args()
    text = PAGE.read_text(encoding="utf-8")
    before, begun, rest = text.partition(BEGIN)
    block, ended, after = rest.partition(END)
    if not begun or not ended:
        raise SystemExit(f"docs/speed.md has no {BEGIN} ... {END}")
    wanted = [command for command in SCRIPTS if given.only in (None, command[0])]
    rows = [row for command in wanted for row in rows_of(command)]
    made = table(rows) if given.only is None else renewed(begun + block + ended, given.only, rows)
    print(f"\n{made}")
    if given.write:
        PAGE.write_text(before + made + after, encoding="utf-8")
    return 0


if __name__ == "__main__":
    sys.exit(main())
