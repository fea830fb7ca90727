"""Studies of the shipped presets, made once for all processes of a test run: a study takes seconds, reading it none."""

from __future__ import annotations

import os
import pickle
import shutil
import tempfile
import time
from functools import cache
from pathlib import Path

from holders.film.folder import FOLDER as FILMS
from holders.study import Study, study_file

SHIPPED = Path(__file__).resolve().parent.parent / "presets"
FOLDER = "HOLDERS_TESTS_KEPT"
PATIENCE_S = 300.0


def begin() -> None:
    """Make the folder where this run's studies are kept; worker processes find it in their environment."""
    os.environ[FOLDER] = tempfile.mkdtemp(prefix="holders-tests-")
    os.environ[FILMS] = str(Path(os.environ[FOLDER]) / "films")


def end() -> None:
    """Take the folder away."""
    del os.environ[FILMS]
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
    lock = kept.with_suffix(".lock")
    if not _first(lock):  # another process is at it: twice the work would take both of them longer
        given_up = time.monotonic() + PATIENCE_S
        while lock.exists() and not kept.exists():
            if time.monotonic() > given_up:  # it was killed
                return _made(path, kept)
            time.sleep(0.05)
        return shipped_study.__wrapped__(path)
    try:
        return _made(path, kept)
    finally:
        lock.unlink()


def _first(lock: Path) -> bool:
    """Whether nobody else makes this one."""
    try:
        os.close(os.open(lock, os.O_CREAT | os.O_EXCL))
    except FileExistsError:
        return False
    return True


def _made(path: Path, kept: Path) -> Study:
    found = study_file(path)
    half = kept.with_suffix(f".{os.getpid()}")
    half.write_bytes(pickle.dumps(found))
    half.replace(kept)
    return found
