"""Files that may carry a preset, spoilt and blown up: zips and 3MF, PDF, SVG, DXF, GLB, and pictures of a code.

Bombs that unpack to gigabytes, nested and overlapping zips, half a million entries, packings that need large tables,
XML entities, object streams, lines without number; and honest files with bytes changed, doubled or lost. Each is read
as a preset. It ends well when a preset comes out or one line of ours says what is wrong, within 5 s of the processor
and 512 MiB. The case is made from ``--seed`` and its number alone: ``scripts/stress.py carriers``.
"""

from __future__ import annotations

import functools
import io
import json
import random
import struct
import sys
import zipfile
import zlib
from collections.abc import Callable
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path[:0] = [str(ROOT), str(ROOT / "scripts")]

import image_mutants  # noqa: E402

from holders.core.errors import InputError  # noqa: E402
from holders.preset.carried import (  # noqa: E402
    GLB_HEAD,
    GLB_JSON,
    MARK,
    MAX_CARRIER_BYTES,
    PART,
    PDF_HEAD,
    lines_of,
)
from holders.preset.load import parse, text_of_bytes  # noqa: E402

LIMIT_S, LIMIT_MIB = 5.0, 512.0
TEXT = (ROOT / "presets" / "8x10-printed.toml").read_text(encoding="utf-8")
ZEROS = 1 << 28  # what a bomb unpacks to
Maker = Callable[[random.Random], bytes]


def zipped(entries: dict[str, bytes], kind: int = zipfile.ZIP_DEFLATED) -> bytes:
    """A zip of these entries."""
    made = io.BytesIO()
    with zipfile.ZipFile(made, "w", kind) as archive:
        for name, data in entries.items():
            archive.writestr(name, data)
    return made.getvalue()


@functools.cache
def deflated_zeros() -> bytes:
    """A quarter of a gigabyte of zeros, packed to a thousandth."""
    packer = zlib.compressobj(9, zlib.DEFLATED, -15)
    piece = bytes(1 << 20)
    return b"".join(packer.compress(piece) for _ in range(ZEROS >> 20)) + packer.flush()


def record(
    name: bytes, method: int, packed: int, whole: int, offset: int, flags: int = 0
) -> tuple[bytes, bytes]:
    """The head of an entry and its line in the directory (PKWARE APPNOTE 4.3.7 and 4.3.12), as they are claimed."""
    both = struct.pack("<HHHHIIIHH", flags, method, 0, 33, 0, packed, whole, len(name), 0)
    local = b"PK\x03\x04" + struct.pack("<H", 20) + both + name
    extra = struct.pack("<HHHII", 0, 0, 0, 0, offset)
    return local, b"PK\x01\x02" + struct.pack("<HH", 20, 20) + both + extra + name


def package(bodies: list[tuple[bytes, int, bytes, int]], count: int | None = None, flags: int = 0) -> bytes:
    """A zip of (name, method, packed bytes, size claimed) with a directory of its own making."""
    data, directory = b"", b""
    for name, method, packed, whole in bodies:
        local, line = record(name, method, len(packed), whole, len(data), flags)
        data += local + packed
        directory += line
    return data + directory + ending(len(bodies) if count is None else count, len(directory), len(data))


def ending(count: int, size: int, offset: int) -> bytes:
    """The end of a zip's directory (APPNOTE 4.3.16)."""
    return b"PK\x05\x06" + struct.pack(
        "<HHHHIIH", 0, 0, min(count, 65535), min(count, 65535), size, offset, 0
    )


def zip_bomb(rng: random.Random) -> bytes:
    """The preset's own part unpacks to much more than it may, whatever its size is claimed to be."""
    claimed = rng.choice((0, 100, 65536, ZEROS, 2**32 - 1))
    return package([(PART.encode(), 8, deflated_zeros(), claimed)])


def zip_other_bomb(rng: random.Random) -> bytes:
    """A bomb beside an honest preset."""
    text = TEXT.encode()
    names = [b"3D/3dmodel.model", b"[Content_Types].xml", b"x/" + b"y" * rng.choice((1, 200, 60_000))]
    return package([(rng.choice(names), 8, deflated_zeros(), ZEROS), (PART.encode(), 0, text, len(text))])


def zip_nested(rng: random.Random) -> bytes:
    """Zips in zips."""
    inner = package([(PART.encode(), 8, deflated_zeros(), 5)])
    for _ in range(rng.choice((1, 5, 50))):
        inner = zipped({rng.choice((PART, "a/b.toml", "a.3mf")): inner}, rng.choice((0, 8)))
    return inner


