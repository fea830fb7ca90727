"""Picture files and how to spoil them, from a seed: used by ``stress_images.py``."""

from __future__ import annotations

import io
import random
import struct
import zlib
from collections.abc import Callable
from functools import lru_cache
from typing import Any

import numpy as np
import tifffile
from PIL import Image

WIDE, HIGH, DPI = 640, 96, 2400.0
EXTREME = (0, 1, 2, 3, 7, 255, 65535, 65536, 2**31 - 1, 2**31, 2**32 - 1)
# TIFF 6.0 tags that say where and how pixels lie, and the resolution
TAGS = (
    254, 256, 257, 258, 259, 262, 266, 273, 274, 277, 278, 279,
    282, 283, 284, 296, 317, 320, 322, 323, 324, 325, 338, 339,
)  # fmt: skip


def picture(rng: random.Random, channels: int, bits: int) -> np.ndarray:
    """A ruling whose contrast falls away from the middle, (rows, columns, channels)."""
    x = np.arange(WIDE) / WIDE
    fall = np.exp(-40.0 * (x - 0.5) ** 2)
    light = 0.6 + 0.3 * fall * np.sign(np.sin(2 * np.pi * np.arange(WIDE) / 12.0))
    grain = np.random.default_rng(rng.getrandbits(32)).standard_normal((HIGH, WIDE, channels))
    top = 255 if bits == 8 else 65535
    data = np.clip(light[None, :, None] + 0.01 * grain, 0, 1) * top
    return np.asarray(data.astype(np.uint8 if bits == 8 else np.uint16))


def tiff(rng: random.Random) -> bytes:
    """An honest TIFF or BigTIFF of a random kind."""
    channels, bits = rng.choice((1, 3, 4)), rng.choice((8, 16))
    data = picture(rng, channels, bits)
    more: dict[str, Any] = {}
    if channels > 1 and rng.random() < 0.3:
        data, more["planarconfig"] = np.moveaxis(data, 2, 0), "separate"
    elif channels > 1:
        more["planarconfig"] = "contig"
    if channels == 4:
        more["extrasamples"] = [rng.choice(("unassalpha", "assocalpha"))]
    if rng.random() < 0.4:
        more["tile"] = (32, 48)
    else:
        more["rowsperstrip"] = rng.choice((1, 7, 32, HIGH))
    more["compression"] = rng.choice((None, "lzw", "zlib"))
    more["predictor"] = more["compression"] is not None and rng.random() < 0.5
    if rng.random() < 0.3:
        more["extratags"] = [(274, "H", 1, rng.choice((0, 1, 2, 3, 4, 5, 6, 7, 8, 9, 300)), True)]
    return written(np.squeeze(data, 2) if channels == 1 else data, bigtiff=rng.random() < 0.3,
                   byteorder=rng.choice("<>"), photometric="rgb" if channels > 1 else "minisblack", **more)  # fmt: skip


def odd_samples(rng: random.Random, grey: np.ndarray, dtype: str) -> bytes:
    """Floating point (with and without nan and infinity), signed, 32 bit, complex."""
    values = grey / 65535.0 if dtype[0] == "f" else grey
    if dtype[0] == "f" and rng.random() < 0.5:
        values = values.copy()
        values[:: rng.randrange(2, 9)] = rng.choice((np.nan, np.inf, -1e4))
    return written(values.astype(dtype), photometric="minisblack")


def written(data: np.ndarray, **more: Any) -> bytes:
    """The bytes that tifffile writes."""
    out = io.BytesIO()
    tifffile.imwrite(out, data, resolution=(DPI, DPI), resolutionunit="INCH", **more)
    return out.getvalue()


