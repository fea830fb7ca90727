"""Where film is seen, and moves of its windows at every fineness."""

from __future__ import annotations

import numpy as np
import pytest
from scipy import ndimage

from holders.measure.surface.match import _level
from holders.measure.surface.opening import find_opening
from holders.measure.surface.reading import Picture
from holders.measure.surface.search import Trend

PITCH = 0.1


def framed(move: tuple[int, int] = (0, 0), blank: bool = False) -> np.ndarray:
    """A texture of 40 x 30 mm with its corner 6 and 9 mm from that of a dark scan, moved by so many pixels."""
    film = ndimage.gaussian_filter(np.random.default_rng(3).standard_normal((300, 400)), 2.0)
    film = 30_000.0 + (0.0 if blank else 5_000.0) * film / film.std()
    scan = np.full((480, 560), 200.0)
    scan[90 + move[1] : 390 + move[1], 60 + move[0] : 460 + move[0]] = film
    return scan


def test_the_sides_of_a_dark_frame_are_where_they_were_drawn() -> None:
    found = find_opening(framed(blank=True).astype(np.float32), (PITCH, PITCH))
    assert found.box == pytest.approx((6.0, 46.0, 9.0, 39.0), abs=2 * PITCH)
    assert [side.seen for side in (found.left, found.right, found.top, found.bottom)] == [True] * 4


@pytest.mark.parametrize("factor", [1, 3])
def test_windows_lie_on_the_film_and_move_as_it_did_whatever_pixels_they_are_made_of(factor: int) -> None:
    move = (9, -6)
    pictures = [
        Picture("a.tif", light.astype(np.uint16), (PITCH, PITCH), 254.0, ())
        for light in (framed(), framed(move))
    ]
    openings = tuple(find_opening(picture.light.astype(np.float32), (PITCH, PITCH)) for picture in pictures)
    still = Trend(
        (26.0, 24.0), (20.0, 15.0), ((0, 0),), np.array([PITCH * move[0]]), np.array([PITCH * move[1]])
    )
    found = _level(*pictures, openings, still, factor, lambda _: None)
    assert found.x.min() > 6.0
    assert found.x.max() < 46.0
    assert np.ptp(found.x) > 12.0
    assert found.u == pytest.approx(PITCH * move[0], abs=0.02)
    assert found.v == pytest.approx(PITCH * move[1], abs=0.02)
