"""Scans on disk: every promised kind reads right, everything else is refused in bounded memory and time."""

from __future__ import annotations

import contextlib
import io
import itertools
import struct
import sys
import tracemalloc
import warnings

import numpy as np
import pytest
import tifffile
from PIL import Image

from holders.core.errors import InputError
from holders.measure.scan.model import to_float
from holders.measure.scan.opened import open_scan
from holders.measure.scan.view import look

KINDS = [
    (big, depth, channels, tiled, planar, coding, predictor, order)
    for big, depth, channels, tiled, planar, coding, predictor, order in itertools.product(
        (False, True),
        ("u1", "u2"),
        (1, 3, 4),
        (False, True),
        (1, 2),
        (None, "lzw", "zlib"),
        (False, True),
        "<>",
    )
    if not (planar == 2 and channels == 1) and not (predictor and not coding) and not (big and order == ">")
]


def _save(path, data, **more):
    tifffile.imwrite(path, data, resolution=(2400, 2400), resolutionunit="INCH", **more)
    return path


def _pixels(path, rows, cols):
    scan = open_scan(path)
    try:
        return scan.read(rows, cols), scan.info
    finally:
        scan.close()


def test_every_kind_of_tiff_gives_the_pixels_that_were_written(tmp_path):
    rng = np.random.default_rng(1)
    for big, depth, channels, tiled, planar, coding, predictor, order in KINDS:
        data = rng.integers(0, 256 if depth == "u1" else 65536, (75, 133, channels)).astype(depth)
        stored = data[:, :, 0] if channels == 1 else data if planar == 1 else np.moveaxis(data, 2, 0)
        more = {"tile": (32, 48)} if tiled else {"rowsperstrip": 7}
        if channels > 1:
            more["planarconfig"] = "contig" if planar == 1 else "separate"
        if channels == 4:
            more["extrasamples"] = ["unassalpha"]
        path = _save(
            tmp_path / "s.tif", stored, photometric="rgb" if channels > 1 else "minisblack", bigtiff=big,
            compression=coding, predictor=predictor, byteorder=order, **more,
        )  # fmt: skip
        got, info = _pixels(path, (11, 61), [(3, 50), (60, 133)])
        assert np.array_equal(got, np.concatenate([data[11:61, 3:50], data[11:61, 60:133]], axis=1))
        assert got.dtype == np.dtype(depth)
        assert info.dpi_x == info.dpi_y == 2400


def test_resolution_units_and_white_is_zero(tmp_path):
    data = np.full((40, 90), 60000, np.uint16)
    tifffile.imwrite(
        tmp_path / "a.tif",
        data,
        photometric="miniswhite",
        resolution=(944.88, 944.88),
        resolutionunit="CENTIMETER",
    )
    got, info = _pixels(tmp_path / "a.tif", (0, 40), [(0, 90)])
    assert info.dpi_x == pytest.approx(2400, rel=1e-4)
    assert info.white_is_zero
    assert to_float(got, info).mean() == pytest.approx(1 - 60000 / 65535, abs=1e-6)
    tifffile.imwrite(
        tmp_path / "b.tif", data, photometric="minisblack", resolution=(300, 300), resolutionunit="NONE"
    )
    assert _pixels(tmp_path / "b.tif", (0, 1), [(0, 1)])[1].dpi_x is None
    scan = open_scan(tmp_path / "b.tif")
    with pytest.raises(InputError, match="--dpi"):
        look(scan, None)
    assert look(scan, 1200).pitch_mm == pytest.approx(25.4 / 1200)
    scan.close()


@pytest.mark.parametrize("orientation", range(1, 9))
def test_orientation_tells_which_end_is_left_or_top(tmp_path, orientation):
    # the stored long axis is columns for 1..4, rows for 5..8 as displayed; the end that is shown left or top decides
    data = np.zeros((30, 90), np.uint8)
    _save(tmp_path / "s.tif", data, photometric="minisblack", extratags=[(274, "H", 1, orientation, True)])
    scan = open_scan(tmp_path / "s.tif")
    # TIFF 6.0: the 0th column is the visual left (1, 4), right (2, 3), top (5, 6), bottom (7, 8)
    assert look(scan, None).flipped == (orientation in (2, 3, 7, 8))
    scan.close()