def odd_tiff(rng: random.Random) -> bytes:
    """A valid TIFF of a kind that no scanner of film gives."""
    grey = picture(rng, 1, 16)[:, :, 0]
    kind = rng.randrange(12)
    if kind < 6:
        return odd_samples(rng, grey, ("f2", "f4", "f8", "i2", "u4", "c8")[kind])
    if kind == 6:
        return written(grey > 30000, photometric="minisblack")
    if kind == 7:
        palette = np.random.default_rng(1).integers(0, 65536, (3, 256)).astype(np.uint16)
        return written((grey >> 8).astype(np.uint8), photometric="palette", colormap=palette)
    if kind == 8:
        return written(picture(rng, 4, 8), photometric="separated")
    if kind == 9:
        return written(np.stack([grey] * rng.choice((2, 3, 5))), photometric="minisblack")
    raw = bytearray(written(grey if kind == 10 else picture(rng, 3, 8), photometric="minisblack"))
    code, values = (
        (258, (1, 2, 4, 10, 12, 14, 24, 32, 64)) if kind == 10 else (262, (4, 5, 6, 8, 9, 32803, 65535))
    )
    return set_tag(raw, code, 3, 1, rng.choice(values))


def entries(data: bytes | bytearray) -> list[int]:
    """Offsets of the entries of the first directory of a TIFF (12 bytes each; 20 in a BigTIFF)."""
    order, big = ("<" if data[:2] == b"II" else ">"), bytes(data[2:4]) in (b"+\0", b"\0+")
    (first,) = struct.unpack_from(order + ("Q" if big else "I"), data, 8 if big else 4)
    (count,) = struct.unpack_from(order + ("Q" if big else "H"), data, first)
    start, step = first + (8 if big else 2), 20 if big else 12
    return [start + i * step for i in range(count)]


def set_tag(data: bytearray, code: int, kind: int | None, count: int | None, value: int | None) -> bytes:
    """Overwrite parts of one entry of the first directory; unchanged if the tag is not there."""
    order, big = ("<" if data[:2] == b"II" else ">"), bytes(data[2:4]) in (b"+\0", b"\0+")
    for at in entries(data):
        if struct.unpack_from(order + "H", data, at)[0] != code:
            continue
        if kind is not None:
            struct.pack_into(order + "H", data, at + 2, kind)
        if count is not None:
            struct.pack_into(order + ("Q" if big else "I"), data, at + 4, count)
        if value is not None:
            now = struct.unpack_from(order + "H", data, at + 2)[0]
            form = "H" if now == 3 else "I"
            struct.pack_into(
                order + form, data, at + (12 if big else 8), value & (0xFFFF if form == "H" else 2**32 - 1)
            )
    return bytes(data)


def lying_tag(rng: random.Random, data: bytes) -> bytes:
    """One to three tags with other values, counts or types."""
    raw = bytearray(data)
    for _ in range(rng.choice((1, 1, 2, 3))):
        kind = rng.choice((None, None, rng.randrange(0, 20)))
        count = rng.choice((None, None, *EXTREME))
        set_tag(raw, rng.choice(TAGS), kind, count, rng.choice((*EXTREME, rng.getrandbits(32))))
    return bytes(raw)


def sizes(rng: random.Random, data: bytes) -> bytes:
    """Huge or zero sizes, whole in themselves or not."""
    raw = bytearray(data)
    big = rng.choice((0, 1, 30_000, 65_535, 400_000, 2**24, 2**31, 2**32 - 1))
    for code in rng.choice(
        ((256,), (257,), (256, 257), (256, 257, 278), (257, 278), (322, 323), (278,), (279,), (325,))
    ):
        set_tag(raw, code, 4, 1, big)
    return bytes(raw)


def loop(rng: random.Random, data: bytes) -> bytes:
    """The next directory is this one, one before it, or a place in the pixels; or private directories in a ring."""
    raw = bytearray(data)
    order, big = ("<" if data[:2] == b"II" else ">"), bytes(data[2:4]) in (b"+\0", b"\0+")
    where = entries(raw)
    form, step = ("Q", 20) if big else ("I", 12)
    (first,) = struct.unpack_from(order + form, raw, 8 if big else 4)
    goal = rng.choice((first, first, 8, rng.randrange(len(raw))))
    struct.pack_into(order + form, raw, where[-1] + step, goal)
    if rng.random() < 0.4:
        # one entry becomes a pointer to directories below this one (330), which is this one
        at = rng.choice(where)
        struct.pack_into(order + "HH", raw, at, rng.choice((330, 34665, 34853)), 4)
        struct.pack_into(order + form, raw, at + 4, 1)
        struct.pack_into(order + form, raw, at + (12 if big else 8), first)
    return bytes(raw)


