"""A scan lens's distortion across the bed, from two scans of a flat target slid sideways: a row of the bed's record.

A point that lies at x in the scan is displaced by d(x) across the bed. Of a flat target that is slid by s, a place at x
moves by s plus d(x + s) - d(x), the same for every row. A constant slope of d only makes the slide look longer, and is
left out; a target that leans looks like a slope that grows with x, and has its size in the fit.
"""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import Annotated

import numpy as np
from numpy.typing import NDArray
from pydantic import BaseModel, ConfigDict, Field, field_validator

from holders.core.errors import InputError
from holders.core.plain_text import ONE_LINE
from holders.core.toml_text import quoted

F64 = NDArray[np.float64]

TERMS = 5
SLOPE = (
    0.002  # expected of the first term, and of the others by their number: as for a lens that nobody measured
)
LEAN_MM = 0.03  # of the target's ends, and of its change between the scans
FREEDOM, STEPS = 4.0, 30
SAME_WIDTH_MM = 1.0  # a scan of another width is another frame of the bed
LEAST_PLACES = 60


class MeasuredDistortion(BaseModel):
    """Distortion over a scan ``width_mm`` wide: its slope is the sum of ``slopes`` times Legendre polynomials 1, 2, ...
    of the place across, -1 at the scan's left and 1 at its right. ``sigma``: standard deviation of that slope.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    width_mm: float = Field(ge=20, le=2000)
    slopes: tuple[float, ...] = Field(min_length=1, max_length=12)
    sigma: float = Field(gt=0, le=0.1)
    date: dt.date
    note: Annotated[str, ONE_LINE] = Field(default="", max_length=400)

    @field_validator("slopes")
    @classmethod
    def _small(cls, value: tuple[float, ...]) -> tuple[float, ...]:
        if not all(math.isfinite(v) and abs(v) <= 0.1 for v in value):
            raise ValueError("slopes are shares, between -0.1 and 0.1")
        return value

    def displaced(self, x_mm: F64) -> F64:
        """Displacement at places across the scan, mm, up to a constant."""
        return np.asarray(_integrals(x_mm, self.width_mm, len(self.slopes)) @ np.array(self.slopes))


def fit(
    x_mm: F64, y_mm: F64, u_mm: F64, sigma_mm: F64, *, width_mm: float, lens_mm: float, today: dt.date
) -> MeasuredDistortion:
    """Distortion from the moves ``u_mm`` (N,) of places of a flat target, known to ``sigma_mm``; rows share their y.

    Raises ``InputError`` where too little of the target was matched.
    """
    if len(x_mm) < LEAST_PLACES:
        raise InputError(
            "SCAN",
            "(the target)",
            f"only {len(x_mm)} places of it are found in both scans; take one with more detail",
        )
    shift = float(np.median(u_mm))
    middle, half = float(x_mm.mean()), float(np.ptp(x_mm)) / 2
    p = (x_mm - middle) / half
    own = _integrals(x_mm + shift, width_mm, TERMS) - _integrals(x_mm, width_mm, TERMS)
    # a lean of the target, and one that it has only in the second scan
    lean = np.stack([-shift / lens_mm * p, -(x_mm + shift - width_mm / 2) / lens_mm * p], axis=1)
    _, rows = np.unique(np.round(y_mm, 4), return_inverse=True)
    matrix = np.hstack([own, lean])
    size = np.concatenate([SLOPE / np.arange(1, TERMS + 1), [LEAN_MM, LEAN_MM]])
    weight, noise, mean = np.ones(len(x_mm)), 1.0, np.zeros(len(size))
    covariance: F64 = np.eye(len(size))
    for _ in range(STEPS):
        w = weight / (noise * sigma_mm) ** 2
        level = np.maximum(np.bincount(rows, w), 1e-300)
        flat = matrix - np.stack([np.bincount(rows, w * c) / level for c in matrix.T], axis=1)[rows]
        free = u_mm - (np.bincount(rows, w * u_mm) / level)[rows]
        scaled = flat * size
        covariance = np.asarray(np.linalg.inv((scaled * w[:, None]).T @ scaled + np.eye(len(size))))
        mean = np.asarray(covariance @ (scaled.T @ (w * free)))
        rest = (free - scaled @ mean) / sigma_mm
        noise = max(0.5, float(np.sqrt(np.mean(weight * rest**2))))
        weight = (FREEDOM + 1) / (FREEDOM + (rest / noise) ** 2)
    slopes = (mean * size)[:TERMS]
    spread = covariance[:TERMS, :TERMS] * size[:TERMS, None] * size[None, :TERMS]
    # neighbouring windows share what does not fit: every third is its own measurement
    over = np.polynomial.legendre.legvander(np.linspace(-1, 1, 41), TERMS)[:, 1:]
    sigma = math.sqrt(3 * float(np.mean(np.einsum("ni,ij,nj->n", over, spread, over))))
    return MeasuredDistortion(
        width_mm=round(width_mm, 2), slopes=tuple(round(float(v), 7) for v in slopes), sigma=max(1e-5, round(sigma, 6)),
        date=today,
    )  # fmt: skip


def _integrals(x_mm: F64, width_mm: float, count: int) -> F64:
    """Integrals of the polynomials 1 to ``count`` from the scan's middle, mm, (N, count)."""
    t = np.clip(2 * np.asarray(x_mm, float) / width_mm - 1, -1.2, 1.2)
    each = [np.polynomial.legendre.Legendre.basis(k).integ()(t) for k in range(1, count + 1)]
    return np.asarray(np.stack(each, axis=-1) * width_mm / 2)


def for_width(rows: Sequence[MeasuredDistortion], width_mm: float) -> MeasuredDistortion | None:
    """The newest measurement of scans of this width; None without any."""
    fits = [row for row in rows if abs(row.width_mm - width_mm) <= SAME_WIDTH_MM]
    return max(fits, key=lambda row: row.date) if fits else None


def as_toml(row: MeasuredDistortion) -> str:
    """One measurement as a table."""
    return (
        f"[[distortion]]\nwidth_mm = {row.width_mm!r}\nslopes = {list(row.slopes)!r}\nsigma = {row.sigma!r}\n"
        f"date = {row.date.isoformat()}\nnote = {quoted(row.note)}\n"
    )
