"""The run's own temporary folder; what a killed run left behind is removed by the next."""

from __future__ import annotations

import os
import re
import shutil
import sys
import tempfile
from html import escape
from pathlib import Path

NAME = re.compile(r"holders-page-(\d+)-\w+")


def make_folder(place: Path | None = None) -> Path:
    """A new folder that only this user may read."""
    base = place or Path(tempfile.gettempdir())
    sweep(base)
    return Path(tempfile.mkdtemp(prefix=f"holders-page-{os.getpid()}-", dir=base))


def leading_to(address: str, folder: Path) -> Path:
    """A file in a folder of this user's own that leads a browser on: unlike a command line, nobody else can read it."""
    path = folder / "open.html"
    with os.fdopen(os.open(path, os.O_WRONLY | os.O_CREAT | os.O_EXCL, 0o600), "w", encoding="utf-8") as file:
        there = escape(address, quote=True)
        file.write(
            f'<!doctype html><meta charset="utf-8"><meta http-equiv="refresh" content="0; url={there}">'
            f'<title>holders</title><a href="{there}">Open the page</a>\n'
        )
    return path


def sweep(base: Path) -> None:
    """Remove folders of ours whose process is gone."""
    for path in base.glob("holders-page-*"):
        match = NAME.fullmatch(path.name)
        if match and path.is_dir() and not path.is_symlink() and _mine(path) and not _alive(int(match[1])):
            shutil.rmtree(path, ignore_errors=True)


def _mine(path: Path) -> bool:
    return not hasattr(os, "getuid") or path.stat().st_uid == os.getuid()


def _alive(process: int) -> bool:
    if sys.platform == "win32":
        return True  # there a signal would end it, so leave the folder to the system's own clean-up
    try:
        os.kill(process, 0)
    except (ProcessLookupError, OverflowError):
        return False
    except PermissionError:
        return True
    return True
