"""The more certain the data, the narrower the valley of the right height: it must be found all the same."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.slope.estimate import estimate

FREQUENCY = np.geomspace(6.1, 53.4, 13)  # lp/mm
SHARP_MM = 8.25


def even_texture(number: int, looks: float) -> tuple[np.ndarray, np.ndarray, np.ndarray]:
    """Heights, log power and level of a white texture under a Gaussian blur that grows with the distance.

    Power is that of an average over ``looks`` independent spectra (gamma distributed); noise lies above the texture
    except near the sharp height; light is uneven by a tenth.
    """
    rng = np.random.default_rng(number)
    h = np.linspace(0.02, 9.98, 305)
    level = 0.28 * (1 + 0.1 * np.sin(2 * np.pi * h / 10))
    blur_mm = np.hypot(0.018, 0.021 * (h - SHARP_MM))[:, None]
    power = 0.08 * np.exp(-4 * np.pi**2 * FREQUENCY**2 * blur_mm**2)
    power *= rng.gamma(looks, 1 / looks, power.shape)
    noise = (1e-4 / level**2)[:, None] * rng.gamma(4 * looks, 1 / (4 * looks), power.shape)
    return h, np.log(power + noise), level


@pytest.mark.parametrize("looks", [20.0, 150.0, 600.0])
@pytest.mark.parametrize("number", [0, 2, 4])
def test_a_narrow_valley_is_found_beside_a_wide_one(number: int, looks: float) -> None:
    h, y, level = even_texture(number, looks)
    found = estimate(h, y, level, FREQUENCY)
    assert found.edge == 0
    assert found.height == pytest.approx(SHARP_MM, abs=0.05)
    assert abs(found.height - SHARP_MM) < 4 * found.total
