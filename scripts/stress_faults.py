"""The table of faults, each row seen to fail: what guards it is taken away in a copy, and its test must notice.

Run from the project root: ``python scripts/stress_faults.py``; ``--row N`` for one. Exits with 1 where a test passes
without its guard, or fails with it.
"""

from __future__ import annotations

import argparse
import os
import shutil
import subprocess
import sys
import tempfile
from dataclasses import dataclass
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
WRITE, KEPT = "tests/output/formats/test_write.py", "tests/output/formats/test_kept.py"
PAGE = "tests/face/page/test_page_strangers.py"


@dataclass(frozen=True)
class Row:
    """A fault, what holds then, its test, and the guard: a text of a file and what stands there without it."""

    fault: str
    holds: str
    test: str
    file: str
    guard: str
    without: str


ROWS = (
    Row(
        "killed at any step of writing", "the folder is whole, old or new; the user's notes in it stay",
        f"{WRITE}::test_killed_at_any_step_the_output_is_old_or_new", "holders/output/bundle/folders.py",
        "    target.rename(before)\n    try:\n", "    shutil.rmtree(target)\n    before.mkdir()\n    try:\n",
    ),
    Row(
        "disk full, and read-only (a real one)", "the old output, and one line that says so",
        f"{WRITE}::test_a_really_full_disk", "holders/output/bundle/write.py",
        "        shutil.rmtree(stage, ignore_errors=True)\n", "        pass\n",
    ),
    Row(
        "I/O error, quota, no rights, at each step", "the old output, nothing hidden left, one line",
        f"{WRITE}::test_every_disk_failure_leaves_the_old_output", "holders/output/bundle/write.py",
        "    with machine_errors(out_dir / slug, \"another --out\"):\n"
        "        out_dir.mkdir(parents=True, exist_ok=True)\n"
        "        with locked",
        "    if True:\n        out_dir.mkdir(parents=True, exist_ok=True)\n        with locked",
    ),
    Row(
        "a folder without rights", "nothing is written, one line",
        f"{WRITE}::test_a_folder_without_permission", "holders/core/atomic_write.py",
        'errno.EACCES: ("you may not write there", CHOOSE)', 'errno.EACCES: ("it went wrong", CHOOSE)',
    ),
    Row(
        "two runs at once into one folder", "one after the other, never a mix",
        f"{WRITE}::test_two_runs_at_once_never_mix", "holders/output/bundle/folders.py",
        "        while not _try_lock(handle):\n", "        while False:\n",
    ),
    Row(
        "two presets of one title at once", "one is made, the other refused",
        f"{KEPT}::test_two_presets_of_one_title_made_at_once_lose_none", "holders/output/bundle/write.py",
        "            if may is not None:\n                may()\n", "",
    ),
    Row(
        "a product that the user edited", "it stays beside the new one",
        f"{KEPT}::test_products_that_were_edited_stay_beside_the_new_ones", "holders/output/bundle/kept.py",
        "    return item.name in ours and _hash(item) == ours[item.name]\n", "    return item.name in ours\n",
    ),
    Row(
        "a foreign file that a manifest names", "it stays",
        f"{KEPT}::test_a_file_that_a_manifest_names_without_its_hash_stays", "holders/output/bundle/kept.py",
        "    return item.name in ours and _hash(item) == ours[item.name]\n",
        "    return item.name in ours and ours[item.name] in ('', 'None', _hash(item))\n",
    ),
    Row(
        "foreign files and folders in the output folder", "they stay",
        f"{WRITE}::test_what_a_user_laid_in_the_folder_stays", "holders/output/bundle/write.py",
        "            carry_over(target, stage)\n", "            pass\n",
    ),
    Row(
        "a record or preset written when the disk fails", "the old one, whole",
        "tests/test_atomic_write.py::test_a_failure_at_any_step_keeps_the_old", "holders/core/atomic_write.py",
        "_written_aside(target, data) as aside:\n        aside.replace(target)\n",
        "_written_aside(target, data) as aside:\n"
        "        target.unlink(missing_ok=True)\n        aside.replace(target)\n",
    ),
    Row(
        "an upload to the page that breaks off", "no scan is left, no traceback",
        f"{PAGE}::test_an_upload_that_breaks_off_leaves_no_trace", "holders/face/page/bodies.py",
        "    except ClientDisconnect:\n        target.unlink(missing_ok=True)\n"
        "        raise BadBody(400, BROKEN_OFF) from None\n",
        "    except ClientDisconnect:\n        raise\n",
    ),
    Row(
        "Ctrl-C where Python can raise nothing", "heard a moment later, no traceback",
        "tests/core/test_interrupts.py::test_ctrl_c_is_heard_once", "holders/core/interrupts.py",
        "            again.start()\n", "            before(lost)\n",
    ),
)  # fmt: skip


def table() -> str:
    """The rows as markdown."""
    head = ["| fault | what holds | test |", "|---|---|---|"]
    return "\n".join([*head, *(f"| {row.fault} | {row.holds} | `{row.test}` |" for row in ROWS)])


def broken(row: Row, room: Path) -> str:
    """What is wrong with a row's test: "" when it passes as the tree is and fails without the guard."""
    path = room / row.file
    whole = path.read_text(encoding="utf-8")
    if whole.count(row.guard) != 1:
        return f"its guard stands {whole.count(row.guard)} times in {row.file}"
    if not _passes(row.test, room):
        return "fails as the tree is"
    path.write_text(whole.replace(row.guard, row.without), encoding="utf-8")
    try:
        return "passes without its guard" if _passes(row.test, room) else ""
    finally:
        path.write_text(whole, encoding="utf-8")


def _passes(test: str, room: Path) -> bool:
    command = [sys.executable, "-B", "-m", "pytest", "-q", "-x", "-p", "no:cacheprovider", test]
    here = {**os.environ, "PYTHONPATH": str(room)}
    done = subprocess.run(command, cwd=room, env=here, capture_output=True, check=False)
    return done.returncode == 0


def main() -> int:
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--row", type=int, default=None, help="one row alone, from 1")
    given = ask.parse_args()
    faults = 0
    with tempfile.TemporaryDirectory(prefix="holders-faults-") as name:
        room = Path(name) / "tree"
        shutil.copytree(
            ROOT,
            room,
            ignore=shutil.ignore_patterns(".git", ".venv", "build", "out", "__pycache__", ".mypy_cache"),
        )
        for number, row in enumerate(ROWS, 1):
            if given.row in (None, number):
                words = broken(row, room)
                faults += bool(words)
                print(f"{number}. {row.fault}: {words or 'seen to fail without its guard'}", flush=True)
    return int(faults > 0)


if __name__ == "__main__":
    sys.exit(main())
