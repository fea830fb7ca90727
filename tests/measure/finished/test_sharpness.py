"""The sharpness map on films blurred as known surfaces would blur them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest
from skimage.measure import blur_effect

from holders.measure.finished.correction import advise, correct, fit_heights, predicted_at
from holders.measure.finished.expected import Expected
from holders.measure.finished.reduce import reduce_scan
from holders.measure.finished.sharpness import SharpnessMap, sharpness_map
from holders.measure.scan.opened import open_scan
from tests.measure.finished.scans import blurred, grain_film, write
from tests.short import some

SHAPE = (1000, 1300)
DPI = 1200.0
PX_PER_MM = 1.6  # blur sigma in px per mm of defocus
GRAIN_PX = 0.35  # finer than the lens shows


def uv() -> tuple[np.ndarray, np.ndarray]:
    v, u = np.meshgrid(np.linspace(-1, 1, SHAPE[0]), np.linspace(-1, 1, SHAPE[1]), indexing="ij")
    return u, v


def map_of(
    tmp_path: Path, defocus: np.ndarray, number: int = 1, film: np.ndarray | None = None
) -> SharpnessMap:
    rng = np.random.default_rng(number)
    film = grain_film(rng, SHAPE, size_px=GRAIN_PX) if film is None else film
    light = blurred(film, defocus, PX_PER_MM) + rng.normal(0, 0.0005, SHAPE)
    scan = open_scan(write(tmp_path / "scan.tif", light, DPI))
    try:
        return sharpness_map(reduce_scan(scan))
    finally:
        scan.close()


def shapes() -> dict[str, np.ndarray]:
    u, v = uv()
    return {
        "sag": 0.9 * (1 - u**2) * (1 - v**2),
        "tilt": 0.5 + 0.6 * u,
        "curl": 0.9 * u**2,
        "edge": 1.8 * np.clip((v - 0.45) / 0.55, 0, 1),
    }


@pytest.mark.parametrize("name", some(["sag", "tilt", "curl"], "sag", "curl"))
def test_pattern_is_named(tmp_path: Path, name: str) -> None:
    found = map_of(tmp_path, shapes()[name])
    assert found.pattern == name
    assert found.explained > 0.5
    # the place: least sharp where the defocus is greatest
    field = np.abs(shapes()[name])
    rows, cols = found.grid.shape
    coarse = field[: rows * (SHAPE[0] // rows), : cols * (SHAPE[1] // cols)]
    coarse = coarse.reshape(rows, SHAPE[0] // rows, cols, SHAPE[1] // cols).mean(axis=(1, 3))
    good = np.isfinite(found.grid)
    assert np.corrcoef(coarse[good], found.defocus[good])[0, 1] > 0.8


def test_a_bad_edge(tmp_path: Path) -> None:
    found = map_of(tmp_path, shapes()["edge"])
    assert found.pattern in ("edge", "curl", "tilt")
    assert found.worst is not None
    assert found.worst[1] > found.y_mm[-1] * 0.85
    assert any("bottom" in a.what or "lid" in a.what for a in advise(found, (2.6, 3.4), None))


def test_flat_film_is_even_whatever_the_picture(tmp_path: Path) -> None:
    rng = np.random.default_rng(4)
    u, v = uv()
    tone = 10.0 ** -(0.95 + 0.3 * u + 0.3 * np.sin(5 * v))
    found = map_of(tmp_path, np.zeros(SHAPE), film=grain_film(rng, SHAPE, size_px=GRAIN_PX) / 0.35 * tone)
    assert (found.pattern, found.explained) == ("even", 1.0)
    assert found.in_band_fraction > 0.97


def test_blank_places_say_nothing(tmp_path: Path) -> None:
    rng = np.random.default_rng(5)
    film = grain_film(rng, SHAPE, size_px=GRAIN_PX)
    film[:, :400] = 0.0
    found = map_of(tmp_path, np.zeros(SHAPE), film=film)
    dark = found.x_mm < 380 * 25.4 / DPI
    assert np.isnan(found.grid[:, dark]).all()
    assert np.isfinite(found.grid[:, ~dark]).mean() > 0.9


def test_order_agrees_with_an_outside_measure_of_blur(tmp_path: Path) -> None:
    """Crete et al. 2007's perceptual blur, as an outside library computes it, ranks the same cells the same way."""
    rng = np.random.default_rng(6)
    u, _ = uv()
    film = grain_film(rng, SHAPE, size_px=GRAIN_PX)
    light = blurred(film, 0.5 + 0.5 * u, PX_PER_MM)
    found = map_of(tmp_path, 0.5 + 0.5 * u, number=6, film=film)
    columns = np.linspace(0, SHAPE[1] - 200, 7).astype(int)
    theirs = [blur_effect(light[200:800, c : c + 200]) for c in columns]
    x = (columns + 100) * 25.4 / DPI
    ours = [float(np.nanmean(found.grid[:, np.argsort(np.abs(found.x_mm - p))[:3]])) for p in x]
    # where hardly anything is lost ours says so of all places alike: only what is seen to be soft has an order
    soft = np.array(ours) < 0.95
    assert soft.sum() >= 4
    assert list(np.argsort(np.array(theirs)[soft])) == list(np.argsort(np.array(ours)[soft])[::-1])
    assert max(np.array(theirs)[~soft]) < min(np.array(theirs)[soft])


@pytest.mark.parametrize("offset", some([0.4, -0.4, 0.0], 0.4, -0.4))
def test_the_predicted_surface_tells_the_side(tmp_path: Path, offset: float) -> None:
    u, v = uv()
    band = (2.6, 3.4)
    # as built the film should hang from 3.3 at the ledge to 2.5 in the middle; it lies ``offset`` off that
    predicted = 3.3 - 0.8 * (1 - u**2) * (1 - v**2)
    # a blur of which the band's rim keeps the in-band share: px per mm as the map itself measures it
    found = map_of(tmp_path, predicted + offset - 3.0)
    x = np.arange(SHAPE[1]) * 25.4 / DPI
    y = np.arange(SHAPE[0]) * 25.4 / DPI
    design = Expected((x[-1], y[-1]), heights_x_mm=x, heights_y_mm=y, heights_mm=predicted, band_mm=band)
    heights = predicted_at(found, design, (0.0, 0.0))
    assert heights is not None
    fit = fit_heights(found, heights, band)
    assert fit is not None
    assert fit.agreement > 0.4
    assert fit.offset_mm == pytest.approx(offset, abs=0.15)
    correction = correct(found, fit)
    if offset:
        assert correction is not None
        assert np.sign(correction.ledge_change_mm) == -np.sign(offset)
        assert correction.to_values()["field"] == "heights.ledge"
    else:
        assert correction is None or abs(correction.ledge_change_mm) < 0.15
