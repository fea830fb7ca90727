"""Sharpness on scans of a simulator written apart from the estimate, and what noise and soft pictures must not do.

Seeds from 0 on are those of ``scripts/judge_inspect.py``; the estimate was made with seeds from 5000 on.
"""

from __future__ import annotations

import functools

import numpy as np
import pytest
from scipy import ndimage

from holders.measure.finished.blur import judge as judging
from holders.measure.finished.blur.blocks import BLOCK, BlockWalk
from holders.measure.finished.blur.cells import non_negative
from holders.measure.finished.blur.smooth import join
from holders.measure.finished.blur.transfer import STEPS, disc_share
from holders.measure.finished.sharpness import of_blur
from scripts.judge_inspect import judge_one, summary
from tests.measure.finished.scans import textured_film
from tests.simulators import finished_scan


@pytest.fixture(autouse=True)
def models_once(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(judging, "ring_model", functools.cache(judging.ring_model))


def walked(light: np.ndarray, dpi: float) -> judging.BlurMap:
    walk = BlockWalk(light.shape[1], light.shape[0], 25.4 / dpi, 16)
    for top in range(0, len(light), 100):
        walk.add(light[top : top + 100].astype(np.float32))
    px = 25.4 / dpi
    return judging.judge(walk.done(), (px, px), (0.0, 0.0, light.shape[1] * px, light.shape[0] * px))


@pytest.mark.parametrize("noise", [0.002, 0.05])
def test_noise_alone_says_nothing(noise: float) -> None:
    rng = np.random.default_rng(1)
    found = walked(0.3 + noise * rng.standard_normal((420, 500)), 2400)
    assert found.in_band_fraction is None
    assert found.judged_fraction == 0.0


@pytest.mark.parametrize("blur_px", [1.5, 4.0])
def test_a_coarse_scan_blurred_in_its_middle_is_neither_sharp_nor_soft_all_over(blur_px: float) -> None:
    """At 100 dpi nothing tells a blur so wide from an empty part of the picture: what is not known is in the sigma."""
    shape = (500, 620)
    film = textured_film(np.random.default_rng(0), shape)
    v, u = np.meshgrid(np.linspace(-1, 1, shape[0]), np.linspace(-1, 1, shape[1]), indexing="ij")
    middle = np.clip((0.55 - np.hypot(u, v)) * 5 + 0.5, 0, 1)
    light = film * (1 - middle) + ndimage.gaussian_filter(film, blur_px) * middle
    found = of_blur(walked(light + np.random.default_rng(1).normal(0, 0.001, shape), 100.0))
    assert found.pattern == "unclear"
    if found.in_band_fraction is not None:
        assert abs(found.in_band_fraction - float((middle < 0.5).mean())) < 2 * found.in_band_sigma
    even = of_blur(walked(film + np.random.default_rng(1).normal(0, 0.001, shape), 100.0))
    assert even.pattern == "even"
    assert even.in_band_fraction == pytest.approx(1.0, abs=0.02)


def test_white_noise_has_its_variance_in_every_ring() -> None:
    """Parseval: white noise of variance v has power density v."""
    rng = np.random.default_rng(2)
    walk = BlockWalk(6 * BLOCK, 6 * BLOCK, 0.02, 16)
    walk.add((0.5 + 0.01 * rng.standard_normal((6 * BLOCK, 6 * BLOCK))).astype(np.float32))
    power = walk.done().power
    assert np.allclose(power.mean(axis=0), (0.01 / 0.5) ** 2, rtol=0.12)


def test_least_squares_without_negative_amounts_agrees_with_a_library() -> None:
    """Lawson and Hanson's algorithm, as scipy has it."""
    from scipy.optimize import nnls

    rng = np.random.default_rng(3)
    for _ in range(20):
        a, b = rng.random((15, 5)), rng.random(15)
        gain = non_negative((a.T @ a)[None], (a.T @ b)[None])[0]
        assert float(b @ b) - gain == pytest.approx(nnls(a, b)[1] ** 2, abs=2e-3)


def test_cells_that_say_nothing_leave_everything_open_and_one_row_may_jump() -> None:
    row, column = (a.ravel() for a in np.indices((6, 6)))
    flat = np.ones((36, 1, len(STEPS)))
    width = np.gradient(STEPS)
    belief, _ = join(flat, STEPS, row, column)
    assert np.allclose(belief[20, 0], width / width.sum(), rtol=0.02)
    known = np.exp(-0.5 * ((STEPS[None, None] - np.where(row == 5, 4.2, 0.0)[:, None, None]) / 0.3) ** 2)
    belief, _ = join(known, STEPS, row, column)
    mean = belief[:, 0] @ STEPS
    assert mean[row == 5].min() > 3.5
    assert mean[row < 4].max() < 0.6


def test_the_disc_keeps_what_bessel_tables_say() -> None:
    """J1's first zero is 3.8317 (Abramowitz and Stegun, table 9.5); 2 J1(x)/x there is nought, and 1 at nought."""
    assert float(disc_share(np.array(0.0))) == pytest.approx(1.0)
    assert float(disc_share(np.array(3.8317))) == pytest.approx(0.0, abs=1e-4)
    assert float(disc_share(np.array(judging.RIM_BLUR / judging.DISC_READS))) == pytest.approx(
        judging.IN_BAND, abs=1e-3
    )


SHORT = (("noisy", 149), ("soft", 141), ("leaning", 137))  # small ones


@pytest.mark.parametrize(("kind", "seed"), SHORT)
def test_some_simulated_scans(kind: str, seed: int) -> None:
    """One sharp film under strong noise, one soft all over, one that leans."""
    found = judge_one(kind, seed)
    if kind == "leaning":  # too little is sure of it to state the share
        assert found["found"] is None
        assert abs(found["roughly"] - found["truth"]) <= 2 * found["sigma"] < 0.3
    else:
        assert found["found"] == pytest.approx(found["truth"], abs=0.1)
    assert not found["wrong_advice"]
    assert all(abs(off) < 0.3 for off in found["edges"].values())


@pytest.mark.slow
def test_many_simulated_scans() -> None:
    rows = [judge_one(kind, seed) for seed in range(6) for kind in finished_scan.CLASSES]
    n = summary(rows)
    assert n["within"] >= 0.95
    assert n["judged from 1200 dpi"] >= 0.6
    assert n["wrong advice"] <= 0.02
    assert n["edges off unsaid"] == 0


def test_the_peak_stays_below_400_mb() -> None:
    """The search for rings takes most memory: what it needs for the largest small picture, beside all else."""
    import subprocess
    import sys

    code = (
        "import numpy as np\n"
        "from holders.measure.finished.reduce import LONGEST\n"
        "from holders.measure.finished.rings.levels import levels_of\n"
        "light = np.random.default_rng(0).random((LONGEST, LONGEST * 4 // 5, 3), np.float32)\n"
        "kept = levels_of(light, 0.1)\n"
        "print([line.split()[1] for line in open('/proc/self/status') if line.startswith('VmHWM')][0])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True)
    assert int(done.stdout) / 1024 < 360
