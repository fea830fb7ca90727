"""All files of a holder appear together or not at all, and an earlier output survives every failure.

The files are made in memory first, then written and flushed to a hidden folder beside the target, and only then does
that folder take the target's place:

* nothing there yet: one rename, which is atomic;
* Linux and macOS: the kernel swaps the two folders in one step, so that at every moment the name holds either the
  whole old output or the whole new one;
* elsewhere: the old folder is renamed to ``.<slug>.before``, then the new one to its name. A kill between the two
  leaves the complete old output under the hidden name; the next run puts it back before it starts.

A lock on the output folder lets one run in at a time. Hidden folders of runs that died are removed by the next run.
What a user laid into the folder is carried over, never deleted.
"""

from __future__ import annotations

import hashlib
import json
import os
import re
import secrets
import shutil
from collections.abc import Mapping
from dataclasses import dataclass
from pathlib import Path

from holders.core.atomic_write import machine_errors, replace_file
from holders.core.errors import InputError
from holders.output.bundle.folders import fsync_folder, locked, swap
from holders.output.formats.export import Producer
from holders.output.formats.registry import format_of

MANIFEST = "manifest.json"
SLUG = re.compile(r"[a-z0-9][a-z0-9_-]{0,79}")
FILE_NAME = re.compile(r"[a-z0-9][a-z0-9_.-]{0,99}", re.IGNORECASE)
# names that Windows keeps for itself
RESERVED = re.compile(r"(con|prn|aux|nul|com\d|lpt\d)(\..*)?", re.IGNORECASE)


@dataclass(frozen=True, slots=True)
class FileRecord:
    """A written file: where it is, what it is, and the SHA-256 and number of its bytes."""

    path: str
    format: str
    units: str
    sha256: str
    bytes: int


def write_all(
    out_dir: Path, slug: str, files: Mapping[str, bytes | Producer], notes: Mapping[str, object] | None = None
) -> tuple[FileRecord, ...]:
    """Write the files and ``manifest.json`` to ``out_dir/slug/``.

    Parameters
    ----------
    out_dir, slug:
        The folder for all output, made if missing, and the name of this holder's folder in it.
    files:
        File name to bytes, or to a function that makes them; all are made before the disk is touched.
    notes:
        What the manifest records besides the files.

    Returns
    -------
    tuple of FileRecord
        In the order given, the manifest last.

    Raises
    ------
    InputError
        For a slug or file name that could leave the folder.
    MachineError
        When the disk fails; the earlier output is then untouched.
    """
    _plain(slug, SLUG, "slug")
    for name in files:
        _plain(name, FILE_NAME, "file name")
    made = {name: what if isinstance(what, bytes) else what() for name, what in files.items()}
    made[MANIFEST] = manifest_bytes(slug, made, notes or {})
    with machine_errors(out_dir / slug, "another --out"):
        out_dir.mkdir(parents=True, exist_ok=True)
        with locked(out_dir):
            _recover(out_dir, slug)
            _place(out_dir, slug, made)
    return tuple(record(out_dir / slug / name, data) for name, data in made.items())


def write_one(out_dir: Path, name: str, data: bytes) -> Path:
    """Write a single file to ``out_dir``, aside first and then renamed, and return where it is.

    Raises as :func:`write_all`.
    """
    _plain(name, FILE_NAME, "file name")
    target = out_dir / name
    with machine_errors(target, "another --out"):
        out_dir.mkdir(parents=True, exist_ok=True)
    replace_file(target, data)
    return target


def noted(folder: Path, key: str) -> str:
    """What the manifest of an earlier run notes under ``key``; "" without a readable manifest or a text there."""
    try:
        found = json.loads((folder / MANIFEST).read_text("utf-8"))
    except (OSError, ValueError, RecursionError):
        return ""
    value = found.get(key) if isinstance(found, dict) else None
    return value if isinstance(value, str) else ""


def record(path: Path, data: bytes) -> FileRecord:
    """Format and unit by the file's ending, hash and size by its bytes."""
    kind = format_of(path.suffix)
    return FileRecord(str(path), kind.name, kind.unit, hashlib.sha256(data).hexdigest(), len(data))


