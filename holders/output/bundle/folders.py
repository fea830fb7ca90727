"""The operating system's side of writing safely: locks, flushing, swapping two folders, errors in words."""

from __future__ import annotations

import ctypes
import errno
import os
import shutil
import sys
import time
from collections.abc import Iterator
from contextlib import contextmanager, suppress
from pathlib import Path

from holders.core.errors import MachineError, printable

WAIT_S = 60.0
AT_FDCWD = -100
RENAME_EXCHANGE = 2  # Linux: renameat2
RENAME_SWAP = 2  # macOS: renamex_np


@contextmanager
def locked(folder: Path, wait_s: float = WAIT_S) -> Iterator[None]:
    """Hold the folder for one run; a second run waits.

    The lock is the system's own, so that it dies with its holder. Where folders cannot be locked (Windows) a small
    file ``.lock`` in it is.

    Raises ``MachineError`` after ``wait_s`` seconds.
    """
    handle = _lock_handle(folder)
    try:
        end = time.monotonic() + wait_s
        while not _try_lock(handle):
            if time.monotonic() > end:
                raise MachineError(
                    f"another run is still writing to {printable(str(folder), 200)}: wait for it to end"
                )
            time.sleep(0.05)
        yield
    finally:
        os.close(handle)


def _lock_handle(folder: Path) -> int:
    if sys.platform == "win32":
        return os.open(folder / ".lock", os.O_RDWR | os.O_CREAT)
    return os.open(folder, os.O_RDONLY)


def _try_lock(handle: int) -> bool:
    try:
        if sys.platform == "win32":
            import msvcrt  # noqa: PLC0415 - exists only there

            msvcrt.locking(handle, msvcrt.LK_NBLCK, 1)
        else:
            import fcntl  # noqa: PLC0415 - does not exist on Windows

            fcntl.flock(handle, fcntl.LOCK_EX | fcntl.LOCK_NB)
    except OSError as error:
        if error.errno in (errno.EWOULDBLOCK, errno.EACCES, errno.EAGAIN, errno.EDEADLK):
            return False
        raise
    return True


def fsync_folder(folder: Path) -> None:
    """Flush a folder's list of names to the disk, where the system can."""
    if sys.platform == "win32":
        return
    handle = os.open(folder, os.O_RDONLY)
    try:
        with suppress(OSError):  # some network file systems refuse; the rename itself still holds
            os.fsync(handle)
    finally:
        os.close(handle)


def swap(stage: Path, target: Path, before: Path) -> None:
    """Give ``target`` the content of ``stage``; the old content is removed last.

    Raises ``OSError`` with the old content in place when the system refuses.
    """
    if not target.exists():
        stage.rename(target)
        return
    if exchange(stage, target):
        return  # the old output now lies in the stage, which the caller removes
    target.rename(before)
    try:
        stage.rename(target)
    except OSError:
        before.rename(target)
        raise
    shutil.rmtree(before, ignore_errors=True)


def exchange(one: Path, two: Path) -> bool:
    """Swap two folders in one step; False where the system or file system cannot."""
    try:
        libc = ctypes.CDLL(None, use_errno=True)
        a, b = os.fsencode(one), os.fsencode(two)
        if sys.platform == "linux":
            return bool(libc.renameat2(AT_FDCWD, a, AT_FDCWD, b, RENAME_EXCHANGE) == 0)
        if sys.platform == "darwin":
            return bool(libc.renamex_np(a, b, RENAME_SWAP) == 0)
    except (OSError, AttributeError, TypeError):
        return False
    return False
