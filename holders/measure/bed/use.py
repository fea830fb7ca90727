"""What a measured bed asks of a holder: the focus height over its windows, and how high its corners must stand."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np

from holders.core.errors import InputError
from holders.measure.bed.record import Measured
from holders.measure.bed.shape import BedShape, fit_shape

MOST_TILT_MM_PER_M = 30.0
Box = tuple[float, float, float, float]


def shape_or_none(places: Sequence[Measured]) -> BedShape | None:
    """The bed's shape, or None where the places are too few or lie in one line."""
    try:
        return fit_shape(places)
    except InputError:
        return None


def focus_over(places: Sequence[Measured], box: Box) -> tuple[float, float]:
    """Mean focus height over a box (least x, least y, greatest x, greatest y; mm) and its sigma.

    A flat film cannot follow a curved bed: how uneven that is beside a plane is in sigma. With fewer than three places,
    or all in a line, the weighted mean; its sigma includes how far the measurements lie apart.

    Raises
    ------
    InputError
        No measurement.
    """
    if not places:
        raise InputError("record", "no measurement", "measure the bed first")
    shape = shape_or_none(places)
    if shape is not None:
        height, sigma, uneven = shape.over(box)
        return height, float(np.hypot(sigma, uneven))
    h = np.array([p.height_mm for p in places])
    w = np.array([p.sigma_mm for p in places]) ** -2.0
    mean = float(w @ h / w.sum())
    scale = max(1.0, float(w @ (h - mean) ** 2) / max(len(h) - 1, 1))
    return mean, float((scale / w.sum()) ** 0.5)


def foot_corrections(
    places: Sequence[Measured], corners: Sequence[tuple[float, float]], box: Box
) -> tuple[tuple[float, ...], bool]:
    """How much higher than its middle a holder must stand at each corner to follow the tilt (mm).

    All zero, and false, where no tilt is real. ``box`` is the part of the bed that the windows take.

    Raises
    ------
    InputError
        The tilt is more than any bed has.
    """
    shape = shape_or_none(places)
    if shape is None:
        return tuple(0.0 for _ in corners), False
    tilt_x, tilt_y, real = shape.slope(box)
    if not real:
        return tuple(0.0 for _ in corners), False
    if np.hypot(tilt_x, tilt_y) * 1000.0 > MOST_TILT_MM_PER_M:
        raise InputError("record", "a tilt of more than 30 mm per m", "a place is wrong; measure again")
    cx, cy = (box[0] + box[2]) / 2, (box[1] + box[3]) / 2
    return tuple(float(tilt_x * (x - cx) + tilt_y * (y - cy)) for x, y in corners), True
