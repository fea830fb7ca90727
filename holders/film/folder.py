"""Where films once solved are kept (:mod:`holders.film.solved`): what names the folder, and the user's own."""

from __future__ import annotations

import os
import sys
from collections.abc import Mapping
from pathlib import Path

FOLDER = "HOLDERS_FILMS"  # of the environment


def users_folder(system: str = sys.platform, environ: Mapping[str, str] = os.environ) -> Path | None:
    """Where the user's system wants what a program can make again; None for a user without a home.

    Source: XDG Base Directory Specification for Linux; macOS and Windows: common practice, no source.
    """
    try:
        home = Path.home()
    except RuntimeError:
        return None
    if system == "win32":
        caches = Path(environ.get("LOCALAPPDATA") or home / "AppData" / "Local")
    elif system == "darwin":
        caches = home / "Library" / "Caches"
    else:
        given = Path(environ.get("XDG_CACHE_HOME", ""))
        caches = given if given.is_absolute() else home / ".cache"
    return caches / "holders" / "films"
