"""The preset inside a file that holders wrote: 3MF, PDF, SVG, DXF, GLB, and the page's zip.

Whatever is opened here may come from a stranger: sizes are bounded before anything is parsed, nothing is unpacked
beyond the bound of a preset, no XML is read by a parser (so no entity is ever expanded), and no stream of a PDF is
decompressed.

In SVG and DXF the text stands as lines of JSON strings, in ASCII, one or more a line of the preset: readable, and
exact for every character that TOML allows. A 3MF package has it as a part, a PDF as an attachment, both as the plain
text; a GLB file has it as a string among the extras of its asset.
"""

from __future__ import annotations

import io
import json
import re
import struct
import zipfile
import zlib
from html import unescape
from pathlib import Path

from holders.core.errors import InputError

MAX_PRESET_BYTES = 64 * 1024
MAX_CARRIER_BYTES = 32 * 1024 * 1024
MAX_ENTRIES = 1000  # of a zip
ENTRY = b"PK\x01\x02"  # a line of a zip's directory begins so
PACKED = (
    zipfile.ZIP_STORED,
    zipfile.ZIP_DEFLATED,
)  # as holders writes; others need tables as large as they claim
PART = "Metadata/holders-preset.toml"  # in a 3MF package
MARK = "holders-preset"
PDF_HEAD = b"/Type /EmbeddedFile /Subtype /application#2Ftoml /Params << /Size %d >> /Length %d >>\nstream\n"
HEADS = {
    b"glTF": "glb",
    b"PK\x03\x04": "zip",
    b"%PDF-": "pdf",
    b"<?xml": "svg",
    b"<svg": "svg",
    f"999\n{MARK}".encode(): "dxf",
}
GLB_HEAD = struct.Struct(
    "<4sIIII"
)  # magic, version, length of all; length and type of the first chunk (JSON)
GLB_JSON = 0x4E4F534A
MOST_GLB_JSON = 4 * 1024 * 1024  # the parts' tree, and the preset in it
LONGEST = 160  # characters of the preset in one line; a DXF string may have 2049
MOST_ENCODED = 16 * MAX_PRESET_BYTES  # a character beyond the first plane takes 12

_PDF = re.compile(
    rb"/Type /EmbeddedFile /Subtype /application#2Ftoml /Params << /Size (\d{1,6}) >> /Length \1 >>\nstream\n"
)
_SVG = re.compile(
    rb'<(?:\w{1,20}:)?metadata\s[^>]{0,200}?id="holders-preset"[^>]{0,200}>([^<]{0,%d})</' % MOST_ENCODED
)
_DXF = re.compile(rb"999\r?\nholders-preset (\"[^\r\n]{0,4000}\")\r?\n")


def lines_of(text: str) -> list[str]:
    """The text as ASCII lines, each a JSON string of a piece of it."""
    pieces = [
        line[start : start + LONGEST]
        for line in text.splitlines(keepends=True)
        for start in range(0, len(line), LONGEST)
    ]
    return [json.dumps(piece) for piece in pieces]


def carries(head: bytes) -> str | None:
    """The kind of carrier that a file beginning so is ("zip", "pdf", "svg", "dxf", "glb"); None for anything else.

    Only what it begins with is looked at: the first 32 bytes are enough.
    """
    plain = head[:64].removeprefix(b"\xef\xbb\xbf").replace(b"\r\n", b"\n")
    return next((kind for start, kind in HEADS.items() if plain.startswith(start)), None)


def preset_carried(source: Path | bytes, name: str = "the file") -> str:
    """The preset's text in a file that holders wrote.

    Parameters
    ----------
    source:
        The file, or its bytes.
    name:
        How errors call it where bytes are given; a path names itself.

    Raises
    ------
    InputError
        When the file is no carrier, is too large, or has no readable preset in it.
    """
    if isinstance(source, Path):
        name = str(source)
        try:
            with source.open("rb") as stream:
                data = stream.read(MAX_CARRIER_BYTES + 1)
        except (OSError, ValueError) as error:
            raise InputError("preset", name, f"cannot be read ({error}); check its name and rights") from None
    else:
        data = source
    if len(data) > MAX_CARRIER_BYTES:
        most = MAX_CARRIER_BYTES // 1024**2
        raise InputError("preset", name, f"larger than {most} MiB, so it is no file that holders wrote")
    kind = carries(data[:32])
    if kind is None:
        raise InputError("preset", name, "is no file that carries a preset: open the preset (.toml) itself")
    try:
        found = {"zip": _from_zip, "pdf": _from_pdf, "svg": _from_svg, "dxf": _from_dxf, "glb": _from_glb}[
            kind
        ](data)
        if found is not None and len(found) <= MAX_PRESET_BYTES:
            return found.decode("utf-8-sig")
    except (
        ValueError,
        RecursionError,
        zipfile.BadZipFile,
        NotImplementedError,
        OSError,
        EOFError,
        RuntimeError,
        zlib.error,
    ):
        raise InputError(
            "preset", name, "the preset in it is damaged: open the preset (.toml) itself"
        ) from None
    raise InputError(
        "preset",
        name,
        "has no preset in it: files written by holders carry theirs, until another program saves them again",
    )


def _from_zip(data: bytes) -> bytes | None:
    """From a 3MF package, else the one preset of the page's zip."""
    if (
        data.count(ENTRY) > MAX_ENTRIES
    ):  # before the directory is read: each line of it costs ten times its size
        return None
    with zipfile.ZipFile(io.BytesIO(data)) as archive:
        entries = archive.infolist()
        if len(entries) > MAX_ENTRIES:
            return None
        own = [entry for entry in entries if entry.filename == PART]
        wanted = own or [entry for entry in entries if re.fullmatch(r"[^/]+/[^/]+\.toml", entry.filename)]
        if len(wanted) != 1 or wanted[0].compress_type not in PACKED:
            return None
        with archive.open(wanted[0]) as stream:  # never more than this is unpacked, whatever the entry says
            return stream.read(MAX_PRESET_BYTES + 1)


def _from_pdf(data: bytes) -> bytes | None:
    """The attachment that was added last, which is stored as it is."""
    found = None
    for found in _PDF.finditer(data):  # noqa: B007 - the last one
        pass
    if found is None:
        return None
    size = int(found[1])
    return data[found.end() : found.end() + size] if size <= MAX_PRESET_BYTES else None


def _from_svg(data: bytes) -> bytes | None:
    found = _SVG.search(data)
    return None if found is None else _joined(unescape(found[1].decode("utf-8")).split("\n"))


def _from_dxf(data: bytes) -> bytes | None:
    """From the comments in front of the first section."""
    lines: list[str] = []
    place = 0
    while found := _DXF.match(data, place):
        place = found.end()
        if place > MOST_ENCODED:
            return None
        lines.append(found[1].decode("ascii"))
    return _joined(lines)


def _from_glb(data: bytes) -> bytes | None:
    """From the extras of the asset."""
    if len(data) < GLB_HEAD.size:
        return None
    _, version, _, size, kind = GLB_HEAD.unpack_from(data)
    if version != 2 or kind != GLB_JSON or size > MOST_GLB_JSON:
        return None
    found = json.loads(data[GLB_HEAD.size : GLB_HEAD.size + size])
    for key in ("asset", "extras", MARK):
        found = found.get(key) if isinstance(found, dict) else None
    return found.encode("utf-8") if isinstance(found, str) else None


def _joined(lines: list[str]) -> bytes | None:
    pieces = [json.loads(line) for line in lines if line.strip()]
    if not pieces or not all(isinstance(piece, str) for piece in pieces):
        return None
    return "".join(pieces).encode("utf-8")
