"""The whole inspection from a file: contract, bounded memory, hostile files, before and after."""

from __future__ import annotations

import json
import subprocess
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile

from holders.core.errors import InputError
from holders.measure.finished.correction import rank_correlation
from holders.measure.finished.expected import Box, Expected
from holders.measure.finished.look import compare_scans, inspect_scan
from holders.measure.finished.reduce import reduce_scan
from holders.measure.scan.opened import open_scan
from tests.measure.finished.ringlight import Rings, gap_um, ring_light
from tests.measure.finished.scans import grain_film, window_scan, write

DPI = 300.0
WINDOW_PX = (350, 420)


def colour_scan(path: Path, *, rings: bool, soft: float = 0.8, turn: float = 0.4, shift: int = 0) -> Path:
    rng = np.random.default_rng(5)
    shape = (560, 470)
    film = np.roll(grain_film(rng, shape, rms=0.03), shift, axis=1)
    light = np.repeat(film[:, :, None], 3, axis=2)
    if rings:
        made = Rings(0.05, (615.0, 540.0, 455.0), 15.0, 160.0, 1.2, 0.4, (235.0, 280.0), 0.0, 0.0)
        light = light * ring_light(gap_um(shape, made, rng), made)
    out = np.stack(
        [
            window_scan(shape, (60 + shift, 70), WINDOW_PX, turn, light[:, :, c], soft_px=soft)
            for c in range(3)
        ],
        2,
    )
    return write(path, out + rng.normal(0, 0.001, out.shape), DPI)


def test_contract(tmp_path: Path) -> None:
    steps: list[str] = []
    px = 25.4 / DPI
    design = Expected(
        window_mm=(WINDOW_PX[0] * px, WINDOW_PX[1] * px), picture=Box(1, 1, 28, 33), band_mm=(2.5, 3.5)
    )
    found = inspect_scan(
        colour_scan(tmp_path / "a.tif", rings=True),
        design=design,
        progress=lambda step, _: steps.append(step),
    )
    told = json.loads(json.dumps(found.to_answer(), allow_nan=False))
    assert told["rings"]["found"] is True
    assert told["rings"]["score"] >= 1
    assert told["rings"]["where"][0]["width"] > 0
    assert 0 <= told["sharpness"]["judged_fraction"] <= 1
    assert told["sharpness"]["in_band_fraction"] is None or 0 <= told["sharpness"]["in_band_fraction"] <= 1
    assert len(told["sharpness"]["grid"]) == len(told["sharpness"]["y"])
    assert told["skew_deg"] == pytest.approx(0.4, abs=0.02)
    assert set(told["film_edges"]) == {"left", "right", "head", "foot"}
    assert told["film_edges"]["right"] - told["film_edges"]["left"] == pytest.approx(
        WINDOW_PX[0] * px, abs=0.1
    )
    assert {"reading", "rings"} <= set(steps)


def test_before_and_after(tmp_path: Path) -> None:
    before = colour_scan(tmp_path / "a.tif", rings=True, soft=1.8)
    after = colour_scan(tmp_path / "b.tif", rings=False, soft=0.8, shift=9)
    first, second, both = compare_scans(before, after)
    assert first.rings.found
    assert not second.rings.found
    assert both.rings == "gone"
    assert both.mean_gain > 0.3
    assert both.sharper_fraction > 0.9
    assert both.shift_mm[0] == pytest.approx(9 * 25.4 / DPI, abs=0.1)
    assert both.shift_mm[1] == pytest.approx(0.0, abs=0.1)


def test_different_films_are_refused(tmp_path: Path) -> None:
    rng = np.random.default_rng(1)
    a = write(tmp_path / "a.tif", grain_film(rng, (500, 500)), DPI)
    b = write(tmp_path / "b.tif", grain_film(rng, (500, 500)), DPI)
    with pytest.raises(InputError, match="same film"):
        compare_scans(a, b)


