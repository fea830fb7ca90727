"""From the map to what to change: a few sentences with amounts, and values for a copy of the preset.

Blur says how far a place is from the sharp plane, not on which side. Where the predicted film surface is given, the
offset that makes it explain the blur best tells the side; without it the amount is given and the side left open.
Amounts need the focus band: at its rim sharpness has fallen to the in-band limit, which sets the scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from scipy import interpolate, stats

from holders.measure.finished.expected import Expected
from holders.measure.finished.reduce import F64
from holders.measure.finished.sharpness import IN_BAND, SharpnessMap

RIM = float(np.sqrt(-np.log(IN_BAND)))  # blur measure at the rim of the band
OFFSETS = np.arange(-1.5, 1.501, 0.05)  # mm tried
SCALE_FACTOR = 2.5
LEAST_AGREEMENT = 0.4
LEAST_CHANGE_MM = 0.1  # less is finer than a layer or a sheet of paper


@dataclass(frozen=True)
class Advice:
    """One change: ``what`` a sentence; ``height_mm`` the amount and ``sigma_mm`` its uncertainty, None if not known."""

    what: str
    height_mm: float | None = None
    sigma_mm: float | None = None


@dataclass(frozen=True)
class HeightFit:
    """The predicted surface against the map: ``offset_mm`` by which the film lies above the prediction.

    ``agreement`` is the rank correlation of predicted and measured blur at that offset; ``sigma_mm`` from the width of
    the range of offsets that agree almost as well.
    """

    offset_mm: float
    sigma_mm: float
    agreement: float


@dataclass(frozen=True)
class Correction:
    """A measured correction for a copy of a preset: ``ledge_change_mm`` (raise: positive) and why."""

    ledge_change_mm: float
    sigma_mm: float
    reason: str

    def to_values(self) -> dict[str, object]:
        """Plain values: the field, what to add to it, how sure, why."""
        return {
            "field": "heights.ledge", "change_mm": round(self.ledge_change_mm, 2),
            "sigma_mm": round(self.sigma_mm, 2), "reason": self.reason,
        }  # fmt: skip


def predicted_at(map_: SharpnessMap, expected: Expected, corner_mm: tuple[float, float]) -> F64 | None:
    """Predicted heights at the map's cells (NaN outside), the window's corner lying at ``corner_mm`` of the scan."""
    if expected.heights_mm is None or expected.heights_x_mm is None or expected.heights_y_mm is None:
        return None
    look = interpolate.RegularGridInterpolator(
        (expected.heights_y_mm, expected.heights_x_mm),
        expected.heights_mm,
        bounds_error=False,
        fill_value=np.nan,
    )
    y, x = np.meshgrid(map_.y_mm - corner_mm[1], map_.x_mm - corner_mm[0], indexing="ij")
    return np.asarray(look(np.stack([y, x], axis=-1)), dtype=float)


def fit_heights(map_: SharpnessMap, heights: F64, band_mm: tuple[float, float]) -> HeightFit | None:
    """The offset of the whole film at which its predicted surface explains the blur best; None with too few cells."""
    ok = np.isfinite(map_.grid) & np.isfinite(heights)
    if ok.sum() < 12:
        return None
    middle, half = (band_mm[0] + band_mm[1]) / 2, (band_mm[1] - band_mm[0]) / 2
    seen = np.log(np.maximum(map_.grid[ok], 1e-6))
    misfit, agree = [], []
    for offset in OFFSETS:
        model = -((heights[ok] + offset - middle) ** 2)
        misfit.append(_scaled_misfit(-model, seen, (RIM / half) ** 2))
        rank = stats.spearmanr(model, seen).statistic if np.ptp(model) > 1e-9 else 0.0
        agree.append(float(np.nan_to_num(rank)))
    best = int(np.argmin(misfit))
    near = np.asarray(misfit) <= misfit[best] * 1.1 + 1e-6
    sigma = max(0.05, float(np.ptp(OFFSETS[near])) / 2)
    return HeightFit(float(OFFSETS[best]), sigma, agree[best])


def _scaled_misfit(square: F64, seen: F64, scale: float) -> float:
    """Least mean absolute rest of seen = a - S(1 - exp(-k z²/S)), k within SCALE_FACTOR of ``scale``.

    How blur grows with height is known by the band's rim alone, and it levels off at S once the fine band holds
    nothing but noise: S is a little more than what the map spans.
    """
    most = 1.1 * float(np.percentile(seen, 98) - np.percentile(seen, 2))
    out = []
    for k in scale * SCALE_FACTOR ** np.linspace(-1.0, 1.0, 9):
        model = -most * (1.0 - np.exp(-k * square / most))
        rest = seen - model
        # the sharpest tenth is 1 by definition: a frame that is blurred all over shows only its differences
        out.append(float(np.mean(np.abs(rest - np.median(rest)))))
    return min(out)


def correct(map_: SharpnessMap, fit: HeightFit | None) -> Correction | None:
    """The change of the ledge that brings the film back to its best height, if the fit is good enough to say so."""
    if (
        fit is None
        or fit.agreement < LEAST_AGREEMENT
        or abs(fit.offset_mm) < max(LEAST_CHANGE_MM, fit.sigma_mm)
    ):
        return None
    side = "above" if fit.offset_mm > 0 else "below"
    reason = (
        f"the scan's sharpness says the film lies {abs(fit.offset_mm):.2f} ± {fit.sigma_mm:.2f} mm {side} the "
        f"predicted surface; {map_.in_band_fraction:.0%} of the frame was in the focus band"
    )
    return Correction(-fit.offset_mm, fit.sigma_mm, reason)


def why_not(fit: HeightFit | None) -> str:
    """Why there is no correction, in words."""
    if fit is None:
        return "the scan's sharpness could not be laid over a predicted film surface, so nothing says how far it is off"
    if fit.agreement < LEAST_AGREEMENT:
        return (
            f"the blur does not follow the predicted surface (rank correlation {fit.agreement:.2f}, needed "
            f"{LEAST_AGREEMENT:g}), so nothing says how far the film is off"
        )
    return (
        f"the film lies within {abs(fit.offset_mm):.2f} ± {fit.sigma_mm:.2f} mm of the predicted surface; "
        "there is nothing to correct"
    )


def advise(
    map_: SharpnessMap, band_mm: tuple[float, float] | None, correction: Correction | None
) -> tuple[Advice, ...]:
    """What to change, in order of what helps most."""
    out: list[Advice] = []
    if correction is not None:
        verb = "raise" if correction.ledge_change_mm > 0 else "lower"
        out.append(Advice(f"{verb} the ledge", correction.ledge_change_mm, correction.sigma_mm))
    if map_.pattern in ("even", "unclear"):
        if map_.pattern == "unclear" and map_.in_band_fraction < 0.9:
            out.append(
                Advice(
                    "the blur follows no simple shape: look for dust or a buckle under the film, scan again"
                )
            )
        return tuple(out)
    most = float(np.nanpercentile(map_.defocus, 95))
    amount = sigma = None
    if band_mm is not None:
        amount = most / RIM * (band_mm[1] - band_mm[0]) / 2
        sigma = 0.3 * amount  # the scale from sharpness to height is no better known: judgement, no source
    where = _corner(map_)
    words = {
        "sag": "the middle is out of focus: add a lid that grips the border, or balance the sag with the ledge",
        "curl": "opposite edges or corners are out of focus: add a lid frame over the film, or flatten the film first",
        "tilt": f"one side is out of focus: shim the holder at the {where} (or at the opposite side, as blur does not "
        "tell which), and look whether all feet stand",
        "edge": f"the {where} alone is out of focus: look for dust or a burr under the film there, or a bent ledge",
    }
    out.append(Advice(words[map_.pattern], amount, sigma))
    return tuple(out)


def _corner(map_: SharpnessMap) -> str:
    if map_.worst is None:
        return "worst place"
    u = (map_.worst[0] - map_.x_mm.mean()) / max(float(np.ptp(map_.x_mm)) / 2, 1e-9)
    v = (map_.worst[1] - map_.y_mm.mean()) / max(float(np.ptp(map_.y_mm)) / 2, 1e-9)
    row = "top" if v < -0.5 else "bottom" if v > 0.5 else ""  # as the scan is shown
    column = "left" if u < -0.5 else "right" if u > 0.5 else ""
    if row and column:
        return f"{row} {column} corner of the scan"
    return f"{row or column} edge of the scan" if row or column else "middle"
