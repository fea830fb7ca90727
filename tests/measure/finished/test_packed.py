"""Pictures that were once packed with losses: told by their squares, and never judged by grain that is not film's."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image

from holders.core.errors import InputError
from holders.measure.finished.blur.packed import Squares
from holders.measure.finished.look import compare_scans, inspect_scan
from holders.output.words.inspected import sharp
from tests.measure.finished.scans import blurred, grain_film, write

SHAPE = (760, 900)
DPI = 1200.0
OUT = 1.2  # mm beside the sharp plane, all over


def film(number: int, defocus_mm: float) -> np.ndarray:
    rng = np.random.default_rng(number)
    light = blurred(grain_film(rng, SHAPE, size_px=0.35), np.full(SHAPE, defocus_mm), 1.6)
    return np.asarray(light + rng.normal(0, 0.002, SHAPE))


def packed(light: np.ndarray, quality: int) -> np.ndarray:
    """As a JPEG of that quality keeps it, by a library that is not ours."""
    held = io.BytesIO()
    Image.fromarray(np.uint8(np.clip(light, 0, 1) * 255)).save(held, "JPEG", quality=quality)
    return np.asarray(Image.open(held), float) / 255.0


def squares(light: np.ndarray, rows: int = 100) -> bool:
    walk = Squares()
    for top in range(0, len(light), rows):
        walk.add(np.asarray(light[top : top + rows], np.float32))
    return walk.done()


@pytest.mark.parametrize("quality", [75, 85, 92])
@pytest.mark.parametrize(("down", "right"), [(0, 0), (3, 5)])
def test_the_squares_are_seen_wherever_they_begin(quality: int, down: int, right: int) -> None:
    assert squares(packed(film(1, 0.6), quality)[down:, right:])


@pytest.mark.parametrize("defocus_mm", [0.0, OUT])
def test_no_other_picture_has_them(defocus_mm: float) -> None:
    light = film(2, defocus_mm)
    assert not squares(light)
    assert not squares(np.round(light * 255) / 255)  # of eight bits
    twice = light[:400, :450].repeat(2, axis=0).repeat(2, axis=1)  # drawn larger by the scanner's program
    assert not squares(0.25 * sum(np.roll(twice, (j, i), (0, 1)) for j in (0, 1) for i in (0, 1)))
    assert not squares(np.full((300, 300), 0.5))


def test_a_soft_film_is_not_called_sharp_for_what_packing_made(tmp_path: Path) -> None:
    plain = inspect_scan(write(tmp_path / "plain.tif", film(3, OUT), DPI), rings=False)
    assert plain.sharpness.in_band_fraction is not None
    assert plain.sharpness.in_band_fraction < 0.1
    again = write(tmp_path / "again.tif", packed(film(3, OUT), 85), DPI)
    found = inspect_scan(again, rings=False)
    assert found.sharpness.packed
    assert found.sharpness.in_band_fraction is None
    assert found.sharpness.judged_fraction == 0.0
    assert found.advice == ()
    assert "once packed as JPEG" in sharp(found)
    with pytest.raises(InputError, match=r"second scan.*packed as JPEG"):
        compare_scans(tmp_path / "plain.tif", again)