def test_strips_make_no_difference(tmp_path: Path) -> None:
    rng = np.random.default_rng(2)
    film = grain_film(rng, (2500, 700))
    walked = []
    for rows in (1, 37, 2500):
        scan = open_scan(write(tmp_path / f"{rows}.tif", film, DPI, rows_per_strip=rows))
        walked.append(reduce_scan(scan))
        scan.close()
    for other in walked[1:]:
        assert np.allclose(other.small, walked[0].small, atol=1e-6)
        assert np.allclose(other.blocks.power, walked[0].blocks.power, rtol=1e-3)
        assert np.array_equal(other.blocks.y_px, walked[0].blocks.y_px)


def test_no_resolution_is_asked_for(tmp_path: Path) -> None:
    path = tmp_path / "bare.tif"
    tifffile.imwrite(path, np.full((200, 200), 9000, np.uint16), photometric="minisblack")
    with pytest.raises(InputError, match="--dpi"):
        inspect_scan(path)
    assert inspect_scan(path, dpi=300).rings.found is False
    with pytest.raises(InputError):
        inspect_scan(path, dpi=3.0)


@pytest.mark.parametrize("kind", ["missing", "empty", "text", "cut", "tiny", "black", "white", "noise"])
def test_hostile_and_odd_files(tmp_path: Path, kind: str) -> None:
    path = tmp_path / "x.tif"
    rng = np.random.default_rng(9)
    good = {
        "tiny": np.full((20, 20), 0.5), "black": np.zeros((300, 300)), "white": np.ones((300, 300, 3)),
        "noise": rng.random((300, 300, 3)),
    }  # fmt: skip
    if kind in good:
        write(path, good[kind], DPI)
    elif kind == "empty":
        path.write_bytes(b"")
    elif kind == "text":
        path.write_bytes(b"not a picture at all" * 50)
    elif kind == "cut":
        whole = write(tmp_path / "whole.tif", rng.random((300, 300)), DPI).read_bytes()
        path.write_bytes(whole[: len(whole) // 2])
    if kind in ("black", "white", "noise"):
        found = inspect_scan(path)
        assert not found.rings.found
        json.dumps(found.to_answer(), allow_nan=False)
    else:
        with pytest.raises(InputError):
            inspect_scan(path)


def test_mutated_bytes_never_end_in_a_traceback(tmp_path: Path) -> None:
    rng = np.random.default_rng(10)
    whole = bytearray(write(tmp_path / "w.tif", grain_film(rng, (120, 120)), DPI).read_bytes())
    for number in range(40):
        hurt = bytearray(whole)
        for at in rng.integers(0, len(whole) if number % 2 else 400, 6):
            hurt[int(at)] = int(rng.integers(0, 256))
        path = tmp_path / "m.tif"
        path.write_bytes(hurt)
        try:
            inspect_scan(path)
        except InputError as err:
            assert err.way_out


def test_memory_stays_bounded(tmp_path: Path) -> None:
    """200 MB of scan: the peak must not follow the file."""
    path = tmp_path / "big.tif"
    tifffile.imwrite(
        path, shape=(6000, 5600, 3), dtype=np.uint16, photometric="rgb", rowsperstrip=8, resolution=(1200, 1200),
        data=(np.random.default_rng(k).integers(9000, 30000, (8, 5600, 3), dtype=np.uint16) for k in range(750)),
    )  # fmt: skip
    code = (
        "import resource,sys;from holders.measure.scan.opened import open_scan\n"
        "from holders.measure.finished.reduce import reduce_scan\n"
        "import tifffile,scipy.ndimage\nb=resource.getrusage(resource.RUSAGE_SELF).ru_maxrss\n"
        "reduce_scan(open_scan(sys.argv[1]));print((resource.getrusage(resource.RUSAGE_SELF).ru_maxrss-b)//1024)"
    )
    done = subprocess.run([sys.executable, "-c", code, str(path)], capture_output=True, text=True, check=True)
    assert int(done.stdout) < 200


def test_ranks_correlate_as_a_library_says() -> None:
    """Spearman's rank correlation as scipy has it, with ties; nothing to correlate gives 0."""
    from scipy.stats import spearmanr

    rng = np.random.default_rng(0)
    for _ in range(5):
        a = rng.integers(0, 6, 50).astype(float)
        b = a + rng.standard_normal(50)
        assert rank_correlation(a, b) == pytest.approx(spearmanr(a, b).statistic, abs=1e-12)
    assert rank_correlation(np.ones(5), np.arange(5.0)) == 0.0
