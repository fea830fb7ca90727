"""The share of the picture in the focus band and the ledge height that follows."""

from __future__ import annotations

from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.film.band import (
    CELLS,
    Band,
    Picture,
    _slide,
    best_ledge_height,
    in_band_fraction,
    optical_offset_mm,
    picture_heights,
    shifted,
)
from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.surface import solve_surface

SHEET = Sheet(
    width_mm=203, height_mm=254, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
)
SUPPORT = Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0), ledge_height_mm=3.0)
PICTURE = Picture(8.0, 8.0, 187.0, 238.0)
INDEX = 1.64


@pytest.fixture(scope="module")
def surface() -> Surface:
    return solve_surface(SHEET, SUPPORT)


def bowl(surface: Surface, depth: float) -> Surface:
    """The same film with a made-up shape: z = 3 - depth (1 - r²), r² = u² with u in -1..1 across the film."""
    u = 2 * surface.x / SHEET.width_mm - 1
    z = np.broadcast_to(3.0 - depth * (1 - u**2), surface.z.shape)
    return replace(surface, z=np.array(z))


def test_share_of_a_parabola(surface: Surface) -> None:
    """z = 3 - (1-u²) lies above 2 + 0.875² where |u| > 0.875: an eighth of the width, and a border between cells."""
    assert CELLS % 16 == 0
    whole = Picture(0.0, 0.0, SHEET.width_mm, SHEET.height_mm)
    share = in_band_fraction(bowl(surface, 1.0), whole, Band(2 + 0.875**2, 5.0), INDEX)
    assert share == pytest.approx(0.125, abs=1e-9)
    assert in_band_fraction(bowl(surface, 1.0), whole, Band(1.9, 3.1), INDEX) == 1.0
    assert in_band_fraction(bowl(surface, 1.0), whole, Band(3.1, 4.0), INDEX) == 0.0


def test_emulsion_up_is_seen_through_the_base(surface: Surface) -> None:
    """A base of thickness t and index n lifts the image by t/n (a slab's apparent depth)."""
    up = SHEET.model_copy(update={"emulsion": "up"})
    assert optical_offset_mm(up, 1.64) == pytest.approx(0.19 / 1.64)
    assert optical_offset_mm(SHEET, 1.64) == 0.0
    lifted = picture_heights(replace(surface, sheet=up), PICTURE, INDEX)
    np.testing.assert_allclose(lifted - picture_heights(surface, PICTURE, INDEX), 0.19 / 1.64)


def test_heights_agree_with_the_grid(surface: Surface) -> None:
    heights = picture_heights(surface, PICTURE, INDEX)
    assert heights.min() == pytest.approx(surface.z.min(), abs=1e-3)
    assert heights.max() < surface.z.max()


def test_best_height_when_all_fits_is_centred() -> None:
    """The picture's heights span less than the band: the margin is the same above and below."""
    band = Band(2.0, 4.0)
    choice = best_ledge_height(SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.3)
    heights = picture_heights(choice.surface, PICTURE, INDEX)
    assert choice.in_band_fraction == 1.0
    assert choice.limited_by == "focus"
    assert heights.min() - band.low_mm == pytest.approx(band.high_mm - heights.max(), abs=1e-6)
    assert choice.margin_mm == pytest.approx(heights.min() - band.low_mm, abs=1e-6)


@pytest.mark.parametrize("width", [0.3, 0.6, 1.0])
def test_no_other_height_has_more_in_the_band(width: float) -> None:
    band = Band(3.0 - width / 2, 3.0 + width / 2)
    choice = best_ledge_height(SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.3)
    assert in_band_fraction(choice.surface, PICTURE, band, INDEX) == choice.in_band_fraction
    for height in np.linspace(2.0, 5.0, 61):
        other = shifted(choice.surface, float(height))
        assert in_band_fraction(other, PICTURE, band, INDEX) <= choice.in_band_fraction + 1e-12


