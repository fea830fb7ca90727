"""From the map to what to change: a few sentences with amounts, and values for a copy of the preset.

Blur says how far a place is from the sharp plane, not on which side. Where the predicted film surface is given, the
offset that makes it explain the blur best tells the side; without it the amount is given and the side left open.
Amounts need the focus band: at its rim sharpness has fallen to the in-band limit, which sets the scale.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.measure.finished.expected import Expected
from holders.measure.finished.reduce import F64
from holders.measure.finished.sharpness import SharpnessMap

OFFSETS = np.arange(-1.5, 1.501, 0.05)  # mm tried
SCALE_FACTOR = 1.8
LEAST_BLUR, MOST_BLUR = 0.5, 3.5  # of that at the band's rim
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
    from scipy.interpolate import RegularGridInterpolator  # noqa: PLC0415 - 30 MB, for this alone

    look = RegularGridInterpolator(
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
    seen = map_.defocus[ok]
    misfit, agree = [], []
    for offset in OFFSETS:
        model = np.abs(heights[ok] + offset - middle) / half
        misfit.append(_scaled_misfit(model, seen))
        agree.append(rank_correlation(model, seen))
    best = int(np.argmin(misfit))
    near = np.asarray(misfit) <= misfit[best] * 1.1 + 1e-6
    sigma = max(0.05, float(np.ptp(OFFSETS[near])) / 2)
    return HeightFit(float(OFFSETS[best]), sigma, agree[best])


def rank_correlation(a: F64, b: F64) -> float:
    """Spearman's rank correlation, ties at their mean rank; 0 where either is all alike."""
    ranks = []
    for values in (a, b):
        _, at, count = np.unique(values, return_inverse=True, return_counts=True)
        mean = np.cumsum(count) - 0.5 * (count - 1)
        ranks.append(mean[at] - 0.5 * (len(values) + 1))
    size = float(np.linalg.norm(ranks[0]) * np.linalg.norm(ranks[1]))
    return float(ranks[0] @ ranks[1]) / size if size > 0 else 0.0


def _scaled_misfit(model: F64, seen: F64) -> float:
    """Least mean absolute difference of blur seen and k times blur predicted, k within SCALE_FACTOR of 1.

    How blur grows with height is known by the band's rim alone. Small blurs look like none, and large ones like
    larger.
    """
    target = np.sqrt(np.minimum(seen, MOST_BLUR) ** 2 + LEAST_BLUR**2)
    out = []
    for k in SCALE_FACTOR ** np.linspace(-1.0, 1.0, 9):
        rest = np.sqrt(np.minimum(k * model, MOST_BLUR) ** 2 + LEAST_BLUR**2) - target
        out.append(float(np.mean(np.abs(rest))))
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
        f"predicted surface{_share(map_)}"
    )
    return Correction(-fit.offset_mm, fit.sigma_mm, reason)


def _share(map_: SharpnessMap) -> str:
    share = map_.in_band_fraction
    return "" if share is None else f"; {share:.0%} of the frame was in the focus band"


def why_not(fit: HeightFit | None, map_: SharpnessMap) -> str:
    """Why there is no correction, in words."""
    if fit is None:
        return "the scan's sharpness could not be laid over a predicted film surface, so nothing says how far it is off"
    if map_.pattern == "even":
        return "the film is sharp all over: there is nothing to correct"
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
    """What to change, in order of what helps most; nothing where the scan does not show that something is wrong."""
    out: list[Advice] = []
    if correction is not None:
        verb = "raise" if correction.ledge_change_mm > 0 else "lower"
        out.append(Advice(f"{verb} the ledge", correction.ledge_change_mm, correction.sigma_mm))
    share = map_.roughly
    if not map_.shaped or share is None or map_.pattern == "even" or share + 2 * map_.in_band_sigma >= 1.0:
        return tuple(out)
    amount = sigma = None
    if band_mm is not None:
        amount = float(np.nanpercentile(map_.defocus, 95)) * (band_mm[1] - band_mm[0]) / 2
        sigma = 0.3 * amount  # the scale from sharpness to height is no better known: judgement, no source
    words = WORDS[map_.pattern].format(where=_corner(map_))
    out.append(Advice(words, amount, sigma))
    return tuple(out)


WORDS = {
    "soft": "the film is out of focus all over: measure where the scanner is sharpest (holders focus), or scan again "
    "with a strip of paper under the holder's feet and compare (--before)",
    "sag": "the middle and the edges differ in focus: hold the film flat with a lid that grips the border, or balance "
    "the sag with the ledge",
    "curl": "opposite edges or corners are out of focus: add a lid frame over the film, or flatten the film first",
    "ends": "opposite edges are out of focus: look whether all feet stand (film that leans), or add a lid frame (film "
    "that curls); blur alone does not say which",
    "tilt": "the film leans, and is out of focus at the {where}: look whether all feet stand, then shim that side or "
    "the opposite one, as blur does not say which",
    "edge": "the {where} alone is out of focus: look for dust or a burr under the film there, or a bent ledge",
    "unclear": "part of the film is out of focus, in no simple shape, worst at the {where}: see the map",
}


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