def test_png_and_jpeg_are_read_with_a_warning(tmp_path):
    data = np.random.default_rng(0).integers(0, 256, (50, 80, 3)).astype(np.uint8)
    Image.fromarray(data).save(tmp_path / "a.png", dpi=(1200, 1200))
    got, info = _pixels(tmp_path / "a.png", (5, 45), [(10, 70)])
    assert np.array_equal(got, data[5:45, 10:70])
    assert info.warnings
    assert info.dpi_x == pytest.approx(1200, rel=1e-3)
    Image.fromarray(data).save(tmp_path / "a.jpg", dpi=(600, 600))
    assert "JPEG" in _pixels(tmp_path / "a.jpg", (0, 5), [(0, 5)])[1].warnings[0]
    deep = np.random.default_rng(0).integers(0, 65536, (50, 80)).astype(np.uint16)
    Image.fromarray(deep).save(tmp_path / "d.png")
    assert np.array_equal(_pixels(tmp_path / "d.png", (0, 50), [(0, 80)])[0][:, :, 0], deep)


def _tiff_with(**tags):
    """A one-strip grey TIFF of 16 x 8 pixels with some of its tags replaced: (type, count, value)."""
    base = {
        256: (3, 1, 16), 257: (3, 1, 8), 258: (3, 1, 8), 259: (3, 1, 1), 262: (3, 1, 1), 273: (4, 1, 8),
        277: (3, 1, 1), 278: (3, 1, 8), 279: (4, 1, 128),
    }  # fmt: skip
    base.update({int(k[1:]): v for k, v in tags.items()})
    body = b"".join(
        struct.pack("<HHI", code, kind, count)
        + (struct.pack("<HH", value, 0) if kind == 3 and count == 1 else struct.pack("<I", value))
        for code, (kind, count, value) in sorted(base.items())
    )
    return (
        b"II*\0" + struct.pack("<I", 136) + bytes(range(128)) + struct.pack("<H", len(base)) + body + bytes(4)
    )


HOSTILE = {
    "empty": b"",
    "text": b"this is no picture at all, only words",
    "cut in header": b"II*\0\x08",
    "directory outside": b"II*\0" + struct.pack("<I", 10**6) + bytes(50),
    "no tags": b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 0) + bytes(20),
    "too many tags": b"II*\0" + struct.pack("<I", 8) + struct.pack("<H", 60000) + bytes(900_000),
    "zero width": _tiff_with(t256=(3, 1, 0)),
    "zero height": _tiff_with(t257=(3, 1, 0)),
    "huge": _tiff_with(t256=(4, 1, 4_000_000_000), t257=(4, 1, 4_000_000_000)),
    "slender": _tiff_with(t256=(4, 1, 16_016), t257=(4, 1, 16), t279=(4, 1, 128)),
    "larger than it holds": _tiff_with(t256=(4, 1, 30_000), t257=(4, 1, 30_000), t278=(4, 1, 30_000)),
    "a billion strips": _tiff_with(t273=(4, 10**9, 8), t279=(4, 10**9, 8)),
    "strip outside": _tiff_with(t273=(4, 1, 10**7)),
    "no strip height": _tiff_with(t278=(3, 1, 0)),
    "12 bits": _tiff_with(t258=(3, 1, 12)),
    "fax": _tiff_with(t259=(3, 1, 4)),
    "palette": _tiff_with(t262=(3, 1, 3)),
    "giant lzw strip": _tiff_with(
        t256=(4, 1, 30_000), t257=(4, 1, 30_000), t278=(4, 1, 30_000), t259=(3, 1, 5)
    ),
    "200 channels": _tiff_with(t277=(3, 1, 200)),
    "png head only": b"\x89PNG\r\n\x1a\n" + bytes(30),
    "jpeg head only": b"\xff\xd8\xff\xe0" + bytes(30),
}


def test_the_honest_one_is_read(tmp_path):
    (tmp_path / "s.tif").write_bytes(_tiff_with())
    got, _ = _pixels(tmp_path / "s.tif", (0, 8), [(0, 16)])
    assert np.array_equal(got.ravel(), np.arange(128))


@contextlib.contextmanager
def _calls():
    """How many functions were called, of Python's and of libraries: work, whatever the machine."""
    count = [0]

    def seen(_frame, event, _arg):
        count[0] += event in ("call", "c_call")

    sys.setprofile(seen)
    try:
        yield count
    finally:
        sys.setprofile(None)


MOST_CALLS = 20_000


@pytest.mark.parametrize("name", HOSTILE)
def test_broken_and_hostile_files_are_refused_with_little_work_and_memory(tmp_path, name):
    path = tmp_path / "s.tif"
    for honest in (_tiff_with(), _png()):  # libraries are loaded once, not for the file that is judged
        path.write_bytes(honest)
        _pixels(path, (0, 8), [(0, 16)])
    path.write_bytes(HOSTILE[name])
    tracemalloc.start()
    try:
        with _calls() as count, pytest.raises(InputError) as told:
            _pixels(path, (0, 8), [(0, 16)])
        peak = tracemalloc.get_traced_memory()[1]
    finally:
        tracemalloc.stop()
    assert "\n" not in told.value.message
    assert peak < 40e6
    assert count[0] < MOST_CALLS