def manifest_bytes(slug: str, made: Mapping[str, bytes], notes: Mapping[str, object]) -> bytes:
    """The manifest: every file with its hash, and the notes. It does not list itself."""
    rows = []
    for name, data in made.items():
        found = record(Path(name), data)
        rows.append(
            {
                "path": name,
                "format": found.format,
                "units": found.units,
                "sha256": found.sha256,
                "bytes": found.bytes,
            }
        )
    content = {"slug": slug, **notes, "files": rows}
    return (json.dumps(content, indent=2, ensure_ascii=True, allow_nan=False) + "\n").encode("ascii")


def _plain(name: str, allowed: re.Pattern[str], field: str) -> None:
    if not allowed.fullmatch(name) or RESERVED.fullmatch(name) or name.endswith("."):
        raise InputError(
            field, name, "use letters, digits, hyphen and underscore; start with a letter or digit"
        )


def _recover(out_dir: Path, slug: str) -> None:
    """Put back what a killed run had moved aside, and remove what it left half-made."""
    target, before = out_dir / slug, out_dir / f".{slug}.before"
    if before.is_dir():
        if target.exists():
            shutil.rmtree(before)
        else:
            before.rename(target)
    for left in out_dir.glob(f".{slug}.new-*"):
        shutil.rmtree(left)


def _place(out_dir: Path, slug: str, made: Mapping[str, bytes]) -> None:
    target = out_dir / slug
    if target.is_symlink() or (target.exists() and not target.is_dir()):
        raise InputError(
            "--out", str(target), "is in the way and is no plain folder: move it, or choose another --out"
        )
    stage = out_dir / f".{slug}.new-{os.getpid()}-{secrets.token_hex(4)}"
    try:
        stage.mkdir()
        for name, data in made.items():
            with (stage / name).open("xb") as file:
                file.write(data)
                file.flush()
                os.fsync(file.fileno())
        if target.exists():
            _carry_over(target, stage)
        fsync_folder(stage)
        swap(stage, target, out_dir / f".{slug}.before")
        fsync_folder(out_dir)
    finally:
        shutil.rmtree(stage, ignore_errors=True)


def _carry_over(target: Path, stage: Path) -> None:
    """Bring along what is in the old folder and not of our making; a name that we need now gets ``kept-`` before it.

    Our own copy of the preset is the user's as soon as it was edited there.
    """
    ours = _listed(target)
    for item in sorted(target.iterdir()):
        if item.name in ours and not _edited(item, ours[item.name], stage / item.name):
            continue
        goal = stage / item.name
        while goal.exists():
            goal = goal.with_name(f"kept-{goal.name}")
        if item.is_dir() and not item.is_symlink():
            shutil.copytree(item, goal, symlinks=True, copy_function=_linked)
        else:
            _linked(str(item), str(goal))


def _edited(item: Path, was: str, new: Path) -> bool:
    """Whether a preset was changed since we wrote it, and is not what we write now."""
    if item.suffix != ".toml" or not item.is_file():
        return False
    data = item.read_bytes()
    return hashlib.sha256(data).hexdigest() != was and not (new.exists() and new.read_bytes() == data)


def _linked(source: str, goal: str, *, follow_symlinks: bool = False) -> str:
    """A second name for the same file where the file system can, else a copy."""
    del follow_symlinks
    try:
        os.link(source, goal, follow_symlinks=False)
    except (OSError, NotImplementedError):
        shutil.copy2(source, goal, follow_symlinks=False)
    return goal


def _listed(target: Path) -> dict[str, str]:
    """The names that the old folder's manifest lists as ours, each with its hash; without a readable manifest, none."""
    try:
        rows = json.loads((target / MANIFEST).read_text(encoding="utf-8"))["files"]
        return {MANIFEST: "", **{str(row["path"]): str(row.get("sha256", "")) for row in rows}}
    except (OSError, ValueError, KeyError, TypeError, AttributeError):
        return {}
