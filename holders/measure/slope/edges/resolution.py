"""The resolution of a bed at its best focus, from the edges on the target that lie there."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.measure.scan.view import View
from holders.measure.slope.edges.curve import ALONE, EdgeFit
from holders.measure.slope.edges.find import REACH_MM, Edges
from holders.measure.slope.edges.spread import Laid, Response, lay_out, respond
from holders.measure.slope.profile import F64
from holders.measure.slope.target.placed import Placed

NEARLY_BEST = 0.03  # of log steepness below the top
PATCHES, ROWS = 32, 40
FEWEST = 4
GROUPS = 4
LEAST_SIGMA = 0.02  # of the frequency
OVERSHOOT = 1.08  # of the contrast: more is sharpening
USEFUL = 0.1  # contrast below which finer pixels gain nothing


@dataclass(frozen=True)
class Resolution:
    """``mtf50_lp_mm`` where half of the contrast is left, at least (the edges' own blur is in it), and its standard
    deviation ``sigma``; ``useful_dpi``: pixels per inch beyond which a scan shows no more than a tenth of the contrast,
    None where even the finest of this scan is shown with more.
    """

    mtf50_lp_mm: float
    sigma: float
    useful_dpi: float | None


def resolution_at_best(view: View, placed: Placed, edges: Edges, fit: EdgeFit) -> Resolution | None:
    """The resolution along the slope; None where too few straight edges lie at best focus or the scan is sharpened."""
    h, _, curve = fit.cells
    best = h[curve >= curve.max() - NEARLY_BEST]
    if len(best) < 2 or fit.edge:
        return None
    near = (edges.height >= best.min()) & (edges.height <= best.max()) & ~edges.lengthwise
    dark, bright = edges.kind // 100, edges.kind % 100
    alone = near & (dark == 0) & (bright == 0)
    lone = near & ((dark == 0) | (dark >= ALONE)) & ((bright == 0) | (bright >= ALONE))
    for pick, reach in ((alone, REACH_MM), (lone, 0.75 * 0.01 * float(np.exp(0.2 * (ALONE - 1))))):
        half = int(reach / view.pitch_mm)
        if pick.sum() < FEWEST * ROWS or half < 3:
            continue
        found = _measured(_patches(view, placed, edges.only(pick), half), half, view.pitch_mm)
        if found is not None:
            return found
    return None


def _patches(view: View, placed: Placed, edges: Edges, half: int) -> list[Laid]:
    """Edges laid out, spread evenly over those given."""
    (a0, a1), (c0, c1) = placed.part.along, placed.part.across
    along = edges.along / view.pitch_mm + a0
    across = edges.across * (c1 - c0) + 0.5 * (c0 + c1)
    wide = half + 6
    laid = []
    for i in np.linspace(0, len(along) - 1, 2 * PATCHES).astype(int):
        a, c = round(float(along[i])), round(float(across[i]))
        if a - wide < a0 or a + wide > a1 or c - ROWS // 2 < c0 or c + ROWS // 2 > c1:
            continue
        light = view.grey([(a - wide, a + wide)], [(c - ROWS // 2, c + ROWS // 2)])
        one = lay_out(np.asarray(light, dtype=float), half)
        if one is not None:
            laid.append(one)
        if len(laid) >= PATCHES:
            break
    return laid


def _measured(laid: list[Laid], half: int, pitch_mm: float) -> Resolution | None:
    if len(laid) < FEWEST:
        return None
    whole = respond(laid, half)
    if whole is None or float(whole.kept[whole.frequency <= 0.5].max()) > OVERSHOOT:
        return None
    middle = whole.falls_to(0.5)
    if middle is None:
        return None
    parts = [respond(laid[k::GROUPS], half) for k in range(GROUPS)]
    scatter = _scatter(parts)
    fine = whole.falls_to(USEFUL)
    return Resolution(
        middle / pitch_mm,
        float(np.hypot(LEAST_SIGMA * middle, scatter)) / pitch_mm,
        None if fine is None or fine > 0.5 else 2.0 * 25.4 * fine / pitch_mm,
    )


def _scatter(parts: list[Response | None]) -> float:
    """Standard deviation of the whole by that of its parts, cycles a pixel; a tenth where they cannot be compared."""
    values: F64 = np.array([v for v in (p.falls_to(0.5) for p in parts if p is not None) if v is not None])
    return float(values.std(ddof=1) / np.sqrt(len(values))) if len(values) >= 3 else 0.03
