"""Looks at the head of a TIFF before any library does: what it claims must fit into the file it stands in.

A tag may claim a billion strips; a reader that believes it fills the memory before it finds the file empty. Only
the first directory is read here, and only its counts and offsets are judged. Tag numbers and type sizes: TIFF
revision 6.0, section 2 (from memory); BigTIFF header as in REFERENCES of this project: version 43, offsets of
8 bytes, entries of 20 bytes.
"""

from __future__ import annotations

import struct
from typing import BinaryIO

from holders.core.errors import InputError

TYPE_BYTES = {
    1: 1,
    2: 1,
    3: 2,
    4: 4,
    5: 8,
    6: 1,
    7: 1,
    8: 2,
    9: 4,
    10: 8,
    11: 4,
    12: 8,
    13: 4,
    16: 8,
    17: 8,
    18: 8,
}
MAX_ENTRIES = 512
MAX_TAG_BYTES = 16 * 2**20


def _broken(path: str, why: str) -> InputError:
    return InputError("scan", path, f"this TIFF is broken ({why}); save the scan again and try once more")


def guard_tiff(stream: BinaryIO, path: str, size: int) -> None:
    """Refuse a TIFF whose first directory cannot be true.

    Parameters
    ----------
    stream:
        Opened file, any position.
    path:
        For the message.
    size:
        Length of the file, bytes.

    Raises
    ------
    InputError
        Header or first directory truncated, tags that claim more than the file holds, or more than 16 MiB in
        one tag that decides how the picture is read.
    """
    stream.seek(0)
    head = stream.read(16)
    if len(head) < 8:
        raise _broken(path, "the file ends inside the header")
    order = "<" if head[:2] == b"II" else ">"
    version = struct.unpack(order + "H", head[2:4])[0]
    if version not in (42, 43):
        raise _broken(path, f"version {version} in the header")
    big = version == 43
    if big and len(head) < 16:
        raise _broken(path, "the file ends inside the header")
    first = struct.unpack(order + "Q", head[8:16])[0] if big else struct.unpack(order + "I", head[4:8])[0]
    count_form, entry_bytes = (order + "Q", 20) if big else (order + "H", 12)
    count_bytes = struct.calcsize(count_form)
    if first < 8 or first + count_bytes > size:
        raise _broken(path, "its directory lies outside the file")
    stream.seek(first)
    n = struct.unpack(count_form, stream.read(count_bytes))[0]
    if not 0 < n <= MAX_ENTRIES:
        raise _broken(path, f"{n} tags")
    entries = stream.read(n * entry_bytes)
    if len(entries) < n * entry_bytes:
        raise _broken(path, "the file ends inside its directory")
    for i in range(n):
        _guard_entry(entries[i * entry_bytes : (i + 1) * entry_bytes], order, big, path, size)
    stream.seek(0)


def _guard_entry(entry: bytes, order: str, big: bool, path: str, size: int) -> None:
    code, kind = struct.unpack(order + "HH", entry[:4])
    count = struct.unpack(order + ("Q" if big else "I"), entry[4 : 12 if big else 8])[0]
    wide = TYPE_BYTES.get(kind, 1) * count
    inline = 8 if big else 4
    if wide <= inline:
        return
    where = struct.unpack(order + ("Q" if big else "I"), entry[12:] if big else entry[8:])[0]
    # 256..530 are the tags that say where and how the pixels lie; profiles and private tags may be large
    if code <= 530 and (wide > MAX_TAG_BYTES or where + wide > size):
        raise _broken(path, f"tag {code} claims {count} values")
