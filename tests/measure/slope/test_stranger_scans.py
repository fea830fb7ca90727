"""Scans that a stranger wrote: what a small file may cost, and the way round that a picture says it is shown."""

from __future__ import annotations

import io
import struct
import time
import zlib
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

from holders.core.errors import InputError
from holders.face.shared.drawn_name import drawn_name
from holders.measure.finished.look import inspect_scan
from holders.measure.scan.opened import open_scan
from holders.measure.scan.view import look


def one_piece_for_all(wide: int, tall: int, strips: int) -> bytes:
    """A TIFF whose strips all lie at the same place (TIFF 6.0, sections 2 and 8; deflate is its supplement 2)."""
    packed = zlib.compress(bytes(wide * tall), 9)
    offset = 8
    tables = offset + len(packed)
    tables += tables % 2
    ifd = tables + 8 * strips
    tags = [
        (256, 4, 1, wide), (257, 4, 1, tall * strips), (258, 3, 1, 8), (259, 3, 1, 8), (262, 3, 1, 1),
        (273, 4, strips, tables), (277, 3, 1, 1), (278, 4, 1, tall), (279, 4, strips, tables + 4 * strips),
    ]  # fmt: skip
    data = b"II*\0" + struct.pack("<I", ifd) + packed
    data += b"\0" * (tables - len(data))
    data += struct.pack(f"<{strips}I", *[offset] * strips) + struct.pack(
        f"<{strips}I", *[len(packed)] * strips
    )
    data += struct.pack("<H", len(tags)) + b"".join(struct.pack("<HHII", *tag) for tag in tags) + bytes(4)
    return data


@pytest.mark.parametrize("strips", [80, 900])
def test_one_piece_cannot_stand_for_thousands(tmp_path: Path, strips: int) -> None:
    path = tmp_path / "s.tif"
    path.write_bytes(one_piece_for_all(3000, 40, strips))
    assert path.stat().st_size < 12_000
    with tifffile.TiffFile(path) as file:  # another reader takes it as it is meant
        assert file.pages[0].shape == (40 * strips, 3000)
    start = time.process_time()
    with pytest.raises(InputError, match="lie on one another"):
        inspect_scan(str(path), design=None, dpi=2400.0)
    assert time.process_time() - start < 5.0


def ruled(high: int = 96, wide: int = 640) -> np.ndarray:
    """Light falls off to the right, so that the way round can be seen."""
    return np.tile(np.linspace(40_000, 20_000, wide).astype(np.uint16), (high, 1))


def png(data: np.ndarray, code: int, last: bool) -> bytes:
    """A PNG with orientation in its eXIf chunk (PNG, third edition, 11.3.3.6: before or after the pixels)."""
    out = io.BytesIO()
    Image.fromarray(data).save(out, "PNG", dpi=(2400, 2400))
    raw = out.getvalue()
    exif = b"MM\0*" + struct.pack(">IHHHIHHI", 8, 1, 274, 3, 1, code, 0, 0)
    chunk = struct.pack(">I", len(exif)) + b"eXIf" + exif + struct.pack(">I", zlib.crc32(b"eXIf" + exif))
    at = raw.rindex(b"IEND") - 4 if last else raw.index(b"IDAT") - 4
    return raw[:at] + chunk + raw[at:]


@pytest.mark.parametrize("last", [False, True])
@pytest.mark.parametrize("code", range(1, 9))
def test_a_png_is_shown_the_way_round_that_it_says(tmp_path: Path, code: int, last: bool) -> None:
    """As the same picture in a TIFF with tag 274 (EXIF 2.32, 4.6.4: the same number)."""
    (tmp_path / "s.png").write_bytes(png(ruled(), code, last))
    extra = [(274, "H", 1, code, True)]
    tifffile.imwrite(
        tmp_path / "s.tif", ruled(), resolution=(2400, 2400), resolutionunit="INCH", extratags=extra
    )
    one, two = open_scan(tmp_path / "s.png"), open_scan(tmp_path / "s.tif")
    assert one.info.orientation == two.info.orientation == code
    assert look(one, None).flipped == look(two, None).flipped
    one.close()
    two.close()


@pytest.mark.parametrize("code", [0, 9, 300])
def test_an_orientation_that_is_none_counts_for_nothing(tmp_path: Path, code: int) -> None:
    (tmp_path / "s.png").write_bytes(png(ruled(), code, last=False))
    assert open_scan(tmp_path / "s.png").info.orientation == 1


def test_no_two_scans_share_a_picture() -> None:
    names = [
        "scan 1.tif",
        "scan-1.tif",
        "scan_1.tif",
        "Scan-1.tif",
        "scan  1.tif",
        "плёнка.tif",
        "пленка.tif",
    ]
    names += ["a" * 60 + "1.tif", "a" * 60 + "2.tif"]
    drawn = [drawn_name(Path("in") / name, "inspect") for name in names]
    assert len(set(drawn)) == len(names)
    assert drawn[1] == "scan-1-inspect.svg"
    assert drawn == [drawn_name(Path("elsewhere") / name, "inspect") for name in names]
