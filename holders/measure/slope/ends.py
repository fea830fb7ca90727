"""Whether a target grows sharper toward an end of the heights seen without a top before it."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from holders.measure.slope.doubt import (
    CLEAR_FALL,
    CLEAR_OF_ENDS,
    FALL_OVER_SCATTER,
    FIRM_BINS,
    LEAST_SEEN,
    NEAR_END,
    ROUGH_OVER_SCATTER,
    Judged,
)
from holders.measure.slope.edges.curve import EdgeFit
from holders.measure.slope.judge import Fit, loses_detail

OF_SPAN = 0.1  # of the heights seen, as sigma where only a trend shows
# of a smooth wave, whose edges keep their slope for their contrast whatever the blur; judgement
WAVE_FALL = 0.3
LEAST_TRIMMED_AT_END = 0.5  # of ticks' unevenness, explained but for a few places; judgement
TREND = "no top is seen on the slope: what lies on it only grows sharper toward one end"


def by_an_end(judged: Judged, ends: tuple[float, float]) -> Judged:
    """The judgement, at an end of the heights seen (``ends``, mm) where its doubt reaches beyond that end.

    Only where hardly a flank lies between: doubt that comes from elsewhere does not speak for the end.
    """
    lo, hi = ends
    left = min(judged.height - lo, hi - judged.height)
    if judged.edge or left >= min(NEAR_END * judged.sigma, LEAST_SEEN * (hi - lo)):
        return judged
    return replace(judged, edge=-1 if judged.height < 0.5 * (lo + hi) else 1)


def end_of_edges(fit: EdgeFit | None, ends: tuple[float, float]) -> int:
    """-1 or +1 where edges grow steeper toward the low or high end and show no flank before it; 0 elsewhere."""
    if fit is None or fit.bins < FIRM_BINS or fit.drop < max(CLEAR_FALL, fit.scatter):
        return 0
    lo, hi = ends
    left = min(fit.height - lo, hi - fit.height)
    flank = fit.fall >= max(CLEAR_FALL, ROUGH_OVER_SCATTER * fit.scatter)
    if not fit.edge and (flank or left >= CLEAR_OF_ENDS * (hi - lo)):
        return 0
    return -1 if fit.height < 0.5 * (lo + hi) else 1


def end_of_detail(fits: Sequence[Fit]) -> int:
    """-1 or +1 where detail is greatest at or beyond that end in every channel that loses detail; 0 elsewhere."""
    signs = {f.curve.edge for f in fits if loses_detail(f)}
    return signs.pop() if len(signs) == 1 else 0


def by_trend(
    fit: EdgeFit | None, fits: Sequence[Fit], ends: tuple[float, float], *, wave: bool
) -> Judged | None:
    """The end toward which a target grows sharper, where neither way of judging shows a height; None: no such end.

    Edges are believed where their curve falls by more than they scatter, unless detail says the other end; where they
    scatter as much as it falls, if detail says the same end. Detail alone is believed of ticks that repeat themselves.
    ``wave``: the ruling seems to show one frequency only.
    """
    edges, detail = end_of_edges(fit, ends), end_of_detail(fits)
    if wave:
        clear = fit is not None and fit.drop >= max(WAVE_FALL, FALL_OVER_SCATTER * fit.scatter)
        edge, by = (edges, "edges") if clear and edges != -detail else (0, "")
    elif fit is None:
        ticks = all(f.steady and not f.tone and f.curve.trimmed >= LEAST_TRIMMED_AT_END for f in fits)
        edge, by = (detail, "detail") if ticks else (0, "")
    else:
        clear = fit.drop >= ROUGH_OVER_SCATTER * fit.scatter
        edge, by = (edges, "edges") if edges and (edges == detail or (clear and not detail)) else (0, "")
    if not edge:
        return None
    lo, hi = ends
    return Judged(hi if edge > 0 else lo, OF_SPAN * (hi - lo), edge, by, (TREND,))


def without_a_flank(
    judged: Judged, fit: EdgeFit | None, ends: tuple[float, float], *, roughly: bool
) -> Judged:
    """The judgement, at an end where it lies near that end and nothing shows a flank before it.

    ``roughly``: detail explains the target but for a few places, which may be all that lies before that end.
    """
    edge, (lo, hi) = end_of_edges(fit, ends), ends
    if judged.edge or not roughly or not edge:
        return judged
    left = judged.height - lo if edge < 0 else hi - judged.height
    return judged if left >= CLEAR_OF_ENDS * (hi - lo) else replace(judged, edge=edge)
