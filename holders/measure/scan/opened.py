"""A scan on disk opened for reading a piece at a time, whatever its format."""

from __future__ import annotations

import os
from pathlib import Path

from holders.core.errors import InputError
from holders.measure.files import unreadable
from holders.measure.scan.model import Scan


def open_scan(path: str | Path) -> Scan:
    """Open a TIFF, BigTIFF, PNG or JPEG scan for reading in pieces.

    Raises
    ------
    InputError
        Missing, empty, not a picture, broken, of a kind that cannot be read in bounded memory, or not 8/16 bit
        grey/RGB.
    """
    name = os.fspath(path)
    try:
        if not Path(name).is_file():
            raise unreadable("scan", name, None, "give the path of a scan: a TIFF, PNG or JPEG file")
        size = Path(name).stat().st_size
        with Path(name).open("rb") as stream:
            head = stream.read(16)
    except (OSError, ValueError) as err:
        raise InputError(
            "scan", name, f"it cannot be read ({type(err).__name__}); check path and rights"
        ) from err
    if size == 0:
        raise InputError("scan", name, "the file is empty; scan again")
    if head[:2] in (b"II", b"MM") and head[2:4] in (b"*\0", b"\0*", b"+\0", b"\0+"):
        from holders.measure.scan.tiff import TiffScan  # noqa: PLC0415 - each kind pays only for its own library

        return TiffScan(name, size)
    if head.startswith(b"\x89PNG\r\n\x1a\n") or head.startswith(b"\xff\xd8\xff"):
        from holders.measure.scan.plain import PlainScan  # noqa: PLC0415

        return PlainScan(name, size)
    raise InputError("scan", name, "this is neither TIFF nor PNG nor JPEG; save the scan as TIFF")