def test_focus_height_itself_is_the_wrong_ledge() -> None:
    """For an 8x10 sheet a ledge at the middle of the band loses much of the picture."""
    band = Band(2.5, 3.5)
    choice = best_ledge_height(SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.3)
    at_focus = in_band_fraction(shifted(choice.surface, 3.0), PICTURE, band, INDEX)
    assert choice.ledge_height_mm > 3.3
    assert choice.in_band_fraction > at_focus + 0.3


def test_gap_limits_the_height() -> None:
    band = Band(0.3, 0.8)
    free = best_ledge_height(SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.0)
    kept = best_ledge_height(SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.5)
    assert free.limited_by == "focus"
    assert kept.limited_by == "gap"
    assert kept.min_gap_mm >= 0.5 - 1e-9
    assert kept.in_band_fraction < free.in_band_fraction
    with pytest.raises(InputError, match="min_gap_mm"):
        best_ledge_height(
            SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.5, highest_mm=1.0
        )


def test_range_limits_the_height() -> None:
    band = Band(2.5, 3.5)
    low = best_ledge_height(
        SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.1, highest_mm=3.0
    )
    assert low.ledge_height_mm == pytest.approx(3.0, abs=2e-3)  # the middle of the last step of the share
    assert low.limited_by == "range"
    high = best_ledge_height(
        SHEET, SUPPORT, PICTURE, band, refractive_index=INDEX, min_gap_mm=0.1, lowest_mm=5.0
    )
    assert high.ledge_height_mm >= 5.0
    assert high.limited_by == "range"


def test_film_that_must_lie_on_the_glass() -> None:
    """Ledges up to 1 mm only: the sheet touches the glass whatever is chosen, and each height is solved anew."""
    choice = best_ledge_height(
        SHEET, SUPPORT, PICTURE, Band(0.0, 0.5), refractive_index=INDEX, min_gap_mm=0.0, highest_mm=1.0
    )
    assert choice.limited_by == "range"
    assert choice.surface.touches_glass
    assert choice.in_band_fraction > 0.5
    with pytest.raises(InputError, match="touches the glass"):
        shifted(choice.surface, 2.0)


def test_shift_is_a_solution(surface: Surface) -> None:
    """A shifted shape is what solving at that height gives."""
    moved = shifted(surface, 4.2)
    np.testing.assert_allclose(moved.z, solve_surface(SHEET, moved.support).z, atol=1e-6)
    with pytest.raises(InputError):
        shifted(surface, 0.5)


@settings(max_examples=60, deadline=None, derandomize=True)
@given(st.lists(st.floats(-2.0, 2.0), min_size=1, max_size=40), st.floats(0.05, 3.0))
def test_slide_finds_the_greatest_share(heights: list[float], width: float) -> None:
    """Against trying every shift that puts a height on a band edge, a hair inside."""
    h, band = np.sort(np.array(heights)), Band(1.0, 1.0 + width)
    _, share = _slide(h, band, -np.inf, np.inf)
    tries = np.concatenate([band.low_mm - h + 1e-10, band.high_mm - h - 1e-10])
    best = max(np.mean((h + s >= band.low_mm) & (h + s <= band.high_mm)) for s in tries)
    assert share >= best - 1e-12


@pytest.mark.parametrize(
    ("picture", "band"),
    [
        (Picture(-1.0, 8.0, 50.0, 50.0), Band(2.0, 3.0)),
        (Picture(8.0, 8.0, 300.0, 50.0), Band(2.0, 3.0)),
        (Picture(8.0, 8.0, 0.0, 50.0), Band(2.0, 3.0)),
        (PICTURE, Band(3.0, 3.0)),
    ],
)
def test_bad_input_is_told(picture: Picture, band: Band) -> None:
    with pytest.raises(InputError):
        best_ledge_height(SHEET, SUPPORT, picture, band, refractive_index=INDEX, min_gap_mm=0.3)


def test_bad_index() -> None:
    with pytest.raises(InputError, match="refractive_index"):
        optical_offset_mm(SHEET, 0.5)
