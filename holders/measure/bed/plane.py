"""The plane of best focus over the glass, from places on it; and how focus drifts over time."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holders.core.errors import InputError
from holders.measure.bed.record import Measured
from holders.measure.slope.profile import F64

SIGNIFICANT = 0.01
UNBELIEVABLE = (
    0.003  # of the scatter round the plane, by the stated sigmas: then the scatter itself is believed
)


@dataclass(frozen=True)
class Plane:
    """Height = ``height_mm`` at (``x_mm``, ``y_mm``), the weighted middle of the places, plus the tilts.

    ``tilt_x``/``tilt_y`` are mm per mm along x and y; ``covariance`` (3, 3) of height, tilt x, tilt y. ``chance`` is
    the probability that a level plane gives places as uneven as these; ``tilted`` says that it is below 1 %.
    ``chi2`` (``freedom`` degrees) judges the plane itself; where it is too large for the stated sigmas, the
    covariance has been grown by ``scale`` (its square).
    """

    x_mm: float
    y_mm: float
    height_mm: float
    tilt_x: float
    tilt_y: float
    covariance: F64
    chance: float
    tilted: bool
    chi2: float
    freedom: int
    scale: float

    def at(self, x_mm: float, y_mm: float) -> tuple[float, float]:
        """Height and its sigma at a place: on the plane where tilt is real, else the level mean."""
        g = np.array([1.0, x_mm - self.x_mm, y_mm - self.y_mm])
        if not self.tilted:
            return self.height_mm, float(np.sqrt(self.covariance[0, 0]))
        value = self.height_mm + self.tilt_x * g[1] + self.tilt_y * g[2]
        return float(value), float(np.sqrt(g @ self.covariance @ g))


@dataclass(frozen=True)
class Drift:
    """Change of height in mm per year, its sigma, and the probability of as much by chance."""

    per_year_mm: float
    sigma_mm: float
    chance: float
    drifts: bool
    days: int


def fit_plane(places: Sequence[Measured]) -> Plane:
    """Weighted least squares plane through three or more places.

    The test of tilt: the fall of chi square from a level to a tilted plane, against chi square with two degrees of
    freedom where the stated sigmas account for the scatter, and as an F ratio where the scatter itself had to set
    the scale (textbook weighted least squares, from memory).

    Raises
    ------
    InputError
        Fewer than three places, or places on one line.
    """
    if len(places) < 3:
        raise InputError("record", f"{len(places)} places", "measure three or more places, not in one line")
    h = np.array([p.height_mm for p in places])
    w = np.array([p.sigma_mm for p in places]) ** -2.0
    xy = np.array([(p.x_mm, p.y_mm) for p in places])
    middle = w @ xy / w.sum()
    off = xy - middle
    spread = np.linalg.svd(off, compute_uv=False)
    if spread[0] < 5.0 or spread[1] < 0.05 * spread[0]:
        raise InputError("record", "places on one line", "measure a place well beside the line")
    design = np.column_stack([np.ones(len(h)), off])
    covariance = np.linalg.inv(design.T @ (design * w[:, None]))
    found = covariance @ (design.T @ (w * h))
    chi2 = float(w @ (h - design @ found) ** 2)
    level = float(w @ (h - w @ h / w.sum()) ** 2)
    freedom = len(h) - 3
    chance, scale = _tilt_chance(level - chi2, chi2, freedom)
    return Plane(
        float(middle[0]),
        float(middle[1]),
        float(found[0]),
        float(found[1]),
        float(found[2]),
        np.asarray(covariance * scale, dtype=float),
        chance,
        chance < SIGNIFICANT,
        chi2,
        freedom,
        scale,
    )


def _tilt_chance(fall: float, chi2: float, freedom: int) -> tuple[float, float]:
    from scipy.stats import chi2 as chi2_law  # noqa: PLC0415
    from scipy.stats import f as f_law  # noqa: PLC0415

    if freedom > 0 and chi2_law.sf(chi2, freedom) < UNBELIEVABLE:
        scale = chi2 / freedom
        return float(f_law.sf(fall / 2.0 / scale, 2, freedom)), scale
    return float(chi2_law.sf(fall, 2)), 1.0


def fit_drift(places: Sequence[Measured]) -> Drift | None:
    """Straight line over time through the measurements, their places' own heights taken out; None within a day.

    Places measured once say nothing about time. Where the scatter is larger than the stated sigmas, it sets the scale.
    """
    from scipy.stats import t as t_law  # noqa: PLC0415

    spots: dict[tuple[int, int], list[Measured]] = {}
    for p in places:
        spots.setdefault((round(p.x_mm / 10), round(p.y_mm / 10)), []).append(p)
    repeated = [group for group in spots.values() if len({p.date for p in group}) > 1]
    if not repeated:
        return None
    top = bottom = 0.0
    rows: list[tuple[float, float, float]] = []
    for group in repeated:
        w = np.array([p.sigma_mm for p in group]) ** -2.0
        day = np.array([float(p.date.toordinal()) for p in group])
        h = np.array([p.height_mm for p in group])
        day, h = day - w @ day / w.sum(), h - w @ h / w.sum()
        top, bottom = top + float(w @ (day * h)), bottom + float(w @ day**2)
        rows += list(zip(w.tolist(), day.tolist(), h.tolist(), strict=True))
    slope = top / bottom
    freedom = len(rows) - len(repeated) - 1
    chi2 = sum(w * (h - slope * d) ** 2 for w, d, h in rows)
    scale = max(1.0, chi2 / freedom) if freedom > 0 else 1.0
    sigma = float((scale / bottom) ** 0.5)
    chance = float(2.0 * t_law.sf(abs(slope) / sigma, freedom if freedom > 0 and scale > 1.0 else 1e6))
    dates = [p.date for group in repeated for p in group]
    return Drift(365.25 * slope, 365.25 * sigma, chance, chance < SIGNIFICANT, (max(dates) - min(dates)).days)