def zip_many(rng: random.Random) -> bytes:
    """Entries without number: a directory as large as a file may be, or one that claims to be."""
    local, line = record(b"a/b.toml", 0, 0, 0, 0)
    many = rng.choice((1001, 20_000, MAX_CARRIER_BYTES // len(line) - 100))
    return local + line * many + ending(rng.choice((1, many)), len(line) * many, len(local))


def zip_overlapped(rng: random.Random) -> bytes:
    """Many entries of the directory that all stand for one bomb."""
    local, line = record(PART.encode(), 8, len(deflated_zeros()), ZEROS, 0)
    many = rng.choice((1, 2, 900))
    data = local + deflated_zeros()
    return data + line * many + ending(many, len(line) * many, len(data))


def zip_packing(rng: random.Random) -> bytes:
    """Packings that holders never writes: BZIP2, and LZMA with a dictionary of gigabytes; unknown ones; secrets."""
    whole = bytes(1 << 22)
    kind = rng.randrange(4)
    if kind == 0:
        return zipped({PART: whole}, zipfile.ZIP_BZIP2)
    if kind == 1:
        made = bytearray(zipped({PART: whole}, zipfile.ZIP_LZMA))
        at = (
            made.find(PART.encode()) + len(PART) + 5
        )  # version, size of the properties, lc/lp/pb, then the dictionary
        made[at : at + 4] = struct.pack("<I", rng.choice((2**32 - 1, 1 << 30, 0)))
        return bytes(made)
    body = (PART.encode(), rng.choice((1, 6, 9, 97, 65535)) if kind == 2 else 8, deflated_zeros(), 9)
    return package([body], flags=0 if kind == 2 else 1)


def svg_entities(rng: random.Random) -> bytes:
    """Entities that stand for a billion laughs, or for a file of the machine."""
    deep = rng.choice((3, 9, 30))
    laughs = "".join(f'<!ENTITY l{k} "{f"&l{k - 1};" * 10}">' for k in range(1, deep))
    outside = '<!ENTITY l0 SYSTEM "file:///etc/passwd">' if rng.random() < 0.5 else '<!ENTITY l0 "weir">'
    inside = rng.choice((f"&l{deep - 1};", f'"title = 1"\n&l{deep - 1};', "&#0;" * 1000, "&amp;" * 100_000))
    return (
        f'<?xml version="1.0"?><!DOCTYPE svg [{outside}{laughs}]><svg xmlns="http://www.w3.org/2000/svg">'
        f'<metadata id="{MARK}">{inside}</metadata></svg>'
    ).encode()


def svg_long(rng: random.Random) -> bytes:
    """Starts of the preset's place without number, ends that never come, strings without number."""
    unit = rng.choice(
        (
            b"<metadata ",
            b'<metadata id="holders-preset">',
            b'<metadata id="holders-preset"' + b" " * 190,
            b'<aaaaaaaaaaaaaaaaaaaa:metadata id="holders-preset" ',
            b'id="holders-preset" ',
            b"<" * 50,
        )
    )
    body = rng.choice(
        (unit * (8_000_000 // len(unit)), b'<metadata id="holders-preset">' + b'""\n' * 400_000)
    )
    return b"<svg " + body + rng.choice((b"", b"</", b"</metadata></svg>"))


def pdf_streams(rng: random.Random) -> bytes:
    """Object streams and attachments: packed bombs, heads without number, sizes that are not theirs."""
    kind = rng.randrange(4)
    head = b"%PDF-1.7\n"
    if kind == 0:
        body = zlib.compress(deflated_zeros())
        return (
            head
            + b"1 0 obj\n<< /Type /ObjStm /Filter [/FlateDecode /FlateDecode] /Length %d >>\nstream\n"
            % len(body)
            + body
        )
    if kind == 1:
        return head + (PDF_HEAD % (5, 5)) * 200_000
    if kind == 2:
        text = TEXT.encode()
        return head + PDF_HEAD % (size := rng.choice((999_999, len(text) + 9, 0)), size) + text
    return head + b"/Type /EmbeddedFile /Subtype /application#2Ftoml /Params << /Size " + b"9" * 8_000_000


def dxf_lines(rng: random.Random) -> bytes:
    """Comments without number, or each as long as a line may be, or never ended."""
    line = rng.choice(
        ('"a"', '"' + "a" * 3990 + '"', '"\\ud800"', '"' + "\\u0041" * 600 + '"', "[" * 3900, '"a')
    )
    unit = f"999\n{MARK} {line}\n"
    times = min(rng.choice((1, 300, 100_000)), 8 * 2**20 // len(unit))
    return (unit * times + "0\nEOF\n").encode()


def glb_trees(rng: random.Random) -> bytes:
    """JSON that nests, repeats or lies about its length."""
    tree = rng.choice(
        (
            "[" * 2_000_000,
            '{"asset":' * 100_000,
            '{"asset":{"extras":{"holders-preset":' + json.dumps("x" * 3_000_000) + "}}}",
            "[" + "{}," * 1_300_000 + "{}]",
            '{"a":' + "9" * 3_000_000 + "}",
            json.dumps({"asset": {"extras": {MARK: TEXT}}}),
        )
    ).encode()
    claimed = rng.choice((len(tree), 2**32 - 1, 0, 4 * 2**20))
    return GLB_HEAD.pack(b"glTF", 2, len(tree) + GLB_HEAD.size, claimed, GLB_JSON) + tree


def honest(rng: random.Random) -> bytes:
    """A file as holders writes it, of any kind."""
    data, lines = TEXT.encode(), lines_of(TEXT)
    return rng.choice(
        (
            zipped({"[Content_Types].xml": b"<Types/>", PART: data}),
            zipped({"weir/weir.toml": data, "weir/frame.stl": bytes(200)}),
            b"%PDF-1.7\n" + PDF_HEAD % (len(data), len(data)) + data + b"\nendstream\n%%EOF",
            ('<svg><metadata id="holders-preset">' + "\n".join(lines) + "</metadata></svg>").encode(),
            ("".join(f"999\n{MARK} {line}\n" for line in lines) + "0\nEOF\n").encode(),
            GLB_HEAD.pack(
                b"glTF", 2, 0, len(tree := json.dumps({"asset": {"extras": {MARK: TEXT}}})), GLB_JSON
            ) + tree.encode(),
        )
    )  # fmt: skip


def spoilt(rng: random.Random) -> bytes:
    """An honest file with bytes changed, doubled, moved or lost."""
    data = bytearray(honest(rng))
    for _ in range(rng.choice((1, 1, 3, 20))):
        at, long = rng.randrange(len(data) + 1), rng.choice((1, 4, 100))
        kind = rng.randrange(4)
        if kind == 0:
            data[at : at + long] = rng.randbytes(long)
        elif kind == 1:
            del data[at : at + long]
        elif kind == 2:
            data[at:at] = data[at : at + long] * rng.choice((1, 50))
        else:
            data[at : at + 1] = bytes([rng.choice((0, 10, 34, 60, 92, 255))])
        if len(data) < 8:
            break
    return bytes(data[: rng.randrange(len(data) + 1)] if rng.random() < 0.1 else data)


def picture(rng: random.Random) -> bytes:
    """A PNG that unpacks to all the pixels that a photo may have, or to more than it says; a TIFF like it."""
    side = rng.choice((7700, 7745, 20_000, 60_000))
    kind = rng.choice((0, 2, 6))  # grey, colours, colours with transparency
    row = 1 + side * {0: 1, 2: 3, 6: 4}[kind]
    size = min(row * side, 400 << 20)
    packer = zlib.compressobj(1)
    body = b"".join(packer.compress(bytes(1 << 20)) for _ in range(size >> 20)) + packer.flush()
    head = struct.pack(">IIBBBBB", side, side, 8, kind, 0, 0, 0)
    return b"\x89PNG\r\n\x1a\n" + b"".join(
        _chunk(*one) for one in ((b"IHDR", head), (b"IDAT", body), (b"IEND", b""))
    )


def _chunk(name: bytes, data: bytes) -> bytes:
    return struct.pack(">I", len(data)) + name + data + struct.pack(">I", zlib.crc32(name + data))


def spoilt_picture(rng: random.Random) -> bytes:
    """A small picture of any kind, as the scans are spoilt."""
    return bytes(image_mutants.mutant(rng, rng.randrange(10_000))[1])


BOMBS: tuple[Maker, ...] = (
    zip_bomb, zip_other_bomb, zip_nested, zip_many, zip_overlapped, zip_packing, svg_entities, svg_long,
    pdf_streams, dxf_lines, glb_trees, picture,
)  # fmt: skip


def case(seed: int, number: int) -> tuple[str, bytes]:
    """What case ``number`` is called, and its bytes: one in five is a bomb, one a spoilt picture."""
    rng = random.Random(f"{seed}/{number}")
    maker = BOMBS[number // 5 % len(BOMBS)] if number % 5 == 0 else spoilt
    if number % 5 == 1:
        maker = honest if number % 50 == 1 else spoilt_picture
    return maker.__name__, maker(rng)


def fault(data: bytes) -> str:
    """What is wrong with how a file is met; "" where nothing is."""
    try:
        parse(text_of_bytes(data, "the file"), "the file")
    except InputError as error:
        if not error.message.isprintable():
            return "a control character in the message"
    except Exception as error:
        return f"{type(error).__name__}: {error}"[:300]
    return ""
