"""What a measurement reads of a large scan: each piece decoded once or twice, only as many as it needs, little held."""

from __future__ import annotations

import collections
import importlib.util
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np
import pytest
import tifffile

from holders.measure.scan.opened import open_scan
from holders.measure.scan.spectra import Features
from holders.measure.scan.tiff import TiffScan
from holders.measure.scan.view import look
from holders.measure.slope.combine import across_channels
from holders.measure.slope.estimate import Estimate, few_places, long_run
from holders.measure.slope.gather import gather
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.measure import measure_focus
from holders.measure.slope.target.marks import _reduced
from holders.measure.slope.target.shape import TargetShape
from tests.short import some

FLAT = TargetShape("flat")
SCRIPTS = Path(__file__).parents[3] / "scripts"
for _name in ("bench_rows", "bench_focus"):  # the second imports the first by its own name
    _spec = importlib.util.spec_from_file_location(_name, SCRIPTS / f"{_name}.py")
    sys.modules[_name] = importlib.util.module_from_spec(_spec)
    _spec.loader.exec_module(sys.modules[_name])
bench = sys.modules["bench_focus"]

SIZE_MB = 150.0


@pytest.fixture
def decoded(monkeypatch):
    """How often each strip or tile was decoded."""
    count: collections.Counter[int] = collections.Counter()
    own = TiffScan._segments

    def counted(self, rows, cols):
        for index in own(self, rows, cols):
            count[index] += 1
            yield index

    monkeypatch.setattr(TiffScan, "_segments", counted)
    return count


def _slope():
    return SlopeGeometry(rise_mm=bench.RISE_MM, run_mm=bench.shape_of(SIZE_MB)[0] * 25.4 / bench.DPI)


@pytest.mark.parametrize("tall", some([False, True], True))
def test_a_compressed_scan_is_not_decoded_over_and_over(tmp_path, decoded, tall):
    path = tmp_path / "s.tif"
    bench.make(path, SIZE_MB, compression="zlib", tiled=False, tall=tall)
    with tifffile.TiffFile(path) as file:
        strips = len(file.pages[0].dataoffsets)
    found = measure_focus([path], geometry=_slope(), shape=FLAT)
    assert found.height == pytest.approx(bench.SHARP_MM, abs=0.01)
    # 0.008 mm that no model explains, along the picture's width what perspective may do, and the lens's 3 % of half
    # the band (docs/model.md)
    lens = 0.03 * (found.band[1] - found.band[0]) / 2.0
    assert found.height_sigma**2 < 0.025**2 + lens**2
    # down the file, a glance, the ticks and one pass, each over much of it; along it, a glance of forty strips at
    # most, eight for longer cells, four for the ticks, and a pass; once more for edges, of a few strips along it
    assert sum(decoded.values()) <= (3.5 * strips if tall else 40 + 8 + 4 + 2 * found.rows_read / 64 + 8)
    assert found.read_share < 0.6


def test_the_marks_picture_decodes_every_piece_once(tmp_path, decoded):
    data = np.random.default_rng(1).integers(0, 65536, (300, 5000)).astype(np.uint16)
    small = {}
    for name, stored in (("along", data), ("down", data.T.copy())):
        for coding in ("zlib", None):
            path = tmp_path / f"{name}-{coding}.tif"
            tifffile.imwrite(
                path, stored, photometric="minisblack", compression=coding, rowsperstrip=16,
                resolution=(2400, 2400), resolutionunit="INCH",
            )  # fmt: skip
            scan = open_scan(path)
            small[name, coding] = _reduced(look(scan, None))
            scan.close()
            # a piece that reaches over two of the picture's pixels is wanted twice
            assert max(decoded.values(), default=0) <= 2
            assert sum(decoded.values()) <= 1.3 * len(stored) / 16
            decoded.clear()
    # whichever way it lies and is stored, the same picture: every second line, means of two pixels along
    expected = (data[1::2].astype(float) / 65535.0).reshape(150, 2500, 2).mean(axis=2)
    for picture in small.values():
        assert picture.step == 2.0
        assert np.abs(picture.light - expected).max() < 1e-6


@pytest.mark.parametrize("compression", some([None, "lzw"], "lzw"))
def test_little_is_held_in_memory(tmp_path, compression):
    """Peak of a process that runs the command, everything counted; the file alone is 150 MB of pixels."""
    path = tmp_path / "s.tif"
    bench.make(path, SIZE_MB, compression=compression, tiled=False)
    _, _, peak, own, _ = bench.measure(path, SIZE_MB)
    assert 30.0 < own < peak < 200.0


@dataclass(frozen=True)
class _Few:
    """The part of an estimate that combining looks at."""

    height: float
    sigma: float
    spread: float
    score: np.ndarray
    information: float
    scale: float = 1.0

    @property
    def open_mm(self) -> float:
        return self.spread

    @property
    def total(self) -> float:
        return float(np.hypot(self.sigma, self.spread))


def test_a_height_from_one_channel_keeps_the_sigma_of_its_fit():
    rng = np.random.default_rng(3)
    score = 0.001 * rng.standard_normal(40)
    sigma = few_places(score) * np.sqrt(long_run(score))
    one: Estimate = _Few(2.5, float(sigma), 0.002, score, 1e12)  # type: ignore[assignment]
    height, told, _ = across_channels([one], [np.ones(40, bool)])
    assert height == 2.5
    assert told == pytest.approx(np.hypot(sigma, 0.002))
    # three channels that saw the same grain know no more than one
    _, same, _ = across_channels([one] * 3, [np.ones(40, bool)] * 3)
    assert same == pytest.approx(told)


def test_the_variance_of_a_sum_knows_what_neighbours_share_and_gains_nothing_from_their_difference():
    rng = np.random.default_rng(5)
    free = rng.standard_normal((400, 200))
    shared = free[:, 1:] + free[:, :-1]  # sums: variance 4 n; alone they would give 2 n
    assert np.mean([long_run(s) for s in free]) / 200 == pytest.approx(1.0, abs=0.15)
    assert np.mean([long_run(s) for s in shared]) / 199 == pytest.approx(4.0, rel=0.15)
    differing = free[:, 1:] - free[:, :-1]
    for s in differing[:50]:
        assert long_run(s) >= s @ s


def test_a_place_whose_detail_is_all_left_out_is_not_told_by_a_blank_neighbour():
    """Two strips hold the target, a third an eighth of it; dirt spoils both at one place."""
    rng = np.random.default_rng(1)
    n, f = 40, 12
    features = Features(
        np.zeros((1, f), np.float32), np.geomspace(2.0, 40.0, f), np.zeros(f, bool), np.ones(f, int), 0.0
    )
    power = np.exp(0.05 * rng.standard_normal((3, n, f))) * np.array([1.0, 1.0, 0.13])[:, None, None]
    power[2, 20] *= 0.01
    power[:2, 20] *= 30.0
    seen = gather(power, np.full((3, n), 0.7), np.zeros((3, n)), np.ones((3, n), bool), features)
    assert np.isnan(seen.log_power[20]).all()
    rest = np.delete(seen.log_power, 20, axis=0)
    assert np.isfinite(rest).all()
    assert np.ptp(rest.mean(axis=1)) < 0.5
