"""The foot of stood film: other bright things beside it are cut off, and it is drawn no wider than it must be."""

from __future__ import annotations

import io
from types import SimpleNamespace
from typing import Any

import numpy as np
from PIL import Image

from holders.measure.curl.drawn import ARC, LINE, picture_png
from holders.measure.curl.foot import _only_the_band
from holders.measure.curl.picture import Grid


def test_only_what_is_joined_to_the_middle_is_left() -> None:
    """A band 1 mm wide in the middle and a stand 4 mm beside it: the stand goes to the floor, the band stays."""
    u = np.arange(-8.0, 8.01, 0.1)
    light = np.full((12, len(u)), 0.1)
    band, stand = np.abs(u) < 0.5, np.abs(u - 4.0) < 1.0
    light[:, band] = 1.0
    light[:, stand] = 0.8
    left = _only_the_band(light, u)
    assert np.all(left[:, band] == 1.0)
    assert np.all(left[:, ~band] == 0.1)


def test_the_foot_is_drawn_one_pixel_wide_and_the_arc_two() -> None:
    """Thin enough that the eye can judge the film's own edge beside the line."""
    result = SimpleNamespace(
        line=((10.0, 20.0), (90.0, 20.0)), arc=((10.0, 40.0), (50.0, 40.0), (90.0, 40.0)), parts=(),
        chord_mm=80.0, length_mm=80.0,
    )  # fmt: skip
    reading: Any = SimpleNamespace(
        grid=Grid(np.zeros((60, 100), np.float32), 0.0, 0.0, 1.0, 1.0), result=result
    )
    with Image.open(io.BytesIO(picture_png(reading))) as image:
        column = np.asarray(image)[:, image.width // 2]
    assert int((column == LINE).all(axis=1).sum()) == 1
    assert int((column == ARC).all(axis=1).sum()) == 2
