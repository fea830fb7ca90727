"""What two scans say about the film's surface, as plain values."""

from __future__ import annotations

import math
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.surface.ledge import LedgeAdvice, best_ledge

F64 = NDArray[np.float64]

SURFACES = 200  # drawn within the measured surface's uncertainty


@dataclass(frozen=True)
class SurfaceResult:
    """The measured surface.

    Parameters
    ----------
    x_mm, y_mm:
        Grid lines, mm from the first scan's top left corner.
    z_mm, sigma_mm:
        (y, x) heights above the glass and their standard deviations, mm; nan where they cannot be known.
    ledge_mm:
        Height of the film on its ledge that the heights hang on.
    ledge_known:
        Whether somebody gave it; else it is the usual focus height.
    shift_mm, shift_sigma_mm:
        How far the film moved across; with its sign, to the right positive.
    lens_distance_mm, lens_sigma_mm:
        From glass to lens, and how well that is known.
    parallax:
        Whether any was seen; if not, all heights are nan.
    band_mm:
        Heights that are sharp, low and high, where a preset says so.
    least_gap_mm, predicted_mm:
        How near to the glass film may come; heights that the plate model predicts at the same places, with a preset.
    noise_px, windows, kept:
        Typical standard deviation of one window's move, their number and the share that fitted.
    wobble_mm:
        The carriage's wobble from row to row, standard deviation on the glass, mm.
    root_mm:
        (places, M) root of the heights' covariance, the ledge's own aside: times its transpose; places row by row.
    """

    x_mm: F64
    y_mm: F64
    z_mm: F64
    sigma_mm: F64
    ledge_mm: float
    ledge_known: bool
    shift_mm: float
    shift_sigma_mm: float
    lens_distance_mm: float
    lens_sigma_mm: float
    parallax: bool
    band_mm: tuple[float, float] | None
    least_gap_mm: float
    predicted_mm: F64 | None
    noise_px: float
    windows: int
    kept: float
    wobble_mm: float
    root_mm: F64
    warnings: tuple[str, ...]

    @property
    def known(self) -> NDArray[np.bool_]:
        """Where the height is known."""
        return np.isfinite(self.z_mm)

    @property
    def sag_mm(self) -> tuple[float, float] | None:
        """Lowest point below the ledge, and the mean over what is known (negative: above), mm."""
        if not self.known.any():
            return None
        below = self.ledge_mm - self.z_mm[self.known]
        return max(0.0, float(below.max())), float(below.mean())

    @property
    def sag_sigma_mm(self) -> tuple[float, float] | None:
        """Standard deviations of ``sag_mm``: of the lowest point, wherever it may be, and of the mean."""
        if not self.known.any():
            return None
        root = self.root_mm[self.known.ravel()]
        return _of_lowest(self.z_mm[self.known], root), float(np.linalg.norm(root.mean(axis=0)))

    @property
    def in_band_fraction(self) -> float | None:
        """Share of the known surface that is sharp; None without a band."""
        if self.band_mm is None or not self.known.any():
            return None
        z = self.z_mm[self.known]
        return float(np.mean((z >= self.band_mm[0]) & (z <= self.band_mm[1])))

    @property
    def ledge_advice(self) -> LedgeAdvice | None:
        """The ledge that this surface asks for; None without a band or heights."""
        if self.band_mm is None:
            return None
        return best_ledge(self.z_mm, self.ledge_mm, self.band_mm, self.least_gap_mm)

    @property
    def beside_prediction_mm(self) -> tuple[float, float] | None:
        """Measured less predicted height: its mean and its root mean square, mm; None without a prediction."""
        if self.predicted_mm is None or not self.known.any():
            return None
        rest = (self.z_mm - self.predicted_mm)[self.known]
        return float(rest.mean()), float(np.sqrt(np.mean(rest**2)))

    def to_answer(self) -> dict[str, object]:
        """One JSON object: plain numbers, lists, strings, None."""
        sag, advice, beside = self.sag_mm, self.ledge_advice, self.beside_prediction_mm
        unsure = self.sag_sigma_mm
        return {
            "x": [_n(v, 3) for v in self.x_mm], "y": [_n(v, 3) for v in self.y_mm],
            "z": [[_n(v, 4) for v in row] for row in self.z_mm],
            "sigma": [[_n(v, 4) for v in row] for row in self.sigma_mm],
            "ledge": _n(self.ledge_mm, 4),
            "sag": {"max": _n(None if sag is None else sag[0], 4), "mean": _n(None if sag is None else sag[1], 4)},
            "sag_sigma": {"max": _n(None if unsure is None else unsure[0], 4),
                          "mean": _n(None if unsure is None else unsure[1], 4)},
            "shift": _n(self.shift_mm, 4), "shift_sigma": _n(self.shift_sigma_mm, 4),
            "lens_distance": _n(self.lens_distance_mm, 2), "lens_distance_sigma": _n(self.lens_sigma_mm, 2),
            "in_band_fraction": _n(self.in_band_fraction, 4),
            "parallax": self.parallax, "windows": self.windows, "kept": _n(self.kept, 3),
            "noise_px": _n(self.noise_px, 4), "wobble": _n(self.wobble_mm, 5),
            "best_ledge": None if advice is None else {
                "height": _n(advice.height_mm, 3), "change": _n(advice.change_mm, 3),
                "in_band_fraction": _n(advice.sharp_then, 4), "limited_by_gap": advice.limited,
            },
            "predicted": None if self.predicted_mm is None else {
                "z": [[_n(v, 4) for v in row] for row in self.predicted_mm],
                "difference": None if beside is None else {"mean": _n(beside[0], 4), "rms": _n(beside[1], 4)},
            },
            "warnings": list(self.warnings),
        }  # fmt: skip


def _of_lowest(z_mm: F64, root_mm: F64) -> float:
    """How far the lowest of N heights may be from the lowest measured (root mean square), from drawn surfaces, mm."""
    drawn = root_mm @ np.random.default_rng(0).standard_normal((root_mm.shape[1], SURFACES))
    lowest = (z_mm[:, None] + drawn).min(axis=0)
    return float(np.sqrt(np.mean((lowest - z_mm.min()) ** 2)))


def _n(value: float | None, digits: int) -> float | None:
    return None if value is None or not math.isfinite(value) else round(float(value), digits)
