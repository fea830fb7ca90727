"""Whether a corrected copy of a preset may be written: asked before the scans are read."""

from __future__ import annotations

from pathlib import Path

from holders.core.errors import InputError


def may_write(target: Path, preset: Path | None) -> None:
    """Refuse before the scan is read what would be refused after it."""
    if preset is None:
        raise InputError(
            "--write-preset",
            str(target),
            "say with --preset PRESET what the scan was made with: its copy is corrected",
        )
    if target.exists():
        raise InputError(
            "--write-preset", str(target), "exists already; choose another name, or move it elsewhere first"
        )
    if not target.parent.is_dir():
        raise InputError("--write-preset", str(target), "its folder does not exist; make it first")
