"""What stays of an output folder when it is written again: everything that is not, byte for byte, what we wrote.

A file goes only where the folder's own manifest names it with the hash of the very bytes that lie there. A product that
somebody changed (a 3MF saved from a slicer, a nested DXF), a file that merely bears a name on the manifest, and all
that was laid in are kept; where the name is needed again, beside it as ``name.yours-1.ext``.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import shutil
from collections.abc import Mapping
from pathlib import Path
from typing import Any

MANIFEST = "manifest.json"
MOST_MANIFEST_BYTES = 4 * 2**20
CHUNK_BYTES = 2**20
YOURS = re.compile(r".+\.yours-\d+(\.[^.]+)?")


def carry_over(target: Path, stage: Path) -> None:
    """Bring along from the old folder what is not exactly as we wrote it."""
    ours = _listed(target)
    for item in sorted(target.iterdir()):
        new = stage / item.name
        if _untouched(item, ours) or _same(item, new):
            continue
        goal = _free(stage, target, item.name)
        if item.is_dir() and not item.is_symlink():
            shutil.copytree(item, goal, symlinks=True, copy_function=_linked)
        else:
            _linked(str(item), str(goal))


def kept_in(folder: Path) -> tuple[Path, ...]:
    """The user's own versions of our files that stand beside them in an output folder."""
    if not folder.is_dir():
        return ()
    return tuple(sorted(item for item in folder.iterdir() if YOURS.fullmatch(item.name)))


def manifest_of(folder: Path) -> dict[str, Any]:
    """The manifest of an earlier run; empty where there is none that can be read."""
    try:
        path = folder / MANIFEST
        if not path.is_file():
            return {}
        with path.open("rb") as stream:
            data = stream.read(MOST_MANIFEST_BYTES + 1)
        found = json.loads(data) if len(data) <= MOST_MANIFEST_BYTES else {}
    except (OSError, ValueError, RecursionError):
        return {}
    return found if isinstance(found, dict) else {}


def manifest_text(content: Mapping[str, Any]) -> bytes:
    """The bytes of a manifest."""
    return (json.dumps(content, indent=2, ensure_ascii=True, allow_nan=False) + "\n").encode("ascii")


def _listed(target: Path) -> dict[str, str]:
    """The names that the old folder's manifest lists, each with its hash; without a readable manifest, none."""
    found = manifest_of(target)
    rows = found.get("files")
    if not isinstance(rows, list) or found.get("slug") != target.name:
        return {}
    good = [row for row in rows if isinstance(row, dict)]
    return {str(row.get("path")): str(row.get("sha256", "")) for row in good}


def _untouched(item: Path, ours: dict[str, str]) -> bool:
    """Whether it is what we wrote: bytes of the hash on the manifest, or the manifest itself as we would write it."""
    if item.is_symlink() or not item.is_file():
        return False
    if item.name == MANIFEST:
        return bool(ours) and item.read_bytes() == manifest_text(manifest_of(item.parent))
    return item.name in ours and _hash(item) == ours[item.name]


def _same(item: Path, new: Path) -> bool:
    return new.is_file() and item.is_file() and not item.is_symlink() and _hash(item) == _hash(new)


def _hash(path: Path) -> str:
    found = hashlib.sha256()
    with path.open("rb") as stream:
        while piece := stream.read(CHUNK_BYTES):
            found.update(piece)
    return found.hexdigest()


def _free(stage: Path, target: Path, name: str) -> Path:
    """Its own name where nothing of ours needs it, else the next ``yours`` that is free in both folders."""
    goal, number = stage / name, 0
    while goal.exists() or goal.is_symlink() or (number and _is_there(target / goal.name)):
        number += 1
        plain = Path(name)
        goal = stage / f"{plain.stem}.yours-{number}{plain.suffix}"
    return goal


def _is_there(path: Path) -> bool:
    return path.exists() or path.is_symlink()


def _linked(source: str, goal: str, *, follow_symlinks: bool = False) -> str:
    """A second name for the same file where the file system can, else a copy."""
    del follow_symlinks
    try:
        os.link(source, goal, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(source, goal, follow_symlinks=False)
    return goal
