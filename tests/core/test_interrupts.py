"""Ctrl-C wherever it comes: one line and exit 130, never lost, never a traceback."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[2]
BEGIN = """
import atexit, signal, sys, time
import typer
from holders.core.interrupts import never_lost
from holders.face.cli.told import told

signal.signal(signal.SIGINT, signal.default_int_handler)  # as at a terminal: a shell ignores it for what runs behind
never_lost()

class Cleared:
    def __del__(self):
        signal.raise_signal(signal.SIGINT)

@told
def check():
    {}
    end = time.monotonic() + 20
    while time.monotonic() < end:
        pass

try:
    check()
except typer.Exit as ended:
    {}
    sys.exit(ended.exit_code)
"""
LOST, HEARD, AGAIN = "Cleared()", "signal.raise_signal(signal.SIGINT)", "signal.raise_signal(signal.SIGINT)"


@pytest.mark.parametrize(
    ("first", "then"),
    [(LOST, "pass"), (HEARD, AGAIN), (LOST, AGAIN)],
    ids=["where nothing can be raised", "twice", "both"],
)
def test_ctrl_c_is_heard_once(first: str, then: str) -> None:
    done = subprocess.run(
        [sys.executable, "-c", BEGIN.format(first, then)],
        cwd=ROOT,
        env={"PYTHONPATH": str(ROOT), "PATH": ""},
        capture_output=True,
        text=True,
        check=False,
        timeout=60,
    )
    assert done.stderr == "holders: stopped; nothing was half-written\n"
    assert done.returncode == 130
