"""One height from several: colour channels of one scan, several scans of one place."""

from __future__ import annotations

from collections.abc import Sequence

import numpy as np
from numpy.typing import NDArray

from holders.measure.slope.doubt import chance_near
from holders.measure.slope.estimate import Estimate, deviation
from holders.measure.slope.profile import F64
from holders.measure.slope.result import FocusResult

DIFFERENT = 9.21  # chi square, two degrees of freedom, 1 %


def across_channels(
    fits: Sequence[Estimate], places: Sequence[NDArray[np.bool_]]
) -> tuple[float, float, F64]:
    """The compromise between channels: height, standard deviation, weights.

    Channels that focus at one height (to within their errors) are averaged by certainty. Where they differ, the mean
    of their heights is the compromise: no colour is favoured. Errors of channels hang together (the same grain), so
    the pulls of each place are added before they are squared.
    """
    z = np.array([f.height for f in fits])
    own = np.array([f.total for f in fits])
    weights = own**-2.0 / (own**-2.0).sum()
    if len(fits) > 1 and float((((z - weights @ z) / own) ** 2).sum()) > DIFFERENT:
        weights = np.full(len(fits), 1.0 / len(fits))
    pull = np.zeros(len(places[0]))
    for w, f, ok in zip(weights, fits, places, strict=True):
        pull[ok] += w * f.score
    modelled = float(weights @ np.array([f.information**-0.5 for f in fits])) / len(fits) ** 0.5
    left = float(weights @ np.array([f.open_mm for f in fits]))
    scale = float(weights @ np.array([f.scale for f in fits]))
    sigma = float(np.hypot(deviation(pull, modelled, scale), left))
    return float(weights @ z), sigma, weights


LUMA = np.array([0.299, 0.587, 0.114])  # of red, green and blue in grey (ITU-R BT.601)


def colours_apart(heights: Sequence[float], weights: F64) -> float:
    """How far the compromise lies from that for grey by luminance, mm: which of both is wanted, nobody said."""
    if len(heights) != len(LUMA):
        return 0.0
    return abs(float((weights - LUMA) @ np.asarray(heights)))


def across_scans(results: Sequence[FocusResult]) -> FocusResult:
    """Several scans of one place: mean by certainty; its sigma grows if they disagree (Birge's ratio, from memory)."""
    inside = [r for r in results if not r.at_edge] or list(results)
    z = np.array([r.height for r in inside])
    w = np.array([r.height_sigma for r in inside]) ** -2.0
    height = float(w @ z / w.sum())
    ratio = float(w @ (z - height) ** 2) / max(len(z) - 1, 1)
    sigma = float((max(ratio, 1.0) / w.sum()) ** 0.5)
    warnings = list(dict.fromkeys(note for r in results for note in r.warnings))
    if ratio > 4.0:
        warnings.append(
            "the scans disagree by more than their own errors: " + ", ".join(f"{v:.3f}" for v in z) + " mm"
        )
    lead = inside[int(np.argmax(w))]
    shift = height - lead.height
    return lead.model_copy(
        update={
            "height": height,
            "height_sigma": sigma,
            "band": (lead.band[0] + shift, lead.band[1] + shift),
            "at_edge": all(r.at_edge for r in results),
            "warnings": tuple(warnings),
            "doubts": tuple(dict.fromkeys(words for r in inside for words in r.doubts)),
            "scans": len(results),
            "confidence": 0.0 if all(r.at_edge for r in results) else chance_near(sigma),
        }
    )
