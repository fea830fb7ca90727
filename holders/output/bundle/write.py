"""All files of a holder appear together or not at all, and an earlier output survives every failure.

The files are made in memory first, then written and flushed to a hidden folder beside the target, and only then does
that folder take the target's place:

* nothing there yet: one rename, which is atomic;
* Linux and macOS: the kernel swaps the two folders in one step, so that at every moment the name holds either the
  whole old output or the whole new one;
* elsewhere: the old folder is renamed to ``.<slug>.before``, then the new one to its name. A kill between the two
  leaves the complete old output under the hidden name; the next run puts it back before it starts.

A lock on the output folder lets one run in at a time. Hidden folders of runs that died are removed by the next run.
What a user changed or laid into the folder is carried over, never deleted: see ``holders.output.bundle.kept``.
"""

from __future__ import annotations

import hashlib
import os
import re
import secrets
import shutil
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from pathlib import Path

from holders.core.atomic_write import machine_errors, replace_file
from holders.core.errors import InputError
from holders.output.bundle.folders import fsync_folder, locked, swap
from holders.output.bundle.kept import MANIFEST, carry_over, manifest_of, manifest_text
from holders.output.formats.export import Producer
from holders.output.formats.registry import format_of

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
    out_dir: Path,
    slug: str,
    files: Mapping[str, bytes | Producer],
    notes: Mapping[str, object] | None = None,
    may: Callable[[], None] | None = None,
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
    may:
        Asked once no other run can write to ``out_dir``: it raises where the folder is not to be taken.

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
            if may is not None:
                may()
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
    value = manifest_of(folder).get(key)
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
    return manifest_text(content)


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
            carry_over(target, stage)
        fsync_folder(stage)
        swap(stage, target, out_dir / f".{slug}.before")
        fsync_folder(out_dir)
    finally:
        shutil.rmtree(stage, ignore_errors=True)
