"""Where the film is seen in a scan: the bright part inside the holder's opaque lip, and which of its sides are seen."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

F64 = NDArray[np.float64]
SIDES = ("left", "right", "top", "bottom")
OPAQUE = 0.06  # of the way from the scan's darkest to its brightest: below it is lip or dense film
CELL_MM = 0.35  # of the small picture in which the sides are looked for
LEAST_SHARE = 0.3  # of a side's lines that must agree on it
NEAR_MM = 0.9  # within which a line agrees
BORDER_MM = 1.2  # nearer to the scan's rim than this, a side is the scan's own


@dataclass(frozen=True)
class Side:
    """A straight side: position ``at`` + ``slope`` times the other coordinate (mm); ``seen`` a lip was seen there."""

    at: float
    slope: float
    seen: bool

    def place(self, other_mm: F64 | float) -> F64:
        """Position at the other coordinate, mm."""
        return np.asarray(self.at + self.slope * np.asarray(other_mm))


@dataclass(frozen=True)
class Opening:
    """The film's visible part: four sides, mm from the scan's top left corner, x across and y down.

    ``left`` and ``right`` give x as a function of y, ``top`` and ``bottom`` y as a function of x.
    """

    left: Side
    right: Side
    top: Side
    bottom: Side

    def inside(self, x_mm: F64, y_mm: F64, margin_mm: float) -> NDArray[np.bool_]:
        """Which points are at least ``margin_mm`` inside all sides."""
        return np.asarray(
            (x_mm > self.left.place(y_mm) + margin_mm)
            & (x_mm < self.right.place(y_mm) - margin_mm)
            & (y_mm > self.top.place(x_mm) + margin_mm)
            & (y_mm < self.bottom.place(x_mm) - margin_mm)
        )

    @property
    def box(self) -> tuple[float, float, float, float]:
        """Left, right, top, bottom at the middle, mm."""
        y = (self.top.at + self.bottom.at) / 2
        x = (self.left.at + self.right.at) / 2
        across = float(self.left.place(y)), float(self.right.place(y))
        return *across, float(self.top.place(x)), float(self.bottom.place(x))


def find_opening(small: NDArray[np.float32], pitch_mm: tuple[float, float]) -> Opening:
    """Find the film in a small picture of the scan (root of light, any scale; ``pitch_mm`` across and down).

    Dark picture content at the lip leaves gaps in a side; a side counts where enough of its lines agree. A side
    that leaves the scan, or that nothing shows, is the scan's own rim and is marked as not seen.
    """
    high, wide = small.shape
    mask = _film_mask(small)
    size = (wide * pitch_mm[0], high * pitch_mm[1])
    rows, cols = np.nonzero(mask.any(axis=1))[0], np.nonzero(mask.any(axis=0))[0]
    first_col, last_col = mask.argmax(axis=1), wide - 1 - mask[:, ::-1].argmax(axis=1)
    first_row, last_row = mask.argmax(axis=0), high - 1 - mask[::-1].argmax(axis=0)
    t_rows, t_cols = (rows + 0.5) * pitch_mm[1], (cols + 0.5) * pitch_mm[0]
    left = _side(t_rows, first_col[rows] * pitch_mm[0], size[0], low=True)
    right = _side(t_rows, (last_col[rows] + 1) * pitch_mm[0], size[0], low=False)
    top = _side(t_cols, first_row[cols] * pitch_mm[1], size[1], low=True)
    bottom = _side(t_cols, (last_row[cols] + 1) * pitch_mm[1], size[1], low=False)
    return Opening(left, right, top, bottom)


def _film_mask(small: NDArray[np.float32]) -> NDArray[np.bool_]:
    """The largest bright region, holes filled; all of the picture where nothing is opaque."""
    dark, bright = (float(v) for v in np.percentile(small, (1, 98)))
    lit = small > dark + max(OPAQUE * (bright - dark), 1e-9)
    lit = ndimage.binary_opening(lit, iterations=2)
    names, count = ndimage.label(lit)
    if count == 0:
        return np.ones(small.shape, bool)
    sizes = np.bincount(names.ravel())[1:]
    # the bed beside a holder is lit too: the film is the region whose bounding box lies most in the middle
    best, value = 1, -1.0
    high, wide = small.shape
    for k, box in enumerate(ndimage.find_objects(names), start=1):
        if sizes[k - 1] < 0.03 * lit.size or box is None:
            continue
        rim = (box[0].start == 0) + (box[0].stop == high) + (box[1].start == 0) + (box[1].stop == wide)
        score = sizes[k - 1] / lit.size - 0.15 * rim
        if score > value:
            best, value = k, score
    return np.asarray(ndimage.binary_fill_holes(names == best))


def _side(t: NDArray[Any], where: NDArray[Any], size: float, *, low: bool) -> Side:
    """One side from the outermost lit cell of each line: the line nearest the rim on which enough of them agree."""
    rim = 0.0 if low else size
    distance = where if low else size - where
    if len(t) < 8:
        return Side(rim, 0.0, False)
    best: tuple[float, float] | None = None
    for level in np.unique(np.round(distance / (NEAR_MM / 2)) * (NEAR_MM / 2)):
        slope, at = 0.0, float(level)
        for width in (3 * NEAR_MM, NEAR_MM, NEAR_MM):
            keep = np.abs(distance - at - slope * (t - t.mean())) < width
            if keep.sum() < max(6, LEAST_SHARE * len(t) * 0.5):
                break
            slope, at = _line(t[keep] - t.mean(), distance[keep])
        share = float(np.mean(np.abs(distance - at - slope * (t - t.mean())) < NEAR_MM))
        if share >= LEAST_SHARE and abs(slope) < 0.1:
            best = (at, slope)
            break
    if best is None:
        best = (float(np.median(distance)), 0.0)
        sure = False
    else:
        sure = best[0] > BORDER_MM
    if not sure and best[0] <= BORDER_MM:
        return Side(rim, 0.0, False)
    at = best[0] - best[1] * float(t.mean())
    return Side(at if low else size - at, best[1] if low else -best[1], sure)


def _line(t: NDArray[Any], x: NDArray[Any]) -> tuple[float, float]:
    slope = float(np.polyfit(t, x, 1)[0]) if np.ptp(t) > 0 else 0.0
    return slope, float(np.median(x - slope * t))
