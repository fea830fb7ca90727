"""What counts as an overtone of a ruling, and as detail beside the noise of its own place."""

import numpy as np

from holders.measure.slope.estimate import _above_noise, _Part
from holders.measure.slope.judge import has_overtones

FREQUENCY = np.array([6.1, 8.1, 10.6, 13.1, 15.9])  # lp/mm; ticks of 0.2 mm: 5 lp/mm


def log_power(*shares: float) -> np.ndarray:
    """The same log power at 20 places."""
    return np.log(np.tile(shares, (20, 1)))


def test_power_that_rises_again_is_an_overtone():
    assert has_overtones(log_power(1.0, 0.014, 0.055, 0.005, 0.001), FREQUENCY, 0.2)


def test_power_that_falls_steadily_is_let_through_by_the_window():
    assert not has_overtones(log_power(1.0, 0.3, 0.1, 0.02, 0.001), FREQUENCY, 0.2)


def test_noise_that_differs_along_the_slope_is_no_detail():
    """Brighter, so noisier, where it is sharp: the finest features lie above the least of the scan and hold nothing."""
    h = np.linspace(-1.0, 1.0, 60)
    noise = -8.4 + 0.9 * (1.0 - h**2)
    hill = 5.0 * np.exp(-((h / 0.2) ** 2))
    y = noise[:, None] + hill[:, None] * np.array([1.0, 0.8, 0.6, 0.0, 0.0])
    part = _Part(h, y, np.zeros((60, 5, 0)), np.ones((60, 5)), 1.0, np.zeros((60, 5, 0)), 1.0)
    near = np.argsort(np.abs(h))[:5]
    assert _above_noise(part, near).tolist() == [True, True, True, False, False]
