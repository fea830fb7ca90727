"""Sharpness across the frame: what a finished scan keeps of the contrast that the lens gives at its best.

Noise is measured and left out, the picture's own softness is separated from the lens's where grain shows, and where
nothing can be said nothing is (``holders.measure.finished.blur``).
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.blur.judge import IN_BAND, RIM_BLUR, BlurMap, judge
from holders.measure.finished.blur.pattern import Pattern, classify
from holders.measure.finished.reduce import F64, Reduced

MOST_UNLIKE = 0.05  # of the area; judgement
SHAPE_SIGMA = 0.15  # of the share in the band: up to it the shape of the blur is named, and what it asks for
RIM_MM = 0.25  # of the lit area's own rim: its light strays into the film


@dataclass(frozen=True)
class SharpnessMap:
    """``grid[j, i]`` share of the lens's best contrast at ``lp_mm``, NaN where one scan cannot tell.

    Cell middles ``x_mm``, ``y_mm``; ``defocus[j, i]`` the distance from the sharp plane with 1 at the rim of the band,
    NaN as in ``grid``; ``in_band`` the cells that keep ``IN_BAND``. ``in_band_fraction`` of the film, None where too
    little can be judged, with ``in_band_sigma``; ``judged_fraction`` of the film's area. ``pattern`` and the share of
    the blur's variance that it explains; ``worst`` (x, y) of the least sharp place, mm, where there is one.
    ``by_geometry``: share of the area that a second scan's heights decided. ``roughly``: the share in the band
    also where its sigma is too large to state it; ``odd_lens``: a film soft all over, or a poor lens; ``packed``: a
    picture that was packed with losses (JPEG), which shows nothing of this.
    """

    grid: F64
    x_mm: F64
    y_mm: F64
    in_band: NDArray[np.bool_]
    in_band_fraction: float | None
    in_band_sigma: float
    judged_fraction: float
    pattern: Pattern
    explained: float
    worst: tuple[float, float] | None
    defocus: F64
    lp_mm: float
    by_geometry: float = 0.0
    roughly: float | None = None
    odd_lens: bool = False
    packed: bool = False

    @property
    def shaped(self) -> bool:
        """Whether enough is known for ``pattern`` to mean something."""
        return self.roughly is not None and self.in_band_sigma <= SHAPE_SIGMA

    @property
    def most_in_band(self) -> float | None:
        """How much of the film may be in the band at most, by two sigma; None where nothing is known of it."""
        return None if self.roughly is None else min(1.0, self.roughly + 2.0 * self.in_band_sigma)


def sharpness_map(reduced: Reduced, inside: tuple[float, float, float, float] | None = None) -> SharpnessMap:
    """The map; ``inside`` (left, top, right, bottom) mm limits it to the film's lit area."""
    high, wide = reduced.small.shape[:2]
    size = wide * reduced.step * reduced.pitch_mm[0], high * reduced.step * reduced.pitch_mm[1]
    box = (0.0, 0.0, *size) if inside is None else _shrunk(inside)
    return of_blur(judge(reduced.blocks, reduced.pitch_mm, box))


def of_blur(found: BlurMap) -> SharpnessMap:
    """What a map of blur says."""
    grid = np.where(found.judged, found.share, np.nan)
    defocus = np.where(found.judged, found.blur / RIM_BLUR, np.nan)
    pattern: Pattern = "unclear"
    explained, worst = 0.0, None
    roughly = found.in_band_fraction if found.roughly is None else found.roughly
    if roughly is not None and found.in_band_sigma <= SHAPE_SIGMA:
        pattern, explained = classify(found.blur / RIM_BLUR, found.judged)
        # a map whose soft places are no more than its doubt is even
        if roughly + found.in_band_sigma >= 1.0:
            pattern, explained = "even", 1.0
        if found.unlike > MOST_UNLIKE and pattern in ("even", "soft"):
            pattern, explained = "unclear", 0.0  # a part that nothing explains is not like the rest
        if pattern not in ("even", "soft"):
            j, i = np.unravel_index(int(np.nanargmax(defocus)), defocus.shape)
            worst = (float(found.x_mm[i]), float(found.y_mm[j]))
    return SharpnessMap(
        grid, found.x_mm, found.y_mm, found.judged & (np.nan_to_num(grid) >= IN_BAND), found.in_band_fraction,
        found.in_band_sigma, found.judged_fraction, pattern, explained, worst, defocus, found.lp_mm,
        0.0, roughly, found.odd_lens, found.packed,
    )  # fmt: skip


def _shrunk(inside: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    left, top, right, bottom = inside
    rim = min(RIM_MM, (right - left) / 8, (bottom - top) / 8)
    return left + rim, top + rim, right - rim, bottom - rim
