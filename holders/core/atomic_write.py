"""One small file written whole or not at all: aside first, flushed, then given its name in one step."""

from __future__ import annotations

import errno
import os
import secrets
from collections.abc import Iterator
from contextlib import contextmanager
from pathlib import Path

from holders.core.errors import InputError, MachineError, printable

CHOOSE = "choose"
ADVICE = {
    errno.ENOSPC: ("the disk is full", "free some space or choose"),
    errno.EDQUOT: ("your disk quota is used up", "free some space or choose"),
    errno.EACCES: ("you may not write there", CHOOSE),
    errno.EPERM: ("you may not write there", CHOOSE),
    errno.EROFS: ("the disk is read-only", CHOOSE),
    errno.ENAMETOOLONG: ("the path is too long", CHOOSE),
    errno.ENOENT: ("the folder does not exist", "make it first, or choose"),
    errno.ENOTDIR: ("part of the path is a file, not a folder", CHOOSE),
    errno.EISDIR: ("a folder is in the way", "move it, or choose"),
    errno.EEXIST: ("a file is in the way", "move it, or choose"),
    errno.EIO: ("the disk reports an error", CHOOSE),
    errno.ELOOP: ("links in the path point at each other", CHOOSE),
}


@contextmanager
def machine_errors(place: Path, another: str = "another place") -> Iterator[None]:
    """Turn the system's refusals into one clear ``MachineError``: the path and the way out, ``another`` place."""
    try:
        yield
    except OSError as error:
        reason, way = ADVICE.get(error.errno or 0, (error.strerror or str(error), CHOOSE))
        raise MachineError(  # the place that was asked for, not the hidden one beside it where it is written first
            f"cannot write {printable(str(place), 200)}: {reason}: {way} {another}. What was there before is untouched."
        ) from error


def replace_file(target: Path, data: bytes) -> None:
    """Give ``target`` these bytes; at any moment it holds the whole old content or the whole new one.

    Raises ``MachineError`` when the system refuses; the old content is then untouched.
    """
    with machine_errors(target), _written_aside(target, data) as aside:
        aside.replace(target)


def new_file(field: str, target: Path, data: bytes) -> None:
    """Make ``target`` with these bytes; a file that is there already is never overwritten.

    Raises ``InputError`` naming ``field`` when it exists, ``MachineError`` when the system refuses.
    """
    not_taken(field, target)
    with machine_errors(target), _written_aside(target, data) as aside:
        try:
            os.link(aside, target)  # unlike a rename, fails when another run has just made it
        except FileExistsError:
            raise _taken(field, target) from None
        except OSError:  # a file system without hard links
            aside.rename(target)


def not_taken(field: str, target: Path) -> None:
    """Raise ``InputError`` naming ``field`` where the file is there already: before anybody is asked anything."""
    if target.exists():
        raise _taken(field, target)


def _taken(field: str, target: Path) -> InputError:
    return InputError(field, str(target), "exists already; choose another name, or move it elsewhere first")


@contextmanager
def _written_aside(target: Path, data: bytes) -> Iterator[Path]:
    """A hidden file beside the target, flushed to the disk; removed again if it is still there at the end."""
    aside = target.with_name(f".{target.name[:80]}.new-{os.getpid()}-{secrets.token_hex(4)}")
    try:
        with aside.open("xb") as file:
            file.write(data)
            file.flush()
            os.fsync(file.fileno())
        yield aside
    finally:
        aside.unlink(missing_ok=True)