def many_pages(rng: random.Random, data: bytes) -> bytes:
    """A chain of thousands of tiny directories behind the first."""
    if bytes(data[2:4]) in (b"+\0", b"\0+"):
        return loop(rng, data)
    raw = bytearray(data)
    order = "<" if data[:2] == b"II" else ">"
    raw += bytes(len(raw) % 2)
    struct.pack_into(order + "I", raw, entries(raw)[-1] + 12, len(raw))
    for _ in range(rng.choice((50, 3000, 30_000))):
        raw += struct.pack(order + "HHHII", 1, 256, 4, 1, 5) + struct.pack(order + "I", len(raw) + 18)
    return bytes(raw)


@lru_cache
def zeros(megabytes: int) -> bytes:
    """So many megabytes of nothing, packed."""
    pressed, block = zlib.compressobj(9), bytes(2**20)
    return b"".join(pressed.compress(block) for _ in range(megabytes)) + pressed.flush()


def bomb(rng: random.Random, _data: bytes) -> bytes:
    """A small file whose one strip unpacks to hundreds of megabytes, said or not said in its sizes."""
    body = zeros(rng.choice((64, 600)))
    wide, high = rng.choice(((WIDE, HIGH), (30_000, 10_000), (20_000, 2_000)))
    tags = {256: wide, 257: high, 258: 8, 259: 8, 262: 1, 273: 8, 277: 1, 278: high, 279: len(body)}
    table = b"".join(struct.pack("<HHII", code, 4, 1, value) for code, value in tags.items())
    return (
        b"II*\0" + struct.pack("<I", 8 + len(body)) + body + struct.pack("<H", len(tags)) + table + bytes(4)
    )


def png(rng: random.Random) -> bytes:
    """An honest PNG of a random kind."""
    out = io.BytesIO()
    kind = rng.randrange(6)
    if kind == 0:
        image = Image.fromarray(picture(rng, 1, 16)[:, :, 0])
    else:
        channels = (1, 3, 3, 4, 1)[kind - 1]
        image = Image.fromarray(np.squeeze(picture(rng, channels, 8)))
        image = image.convert("P") if kind == 3 else image.convert("1") if kind == 5 else image
    image.save(out, "PNG", dpi=(DPI, DPI))
    return out.getvalue()


def png_chunk(rng: random.Random, data: bytes) -> bytes:
    """A chunk of a PNG changed, its sum made right again: sizes, depth, kind, interlace; or a text bomb put in."""
    raw = bytearray(data)
    if rng.random() < 0.3:
        body = b"c\0\0" + zeros(rng.choice((1, 200)))
        kind = rng.choice((b"zTXt", b"iCCP"))
        chunk = struct.pack(">I", len(body)) + kind + body + struct.pack(">I", zlib.crc32(kind + body))
        return bytes(raw[:33] + chunk + raw[33:])
    if rng.random() < 0.6:
        struct.pack_into(">I", raw, 16 + 4 * rng.randrange(2), rng.choice((*EXTREME, 20_000, 9000)))
    else:
        raw[24 + rng.randrange(5)] = rng.choice((0, 1, 2, 3, 4, 6, 8, 16, 255))
    struct.pack_into(">I", raw, 29, zlib.crc32(bytes(raw[12:29])))
    return bytes(raw)


def jpeg(rng: random.Random) -> bytes:
    """An honest JPEG of a random kind."""
    out = io.BytesIO()
    mode = rng.choice(("L", "RGB", "RGB", "CMYK"))
    image = Image.fromarray(picture(rng, 3, 8)).convert(mode)
    exif = Image.Exif()
    exif[274] = rng.choice((0, 1, 3, 6, 8, 9, 999))
    image.save(
        out, "JPEG", dpi=(600, 600), progressive=rng.random() < 0.3, quality=rng.choice((30, 95)), exif=exif
    )
    return out.getvalue()


def jpeg_size(rng: random.Random, data: bytes) -> bytes:
    """Width or height in the frame header (markers C0 and C2) changed."""
    raw = bytearray(data)
    at = max(raw.find(b"\xff\xc0"), raw.find(b"\xff\xc2"))
    if at > 0:
        struct.pack_into(">H", raw, at + 5 + 2 * rng.randrange(2), rng.choice((0, 1, 7, 9000, 65535)))
    return bytes(raw)


