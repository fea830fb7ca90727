"""The chance that so much of the picture is sharp: closed forms, laws, and film and frame added place by place."""

from __future__ import annotations

import math
from dataclasses import replace
from itertools import pairwise

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.design.held.film_in_holder import designed
from holders.design.model import HEIGHT_CELLS, Design
from holders.design.sag import Sag
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from holders.workshop.budget.contributors import sharpness
from holders.workshop.budget.framed import framed
from holders.workshop.budget.share import film_heights, good_planes, heights_of, sharp_share
from tests.checks.make_design import job, make, with_heights
from tests.presets_made import SHIPPED


def flat_job(sigma: float) -> Job:
    """A holder of measured sheets that lies on the glass, cold: next to nothing but the focus is uncertain."""
    return job(
        "knife",
        bed={"focus_sigma_mm": sigma, "face_difference_k": 0.0},
        preset={"material": {"name": "stuff", "sheets_mm": [3.0, 2.0]}},
    )


def made_for(sigma: float, film: tuple[float, float], aimed: float) -> Design:
    made = with_heights(make("knife"), focus_sigma=sigma, sharp_plane=3.1 + aimed)
    return replace(made, sag=Sag(0.6, 0.3, 2.4, 1.0, reach_mm=film))


def test_flat_film_by_the_normal_law() -> None:
    """P(|d| < 0.6) with d normal of 0.3 and a sheet read to ±0.03 (two sigma): the error function."""
    found = sharp_share(flat_job(0.3), made_for(0.3, (0.0, 0.0), 0.0))
    want = math.erf(0.6 / math.hypot(0.3, 0.015) / math.sqrt(2))
    assert found.most.value == pytest.approx(want, abs=4 * found.most.error)
    assert found.whole.value == found.most.value


def test_an_even_slope_by_hand() -> None:
    """Film from 0 down to 0.6 mm, aimed at its middle: all of it stays in for |d| < 0.3.

    A tenth may leave the band; on one side only, as the film fills half of the band: |d| < 0.36.
    """
    found = sharp_share(flat_job(0.3), made_for(0.3, (-0.6, 0.0), 0.3))
    sigma = math.hypot(0.3, 0.015)
    assert found.whole.value == pytest.approx(math.erf(0.3 / sigma / math.sqrt(2)), abs=4 * found.whole.error)
    # 576 cells: nine tenths are 519 of them, which span (519 - 1)/575 of the slope
    edge = 0.6 - 0.6 * (518 / 575 - 0.5)
    assert edge == pytest.approx(0.36, abs=2e-3)
    assert found.most.value == pytest.approx(math.erf(edge / sigma / math.sqrt(2)), abs=4 * found.most.error)


def test_film_that_is_deeper_than_the_band_is_never_wholly_sharp() -> None:
    found = sharp_share(flat_job(0.01), made_for(0.01, (-1.3, 0.0), 0.65))
    assert found.whole.value == 0.0
    assert found.most.value == pytest.approx(1.0, abs=1e-3)  # 1.17 of the band's 1.2 mm
    assert found.stack.chance.value == 0.0


def test_frame_and_film_meet_place_by_place_and_not_extreme_to_extreme() -> None:
    """A film highest where the frame hangs deepest is made flatter by it."""
    made = make()
    cells = HEIGHT_CELLS
    u = (np.arange(cells) + 0.5) / cells
    hump = 0.1 * np.sin(np.pi * u)[None, :] * np.sin(np.pi * u)[:, None]

    def spread(film: np.ndarray) -> float:
        heights = tuple(tuple(map(float, row)) for row in film)
        low, high = float(film.min()), float(film.max())
        sag = Sag(0.1, 0.0, 2.0, 1.0, reach_mm=(low, high), heights_mm=heights)
        # the cold end of the first window
        under = framed(job(bed={"face_difference_k": 0.0}), made, HEIGHT_CELLS)
        cold = heights_of(replace(made, sag=sag), under)[0][0]
        return float(cold[-1] - cold[0])

    assert spread(hump) < spread(-hump)


def test_warmth_is_between_cold_and_warm() -> None:
    """An even draw from 0 to the lift: a flat film that the warm frame lifts as one, against the closed form."""
    warm = job(bed={"focus_sigma_mm": 1e-4}, printer={"z_tolerance_mm": 0.0})
    steps = heights_of(make(), framed(warm, make(), HEIGHT_CELLS))[0]
    means = [float(z.mean()) for z in steps]
    assert np.diff(means) == pytest.approx(np.full(len(means) - 1, means[1] - means[0]), rel=1e-6)
    assert means[-1] > means[0]


@settings(max_examples=200, deadline=None)
@given(
    st.lists(st.floats(-1, 1), min_size=1, max_size=30),
    st.floats(0.05, 1.5),
    st.floats(0.05, 1.0),
    st.floats(-2, 2),
)
def test_good_planes_against_counting(heights: list[float], half: float, share: float, shift: float) -> None:
    sorted_ = np.sort(np.array(heights))
    spans = good_planes(sorted_, -half, half, share)
    inside = any(a <= shift <= b for a, b in spans)
    near = any(abs(shift - edge) < 1e-9 for span in spans for edge in span)
    counted = float(np.mean(np.abs(sorted_ + shift) <= half))
    if not near and not np.any(np.abs(np.abs(sorted_ + shift) - half) < 1e-9):
        assert inside == (counted >= share - 1e-9)
    assert all(a <= b + 1e-9 for a, b in spans)
    assert all(b < c for (_, b), (c, _) in pairwise(spans))


@settings(max_examples=15, deadline=None)
@given(st.floats(0.02, 0.5), st.floats(-1.0, 0.0), st.floats(0.0, 0.4))
def test_less_of_the_picture_is_sharp_more_often(sigma: float, low: float, high: float) -> None:
    wanted, made = flat_job(sigma), made_for(sigma, (low, high), -(low + high) / 2)
    chances = [sharp_share(wanted, made, share, samples=4000).most.value for share in (1.0, 0.9, 0.5)]
    assert chances == sorted(chances)


@pytest.mark.parametrize("name", ["8x10-printed", "35mm-channel", "50mm-mounts", "whole-plate-glass"])
def test_a_shipped_holder_keeps_its_films_heights(name: str) -> None:
    wanted = resolve(load(next(p for p in SHIPPED if p.stem == name)))
    made, film = designed(wanted, ranges=False)
    heights = film_heights(made)
    assert made.sag is not None
    assert heights.shape == (HEIGHT_CELLS, HEIGHT_CELLS)
    low, high = made.sag.reach_mm or (0.0, 0.0)
    assert low - 1e-6 <= heights.min() <= heights.max() <= high + 1e-6
    assert heights.max() - heights.min() >= 0.9 * (high - low)
    h = made.heights
    shares = np.mean((heights + h.sharp_plane >= h.band_low) & (heights + h.sharp_plane <= h.band_high))
    if wanted.preset.film.emulsion == "down" and not wanted.base.rigid and wanted.film.kind != "mount":
        assert float(shares) == pytest.approx(film.sag.in_band_fraction if film.sag else 0.0, abs=0.02)


def test_without_a_frame_it_is_the_plain_stack_up() -> None:
    """Nothing hangs and nothing bows: all of the picture is sharp as often as the stack-up says."""
    wanted, made = flat_job(0.2), made_for(0.2, (-0.4, 0.0), 0.2)
    found = sharp_share(wanted, made)
    assert found.whole.value == pytest.approx(sharpness(wanted, made).chance.value, abs=0.005)
