"""The focus in several rows across a target's width: where they differ, target or focus is tilted or bowed across."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.spectra import Features
from holders.measure.slope.doubt import detail_says, edges_say, of_edges
from holders.measure.slope.edges.curve import EdgeFit
from holders.measure.slope.estimate import estimate
from holders.measure.slope.gather import gather
from holders.measure.slope.judge import LEAST_PLACES, TEXTURE_SCALE
from holders.measure.slope.profile import F64
from holders.measure.slope.target.sample import Taken

ROWS = 3
LEAST_STRIPS = 2  # in each
LEAST_ROWS = 2
LEAST_WIDE_MM = 4.0  # 0.1 mm between the outer rows of less would be a lean of two degrees; judgement
DIFFERENT = (0.0, 9.0, 11.8)  # chi square of one and two degrees of freedom, 0.27 %
LEAST_APART_MM = 0.05  # less is no matter for a holder
OF_ROWS = 0.25  # of the rows' difference that the height may be off by; judgement


@dataclass(frozen=True)
class RowHeight:
    """One row's height and standard deviation, mm; ``across``: its middle as a share of the width."""

    across: float
    height: float
    sigma: float


def rows_across(
    taken: Taken,
    channel: int,
    heights: F64,
    step: float,
    features: Features,
    judged: NDArray[np.bool_],
    size_px: tuple[float, float],
) -> tuple[RowHeight, ...]:
    """The height by each third of the strips, of a texture that fills the width; empty where it does not show one.

    ``size_px``: the width, and a strip's own.
    """
    if not judged.all():
        return ()  # a ruling's spectrum differs from row to row by what is printed there: see rows_of_edges
    order = np.argsort(taken.strips)
    if len(order) < ROWS * LEAST_STRIPS:
        return ()
    found = []
    for part in np.array_split(order, ROWS):
        some = replace(
            taken, power=taken.power[:, part], level=taken.level[:, part], offset=taken.offset[:, part],
            strips=tuple(taken.strips[k] for k in part), allowed=taken.allowed[part],
        )  # fmt: skip
        seen = gather(some.power[channel], some.level[channel], some.offset[channel], some.allowed, features)
        ok = np.isfinite(seen.log_power).all(axis=1)
        if ok.sum() < LEAST_PLACES:
            return ()
        h = (heights + step * seen.offset)[ok]
        curve = estimate(
            h, seen.log_power[ok], seen.level[ok], features.frequency, scale=TEXTURE_SCALE, roughly=True
        )
        if curve.edge:
            return ()
        said = detail_says(curve.height, curve.total, curve.edge, curve.plain)
        found.append(
            RowHeight((float(np.mean(some.strips)) + size_px[1] / 2) / size_px[0], curve.height, said.total)
        )
    return tuple(found)


def rows_of_edges(fit: EdgeFit | None, wide_mm: float) -> tuple[RowHeight, ...]:
    """The height by parts of the width of anything with edges; empty where fewer than two parts show one.

    ``wide_mm``: the width. Rows of a narrow crop lie too close to differ by a lean: only print differs there.
    """
    said = edges_say(fit)
    if (
        wide_mm < LEAST_WIDE_MM
        or fit is None
        or said is None
        or said.edge
        or said.weak
        or len(fit.rows) < LEAST_ROWS
    ):
        return ()
    return tuple(
        RowHeight(across, height, of_edges(height, sigma, 0, firm=said.firm).total)
        for across, height, sigma in fit.rows
    )


def rows_apart(rows: Sequence[RowHeight]) -> float:
    """By how much the rows differ, mm; 0 where that may be chance."""
    if len(rows) < LEAST_ROWS:
        return 0.0
    z, w = np.array([r.height for r in rows]), np.array([r.sigma for r in rows]) ** -2.0
    apart = float(np.ptp(z))
    square = float(w @ (z - w @ z / w.sum()) ** 2)
    return apart if square > DIFFERENT[len(z) - 1] and apart > LEAST_APART_MM else 0.0


def said_of_rows(rows: Sequence[RowHeight]) -> list[str]:
    """A warning where the rows do not agree."""
    if rows_apart(rows) == 0.0:
        return []
    heights = ", ".join(f"{r.height:.2f}" for r in rows)
    return [
        f"from one side of the target to the other it is sharpest at {heights} mm: the target leans or is bowed "
        "across its width, or the scanner's focus is tilted there; press it flat, or turn it round to see which"
    ]
