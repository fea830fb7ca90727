"""Single steps of the sharpness map: which blocks count, and how a pattern is named."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.finished.blur.blocks import BLOCK, BlockSpectra
from holders.measure.finished.blur.cells import gather
from holders.measure.finished.blur.judge import BlurMap
from holders.measure.finished.blur.pattern import classify
from holders.measure.finished.sharpness import of_blur


def test_blocks_that_reach_beyond_the_lit_area_do_not_count() -> None:
    """Blocks every 16 px of 0.1 mm; those within the area have power 1, those that touch the holder 50."""
    y, x = (axis.ravel().astype(np.float32) for axis in np.mgrid[32:1000:16, 32:1000:16])
    left, top, right, bottom = 20.0, 15.0, 80.0, 85.0
    half = BLOCK / 2 * 0.1
    within = (x * 0.1 - half >= left) & (x * 0.1 + half <= right)
    within &= (y * 0.1 - half >= top) & (y * 0.1 + half <= bottom)
    power = np.where(within, 1.0, 50.0)[:, None] * np.ones(12)
    spectra = BlockSpectra(
        power.astype(np.float32),
        np.full(len(x), 0.5, np.float32),
        x,
        y,
        np.ones(len(x), bool),
        0.1,
        1,
        16,
        1 / 65535,
    )
    cells = gather(spectra, (0.1, 0.1), (left, top, right, bottom))
    assert len(cells.power) > 20
    assert cells.power == pytest.approx(1.0)
    assert cells.at_mm[:, 0].min() >= left + half
    assert cells.at_mm[:, 0].max() <= right - half


def test_a_bad_edge_is_named_where_another_rim_is_blank() -> None:
    blur = np.full((8, 8), 0.2)
    blur[-2:] = 2.0
    known = np.ones((8, 8), bool)
    known[:, :2] = False  # nothing there tells sharp from soft
    name, explained = classify(blur, known)
    assert name == "edge"
    assert explained == pytest.approx(1.0)


def test_soft_places_no_greater_than_their_doubt_are_even_and_wholly_explained() -> None:
    """Three cells of 36 out of the band, one sigma of doubt as large: nothing is left to explain."""
    blur = np.full((6, 6), 0.5)
    blur[[0, 2, 5], [3, 0, 4]] = 6.0
    even = BlurMap(
        np.arange(6.0),
        np.arange(6.0),
        np.ones((6, 6)),
        blur,
        np.ones((6, 6), bool),
        1.0,
        33 / 36,
        0.09,
        10.0,
        0.0,
    )
    found = of_blur(even)
    assert (found.pattern, found.explained) == ("even", 1.0)
    assert found.worst is None
