"""A command as a terminal starts it, so that Ctrl-C reaches it and all its processes."""

from __future__ import annotations

import signal
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[3]


def in_terminal(*arguments: str | Path) -> subprocess.Popen[str]:
    """Python with these arguments in a process group of its own, from the project's root."""
    return subprocess.Popen(
        [sys.executable, *map(str, arguments)],
        cwd=ROOT,
        stdout=subprocess.PIPE,
        stderr=subprocess.PIPE,
        text=True,
        start_new_session=True,
        # a shell starts what runs in its background deaf to Ctrl-C, and that is inherited
        preexec_fn=lambda: signal.signal(signal.SIGINT, signal.SIG_DFL),  # noqa: PLW1509 - no threads here
    )
