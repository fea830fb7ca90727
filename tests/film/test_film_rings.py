"""Newton's rings: coherence, contrast, gap, and published ring measurements."""

from __future__ import annotations

import numpy as np
import pytest

from holders.core.errors import InputError
from holders.film.band import Picture
from holders.film.models import Kind, Lips, Sheet, Support
from holders.film.rings import (
    Channel,
    contrast,
    fresnel_reflectance,
    ring_gap_mm,
    ring_risk,
    visibility,
)
from holders.film.surface import solve_surface


@pytest.mark.parametrize(
    ("wavelength", "width", "length_um"),
    [(550, 300, 1.01), (550, 100, 3.02), (450, 20, 10.1), (530, 35, 8.03), (630, 20, 19.8)],
)
def test_coherence_length(wavelength: float, width: float, length_um: float) -> None:
    """L = λ²/Δλ: Federal Standard 1037C (read), figures computed."""
    assert Channel("c", wavelength, width).coherence_length_mm * 1e3 == pytest.approx(length_um, rel=5e-3)


@pytest.mark.parametrize(("share", "value"), [(0.4413, 0.5), (1.048, 0.02), (0.0, 1.0)])
def test_visibility_of_a_gaussian_line(share: float, value: float) -> None:
    """V = 0.5 at a path of 0.4413 L (the factor 2 ln2/π), 0.02 at 1.048 L: computed; the path is twice the gap."""
    channel = Channel("green", 530, 35)
    gap = share * channel.coherence_length_mm / 2
    assert float(visibility(channel, gap)) == pytest.approx(value, rel=5e-3)
    assert 2 * np.log(2) / np.pi == pytest.approx(0.4413, abs=1e-4)


def test_visibility_is_the_spectrums_transform() -> None:
    """Against summing the fringes of every wavelength in a Gaussian spectrum of that width."""
    channel = Channel("red", 630, 20)
    sigma = channel.width_nm / np.sqrt(8 * np.log(2))
    wavelengths = np.linspace(630 - 6 * sigma, 630 + 6 * sigma, 4001) * 1e-6
    weights = np.exp(-((wavelengths * 1e6 - 630) ** 2) / (2 * sigma**2))
    for gap in (0.001, 0.003, 0.006):
        beat = np.abs((weights * np.exp(4j * np.pi * gap / wavelengths)).sum() / weights.sum())
        assert float(visibility(channel, gap)) == pytest.approx(beat, rel=0.03, abs=2e-3)


def test_contrast_of_bare_film_on_glass() -> None:
    """Index 1.5 reflects 4 %; two beams of 1 and 0.04·0.04 in intensity beat with 8 %."""
    assert fresnel_reflectance(1.5) == pytest.approx(0.04)
    assert fresnel_reflectance(1.0) == 0.0
    assert float(contrast(Channel("w", 550, 300), 0.0, 1.5, 1.5)) == pytest.approx(0.08 / 1.0016)
    direct, twice = 1.0, 0.04
    bright, dark = (direct + twice) ** 2, (direct - twice) ** 2
    assert (bright - dark) / (bright + dark) == pytest.approx(0.08 / 1.0016)


def test_gap_limit_is_where_the_contrast_is_the_threshold() -> None:
    for channel in (Channel("blue", 450, 20), Channel("white", 550, 300)):
        gap = ring_gap_mm(channel, 1.64, 1.52, 0.02)
        assert float(contrast(channel, gap, 1.64, 1.52)) == pytest.approx(0.02)
        assert gap < 0.01  # a hundredth of a millimetre: rings need near contact under filtered light
    assert ring_gap_mm(channel, 1.64, 1.52, 0.5) == 0.0
    narrow, wide = Channel("n", 546, 1), Channel("w", 546, 40)
    assert ring_gap_mm(narrow, 1.64, 1.52) == pytest.approx(40 * ring_gap_mm(wide, 1.64, 1.52))


def test_risk_over_the_film() -> None:
    """An 8x10 sheet on a 1 mm ledge lies on the glass in the middle; at 3 mm it is clear of all rings."""
    sheet = Sheet(
        width_mm=203, height_mm=254, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
    )
    low = solve_surface(sheet, Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0), ledge_height_mm=1.0))
    high = solve_surface(sheet, Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0), ledge_height_mm=3.0))
    channels = (Channel("red", 630, 40), Channel("green", 530, 35), Channel("blue", 450, 30))
    risk = ring_risk(low, channels, film_index=1.64, glass_index=1.52)
    assert risk.channel == "red"
    assert 0 < risk.share < 0.5
    assert risk.mask[len(low.y) // 2, len(low.x) // 2]
    assert not risk.mask[0].any()
    assert risk.worst_contrast > 0.05
    corner = ring_risk(low, channels, film_index=1.64, glass_index=1.52, picture=Picture(5, 5, 40, 40))
    assert corner.share == 0.0
    clear = ring_risk(high, channels, film_index=1.64, glass_index=1.52)
    assert clear.share == 0.0
    assert clear.worst_contrast < 1e-12
    assert clear.least_gap_mm == pytest.approx(high.min_gap_mm)


def test_bad_input_is_told() -> None:
    with pytest.raises(InputError):
        Channel("x", 550, 0)
    with pytest.raises(InputError):
        ring_gap_mm(Channel("w", 550, 100), 1.6, 1.5, 0.0)
