"""Ask the registry which locked requirements exist as wheels for each system and Python, and print the table.

    python scripts/wheels_table.py            a row for each requirement that is not a wheel everywhere, and a summary
    python scripts/wheels_table.py --all      every requirement
    python scripts/wheels_table.py --write    put the table into docs/install.md

Needs the resolver ``uv`` (``pip install uv``) and the network. A wheel counts where the resolver, building nothing,
would install it on that system with that Python.
"""

from __future__ import annotations

import argparse
import re
import subprocess
import sys
from collections.abc import Iterable
from datetime import date
from pathlib import Path

ROOT = Path(__file__).resolve().parent.parent
PAGE = ROOT / "docs" / "install.md"
INDEX = "https://pypi.org/simple"
PYTHONS = ("3.11", "3.12", "3.13", "3.14")
# the oldest system of each kind that the requirements allow; the C library of Debian 11 and Ubuntu 20.04 is 2.31
SYSTEMS = {
    "Linux x86-64 (glibc 2.31)": "x86_64-manylinux_2_31",
    "macOS arm64": "aarch64-apple-darwin",
    "Windows x86-64": "x86_64-pc-windows-msvc",
}


def requirements(text: str) -> list[str]:
    """The locked requirements with their markers, without hashes."""
    return [line.rstrip(" \\") for line in re.findall(r"^[A-Za-z0-9].*", text, re.MULTILINE)]


def lacking_one(wanted: Iterable[str], platform: str, python: str) -> str | None:
    """The name of one requirement for which the resolver finds no wheel there; None when it finds all.

    A requirement that its marker leaves out there counts as found. Raises SystemExit when it fails for another reason.
    """
    done = subprocess.run(
        [
            sys.executable, "-m", "uv", "pip", "compile", "--quiet", "--no-config", "--no-header", "--no-annotate",
            "--default-index", INDEX, "--no-deps", "--no-build", "--python-platform", platform, "--python-version",
            python, "-",
        ],
        input="\n".join(wanted), capture_output=True, text=True, check=False,
    )  # fmt: skip
    if not done.returncode:
        return None
    found = re.search(r"Because (\S+?)==\S+ has no (?:usable )?wheels", done.stderr)
    if found is None:
        raise SystemExit(done.stderr)
    return found[1]


def missing(wanted: list[str], platform: str, python: str) -> set[str]:
    """Those that have no wheel there."""
    found: set[str] = set()
    while True:
        name = lacking_one([one for one in wanted if one not in found], platform, python)
        if name is None:
            return found
        found |= {one for one in wanted if one.startswith(f"{name}==")}


def table(wanted: list[str], everything: bool) -> str:
    """The Markdown table, and a sentence in front of it."""
    places = [(system, python) for system in SYSTEMS for python in PYTHONS]
    lacking = {place: missing(wanted, SYSTEMS[place[0]], place[1]) for place in places}
    lines = [f"| requirement | {' | '.join(SYSTEMS)} |", "|---|" + "---|" * len(SYSTEMS)]
    shown = [one for one in wanted if everything or any(one in lacking[place] for place in places)]
    for one in shown:
        cells = [
            ", ".join(p for p in PYTHONS if one not in lacking[system, p]) or "none" for system in SYSTEMS
        ]
        lines.append(f"| {one.split(' ;')[0]} | {' | '.join(cells)} |")
    whole = sum(1 for one in wanted if not any(one in lacking[place] for place in places))
    same = " | ".join([f"{PYTHONS[0]} to {PYTHONS[-1]}"] * len(SYSTEMS))
    lines.append(f"| the other {len(wanted) - len(shown)} | {same} |")
    head = (
        f"Asked on {date.today().isoformat()}: of {len(wanted)} requirements {whole} exist as wheels for every system "
        f"and Python of this table. Each cell names the versions of Python that have one."
    )
    return head + "\n\n" + "\n".join(lines if len(shown) < len(wanted) else lines[:-1]) + "\n"


def main() -> None:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument("--all", action="store_true", help="a row for every requirement")
    given.add_argument("--write", action="store_true", help="put the table into docs/install.md")
    options = given.parse_args()
    made = table(requirements((ROOT / "requirements.txt").read_text(encoding="utf-8")), options.all)
    print(made)
    if options.write:
        text = PAGE.read_text(encoding="utf-8")
        begin, end = "<!-- wheels:begin -->\n", "<!-- wheels:end -->"
        head, _, rest = text.partition(begin)
        PAGE.write_text(head + begin + made + end + rest.partition(end)[2], encoding="utf-8")


if __name__ == "__main__":
    main()
