"""Studies of the shipped presets, made once for all processes of a test run: a study takes seconds, reading it none."""

from __future__ import annotations

import os
import pickle
import shutil
import tempfile
from functools import cache
from pathlib import Path

from holders.study import Study, study_file

SHIPPED = Path(__file__).resolve().parent.parent / "presets"
FOLDER = "HOLDERS_TESTS_KEPT"


def begin() -> None:
    """Make the folder where this run's studies are kept; worker processes find it in their environment."""
    os.environ[FOLDER] = tempfile.mkdtemp(prefix="holders-tests-")


def end() -> None:
    """Take the folder away."""
    shutil.rmtree(os.environ.pop(FOLDER), ignore_errors=True)


@cache
def shipped_study(path: Path) -> Study:
    """``study_file(path)`` of a file that no test changes."""
    assert path.resolve().parent == SHIPPED, "only what no test writes"
    kept = Path(os.environ[FOLDER]) / f"{path.stem}.pickle"
    if kept.exists():
        found = pickle.loads(kept.read_bytes())
        assert isinstance(found, Study)
        return found
    found = study_file(path)
    half = kept.with_suffix(f".{os.getpid()}")
    half.write_bytes(pickle.dumps(found))
    half.replace(kept)
    return found
