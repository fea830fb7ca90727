"""What the spacing of a ruling's ticks says of the target's shape.

A flatbed's lens looks across the bed in perspective: a point at height z and X mm from the lens's axis is seen at
X / (1 + z / D). On a slope that runs across the bed the distance between ticks therefore changes along it, by
(s / D) u^2 for a slope s at u mm, and by a cubic term where the target sags besides: 4 d u^3 / (L^2 D) for a sag d of
the middle over a length L. Along the bed nothing of this shows.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holders.measure.scan.spectra import F64, Cells
from holders.measure.scan.view import View
from holders.measure.slope.target.placed import Placed
from holders.measure.slope.target.ticks import lit

TICKS, HOP = 8, 2  # periods under one window, and from window to window
FEWEST = 12  # windows
LEAST_AMPLITUDE = 0.25  # of the greatest
STRIPS = 5
NEAREST_MM, FARTHEST_MM = 180.0, 500.0  # between which a lens's distance is believed
DISTORTION_MM = 0.003  # departure of lens, carriage and ruler from even spacing that is not modelled


@dataclass(frozen=True)
class Spacing:
    """``bend_mm``, ``sigma_mm``: how far the ticks at the sharp place lie from even spacing between the scan's ends,
    along the slope. ``distance_mm`` of the lens where perspective is seen, else None; ``sag_mm``, ``sag_sigma_mm``: of
    the target's middle then.
    """

    bend_mm: float
    sigma_mm: float
    distance_mm: float | None
    sag_mm: float
    sag_sigma_mm: float


def spacing_of_ticks(
    view: View, placed: Placed, cells: Cells, strips: Sequence[int], period: float, turn: float, share: float
) -> Spacing | None:
    """The spacing of ticks of ``period`` pixels leaning by ``turn``, seen from a ``share`` of the part.

    None where too few ticks are seen, or too little of the slope shows them.
    """
    a, b = placed.part.along
    found = []
    firsts = [placed.part.across[0] + s for s in list(strips)[:: max(1, len(strips) // STRIPS)]]
    for light in lit(view, (a, b), [(first, first + cells.rows) for first in firsts]):
        slides = np.rint(turn * (np.arange(cells.rows) - cells.rows / 2)).astype(int)
        line = np.mean([np.roll(row, -k) for row, k in zip(light, slides, strict=True)], axis=0)
        one = _places(np.asarray(line, dtype=float), period)
        if one is not None:
            found.append(one)
    if not found:
        return None
    length = b - a
    fits = [
        fit for fit in (_cubic(u, place, weight, length) for u, place, weight in found) if fit is not None
    ]
    if not fits:
        return None
    weight = np.array([fit[1] ** -2.0 for fit in fits])
    coefficients = np.asarray(weight @ np.array([fit[0] for fit in fits]) / weight.sum())
    return _spacing(coefficients, float(weight.sum() ** -0.5), view, placed, share)


def _places(line: F64, period: float) -> tuple[F64, F64, F64] | None:
    """Pixels u, places of the ticks by their phase (pixels, up to a constant) and amplitudes along a line of light."""
    n = len(line)
    size = int(TICKS * period)
    starts = np.arange(0, n - size, HOP * period).astype(int)
    if len(starts) < FEWEST:
        return None
    window = np.hanning(size)
    wave = np.exp(-2j * np.pi * np.arange(n) / period)
    pieces = [line[s : s + size] for s in starts]
    value = np.array(
        [
            (window * (piece - piece @ window / window.sum())) @ wave[s : s + size]
            for s, piece in zip(starts, pieces, strict=True)
        ]
    )
    size_of = np.abs(value)
    good = size_of >= LEAST_AMPLITUDE * size_of.max()
    if good.sum() < FEWEST:
        return None
    phase = np.unwrap(np.angle(value[good]))
    if np.abs(np.diff(phase)).max(initial=0.0) > 2.0:
        return None
    u = starts[good] + 0.5 * size
    return np.asarray(u), np.asarray(u + phase * period / (2.0 * np.pi)), np.asarray(size_of[good])


def _cubic(u: F64, place: F64, weight: F64, length: int) -> tuple[F64, float] | None:
    """Cubic through the places over t = u / length, (4,), and the scatter about it in pixels."""
    t = u / length
    if np.ptp(t) < 0.6:
        return None
    columns = np.stack([np.ones_like(t), t, t**2, t**3], axis=1)
    w = np.ones_like(weight)
    rest = np.zeros_like(t)
    for _ in range(6):
        c = np.linalg.lstsq(columns * w[:, None], place * w, rcond=None)[0]
        rest = place - columns @ c
        scale = max(1.4826 * float(np.median(np.abs(rest))), 1e-4)
        w = np.sqrt(5.0 / (4.0 + (rest / scale) ** 2))
    inverse = np.linalg.inv(columns.T @ (columns * w[:, None] ** 2))
    # windows overlap: each counts for a quarter
    return np.asarray(c), float(2.0 * scale * np.sqrt(inverse[3, 3]))


def _spacing(c: F64, cubic_sigma: float, view: View, placed: Placed, share: float) -> Spacing:
    """``c`` (4,): places in pixels over t; ``cubic_sigma`` of the last one."""
    pitch = view.pitch_mm
    length = (placed.part.along[1] - placed.part.along[0]) * pitch
    slope = placed.per_pixel_mm / pitch
    t = min(max(share, 0.0), 1.0)
    bend = float(c[2] * (t**2 - t) + c[3] * (t**3 - t)) * pitch
    noise = float(np.hypot(cubic_sigma * pitch * 0.1, DISTORTION_MM))
    # c2 t^2 is (slope / D) u^2, but for the cubic's own share of it
    middle = float(c[2] + 1.5 * c[3]) * pitch / length
    distance = length * slope / middle if middle * slope > 0 else None
    if distance is None or not NEAREST_MM <= distance <= FARTHEST_MM:
        return Spacing(bend, noise, None, 0.0, np.inf)
    per_mm = 4.0 * length / distance  # of the cubic, for each mm of sag
    cubic = float(c[3]) * pitch
    # t^3 departs from the parabola nearest to it by about a twentieth either way
    sigma = float(np.hypot(cubic_sigma * pitch, 10.0 * DISTORTION_MM)) / per_mm
    return Spacing(bend, noise, distance, cubic / per_mm, sigma)