def cut(rng: random.Random, data: bytes) -> bytes:
    """The file ends early."""
    return data[: rng.randrange(len(data))]


def head_flips(rng: random.Random, data: bytes) -> bytes:
    """A few bits turned near the beginning, or in a TIFF's directory."""
    raw, reach = bytearray(data), min(len(data), 600)
    base = entries(data)[0] if data[:2] in (b"II", b"MM") and rng.random() < 0.6 else 0
    for _ in range(rng.choice((1, 2, 8))):
        raw[min(base + rng.randrange(reach), len(raw) - 1)] ^= 1 << rng.randrange(8)
    return bytes(raw)


def data_flips(rng: random.Random, data: bytes) -> bytes:
    """Bits turned anywhere."""
    raw = bytearray(data)
    for _ in range(rng.choice((1, 8, 64, 500))):
        raw[rng.randrange(len(raw))] ^= 1 << rng.randrange(8)
    return bytes(raw)


def splice(rng: random.Random, data: bytes) -> bytes:
    """A piece taken out, doubled, or put in from nowhere."""
    a = rng.randrange(len(data))
    b = min(len(data), a + rng.choice((1, 16, 4000)))
    return data[:a] + rng.choice((b"", data[a:b] * 2, rng.randbytes(64))) + data[b:]


def noise(rng: random.Random, data: bytes) -> bytes:
    """The right beginning, then nothing that makes sense."""
    return data[: rng.choice((2, 4, 8, 16, 40))] + rng.randbytes(rng.choice((10, 4000)))


def doubled_tags(rng: random.Random, data: bytes) -> bytes:
    """Entries of the directory overwritten with each other: tags missing, doubled, out of order."""
    raw, where = bytearray(data), entries(data)
    step = where[1] - where[0]
    for _ in range(rng.choice((1, 2, 4))):
        a, b = rng.choice(where), rng.choice(where)
        raw[a : a + step] = raw[b : b + step]
    return bytes(raw)


def resolution(rng: random.Random, data: bytes) -> bytes:
    """Resolution tags of other kinds and values."""
    raw = bytearray(data)
    for code in (282, 283):
        kind = rng.choice((None, 3, 4, 5, 10, 11, 12, 2))
        set_tag(raw, code, kind, rng.choice((None, 0, 1, 2, 100)), rng.choice((None, *EXTREME)))
    set_tag(raw, 296, None, None, rng.choice((0, 1, 2, 3, 9)))
    return bytes(raw)


def same(_rng: random.Random, data: bytes) -> bytes:
    """Nothing is spoilt."""
    return data


Spoil = Callable[[random.Random, bytes], bytes]
ANY: tuple[Spoil, ...] = (same, cut, head_flips, data_flips, splice, noise)
KINDS: tuple[tuple[str, Callable[[random.Random], bytes], tuple[Spoil, ...], int], ...] = (
    ("tif", tiff, (*ANY, lying_tag, lying_tag, lying_tag, sizes, sizes, loop, many_pages, bomb, doubled_tags,
                   resolution), 8),
    ("odd.tif", odd_tiff, (same, same, same, lying_tag, head_flips), 3),
    ("png", png, (*ANY, png_chunk, png_chunk), 2),
    ("jpg", jpeg, (*ANY, jpeg_size), 2),
)  # fmt: skip


def chosen(rng: random.Random, number: int) -> tuple[str, Callable[[random.Random], bytes], Spoil]:
    """What becomes of this number: a name, a maker and a way to spoil. The number goes round the kinds and ways."""
    turn = [kind for kind in KINDS for _ in range(kind[3])]
    ending, make, ways, _ = turn[number % len(turn)]
    way = ways[number // len(turn) % len(ways)] if rng.random() < 0.5 else rng.choice(ways)
    return f"{way.__name__}.{ending}", make, way


def mutant(rng: random.Random, number: int) -> tuple[str, bytes]:
    """One spoilt file: what it is called, and its bytes."""
    name, make, way = chosen(rng, number)
    return name, way(rng, make(rng))