def test_work_is_counted_as_it_grows(tmp_path):
    """The bound above can be broken: some hundred pieces to read take more calls than a refusal may."""
    data = np.zeros((8000, 16), np.uint8)
    path = _save(tmp_path / "s.tif", data, photometric="minisblack", compression="zlib", rowsperstrip=8)
    _pixels(path, (0, 8), [(0, 16)])
    with _calls() as few:
        _pixels(path, (0, 8), [(0, 16)])
    with _calls() as many:
        _pixels(path, (0, 8000), [(0, 16)])
    print(few, many)
    assert few[0] < MOST_CALLS < many[0]


def _png():
    held = io.BytesIO()
    Image.fromarray(np.zeros((8, 16), np.uint8)).save(held, "PNG", dpi=(2400, 2400))
    return held.getvalue()


def test_every_cut_of_a_good_file_is_refused_or_read_right(tmp_path):
    data = np.random.default_rng(2).integers(0, 65536, (60, 200, 3)).astype(np.uint16)
    whole = _save(
        tmp_path / "w.tif", data, photometric="rgb", compression="zlib", rowsperstrip=8
    ).read_bytes()
    refused = 0
    for cut in range(0, len(whole), max(1, len(whole) // 60)):
        (tmp_path / "c.tif").write_bytes(whole[:cut])
        try:
            got, _ = _pixels(tmp_path / "c.tif", (0, 60), [(0, 200)])
        except InputError:
            refused += 1
        else:
            assert np.array_equal(got, data)
    assert refused > 50


def test_a_spoiled_strip_is_told(tmp_path):
    data = np.random.default_rng(2).integers(0, 65536, (60, 200, 3)).astype(np.uint16)
    path = _save(tmp_path / "w.tif", data, photometric="rgb", compression="zlib", rowsperstrip=8)
    raw = bytearray(path.read_bytes())
    with tifffile.TiffFile(path) as tiff:
        at = tiff.pages[0].dataoffsets[3]
    raw[at : at + 40] = bytes(40)
    path.write_bytes(bytes(raw))
    with pytest.raises(InputError, match="does not decode"):
        _pixels(path, (0, 60), [(0, 200)])


def test_a_png_bomb_is_refused_before_it_is_unpacked(tmp_path):
    head = struct.pack(">IIBBBBB", 60_000, 60_000, 8, 2, 0, 0, 0)
    import zlib

    chunk = struct.pack(">I", 13) + b"IHDR" + head + struct.pack(">I", zlib.crc32(b"IHDR" + head))
    (tmp_path / "b.png").write_bytes(b"\x89PNG\r\n\x1a\n" + chunk + bytes(100))
    with pytest.raises(InputError):
        open_scan(tmp_path / "b.png")


def test_folders_and_missing_files_are_told(tmp_path):
    for path in (tmp_path, tmp_path / "none.tif", "a\0b"):
        with pytest.raises(InputError):
            open_scan(path)


def test_a_broken_exif_is_not_talked_about_on_the_terminal(tmp_path):
    data = np.random.default_rng(0).integers(0, 256, (50, 80)).astype(np.uint8)
    exif = Image.Exif()
    exif[274] = 6
    Image.fromarray(data).save(tmp_path / "a.jpg", dpi=(600, 600), exif=exif)
    raw = bytearray((tmp_path / "a.jpg").read_bytes())
    at = raw.find(b"Exif\0\0") + 6
    count = at + 8 + (1 if raw[at : at + 2] == b"MM" else 0)
    raw[count] = 40  # of its directory's entries: more than there are
    (tmp_path / "a.jpg").write_bytes(bytes(raw))
    with warnings.catch_warnings():
        warnings.simplefilter("error")
        _, info = _pixels(tmp_path / "a.jpg", (0, 50), [(0, 80)])
    assert info.orientation == 6
    with warnings.catch_warnings(record=True) as heard, Image.open(tmp_path / "a.jpg") as picture:
        warnings.simplefilter("always")
        picture.getexif().get(274)
    assert heard  # the library itself does talk of it


@pytest.mark.parametrize(("width", "height"), [(16_000, 16), (16, 16_000)])
def test_long_narrow_scans_are_read_up_to_a_thousand_to_one(tmp_path, width, height):
    data = np.arange(width * height, dtype=np.uint32).reshape(height, width).astype(np.uint8)
    path = _save(tmp_path / "s.tif", data, photometric="minisblack", rowsperstrip=16)
    assert np.array_equal(_pixels(path, (0, height), [(0, width)])[0][:, :, 0], data)
