"""One height from two ways of judging sharpness, what neither of them models, and the chance that it is right."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np

from holders.measure.slope.edges.curve import EdgeFit

# What the models leave out, as standard deviations in mm; found on simulated scans of seeds that judge nothing
# (scripts/judge_focus.py --help names those that do)
DETAIL_FLOOR, DETAIL_SCALE = 0.008, 1.4
UNEXPLAINED = 0.3  # mm for all of the unevenness of detail that the curve does not explain
EDGE_FLOOR, EDGE_SCALE = 0.015, 1.3
LOOSE_FLOOR, LOOSE_SCALE = 0.03, 1.95  # where the edges differ among each other
DIFFER = 3.0  # standard deviations of their difference
CLEAR_FALL = 0.05  # of log steepness from the top to the higher end
FALL_OVER_SCATTER = 4.0
# the same where edges alone speak; all six of 44 tuning scans (seeds from 10000 on) so let in lay within one sigma
ROUGH_FALL, ROUGH_OVER_SCATTER = 0.1, 2.0
FAR_FROM_ALL = (
    0.3  # of the heights seen: nearer to an end that edges point beyond one of them must lie; judgement
)
FIRM_FALL, FIRM_SCATTER, FIRM_BINS = 0.15, 0.035, 45  # edges alike all along: then they are believed
LED, MISLED = 0.15, 0.5  # of the difference that stays in doubt where one is believed: firm edges, or detail
MOST_LED_MM = 0.06  # that firm edges are doubted because detail differs
# edges all along the slope that are as unlike as a picture's; on grain they are few, on rulings and letters alike
PICTURE_SCATTER, PICTURE_BINS = 0.06, 67
PICTURE_UNEVEN = 0.03  # of a picture's detail no one curve explains as much, of even grain it does
PICTURE_SCALE, PICTURE_FLOOR = 2.0, 0.1  # what a picture's own soft and crisp places do to the height
# the same where its edges speak alone: five of 16 such heights of tuning scans were off by 0.46 to 0.68 mm
EDGES_OF_PICTURE_FLOOR = 0.2
NEAR_END, LEAST_SEEN = (
    3.0,
    0.05,
)  # standard deviations, and of the heights seen: nearer to an end it may lie beyond
OF_GAP = 0.5  # of how far the nearest edge lies from the top: between bars far apart the curve is drawn on; judgement
CLEAR_OF_ENDS = (
    0.1  # of the heights seen: a top nearer to an end, with one flank only, may lie beyond it; judgement
)
NEAR_MM = 0.1  # confidence is the chance to lie within this
# of Student's law: errors have longer tails than a normal law (in standard deviations half of 76 scans of seeds 3000 to
# 3007 lay within 0.30, 90 % within 1.05, 95 % within 1.73; this law says 0.36, 1.29 and 1.90)
FREEDOM = 2.0


@dataclass(frozen=True)
class Opinion:
    """Height and standard deviation by its own scatter, mm; ``edge`` -1/0/+1: at or beyond an end of what was seen;
    ``firm``: what it rests on is alike all along; ``floor`` mm: what the model leaves out. ``weak``: a top that shows
    on one side only, or roughly, which gives no height of its own but may contradict one; ``inside``: a weak top that
    lies clear of both ends of what was seen.
    """

    height: float
    sigma: float
    edge: int
    firm: bool = True
    floor: float = 0.0
    weak: bool = False
    inside: bool = False

    @property
    def total(self) -> float:
        """The standard deviation with what the model leaves out, mm."""
        return math.hypot(self.sigma, self.floor)


@dataclass(frozen=True)
class Judged:
    """The height that both ways lead to; ``by``: detail, edges or both; ``warnings`` where they differ."""

    height: float
    sigma: float
    edge: int
    by: str
    warnings: tuple[str, ...] = ()


def edges_say(fit: EdgeFit | None) -> Opinion | None:
    """What the edges say, with what their curve leaves out; None where they show no clear top and no
    flank that reaches near an end.
    """
    if fit is None or not _clear(fit.drop, fit):
        return None
    weak = not fit.edge and not _clear(fit.fall, fit)  # beyond an end the curve falls to one side only
    if weak and fit.bins < FIRM_BINS:
        return None
    if fit.edge and fit.gap > FAR_FROM_ALL * fit.reach:
        return None  # one flank only, far from the end it would point beyond
    firm = fit.isolated and fit.fall >= FIRM_FALL and fit.scatter <= FIRM_SCATTER and fit.bins >= FIRM_BINS
    said = of_edges(fit.height, fit.sigma, fit.edge, firm=firm)
    said = replace(said, floor=math.hypot(said.floor, OF_GAP * fit.gap))
    return replace(said, firm=firm and not weak, weak=weak, inside=weak and _inside(fit, said.total))


def _inside(fit: EdgeFit, sigma: float) -> bool:
    """Whether the top lies clear of both ends of the edges seen, and its lesser flank of their scatter: kinds of edges
    that differ can feign one.
    """
    h = fit.cells[0]
    if not len(h) or fit.fall < ROUGH_OVER_SCATTER * fit.scatter:
        return False
    return bool(
        min(fit.height - h.min(), h.max() - fit.height) >= max(NEAR_END * sigma, CLEAR_OF_ENDS * np.ptp(h))
    )


def edges_alone(fit: EdgeFit | None) -> Opinion | None:
    """What edges say that scatter much, where nothing else says anything: a top with a flank on either side, known
    roughly; None where that may be chance.
    """
    if fit is None or fit.edge or not fit.isolated or fit.bins < PICTURE_BINS:
        return None
    if fit.fall < ROUGH_FALL or fit.fall < ROUGH_OVER_SCATTER * fit.scatter:
        return None
    return of_edges(fit.height, fit.sigma, 0, firm=False)


def of_edges(height: float, sigma: float, edge: int, *, firm: bool) -> Opinion:
    """What a height by edges says; ``firm``: edges alike all along."""
    scale, floor = (EDGE_SCALE, EDGE_FLOOR) if firm else (LOOSE_SCALE, LOOSE_FLOOR)
    return Opinion(height, scale * sigma, edge, firm, floor)


def _clear(fall: float, fit: EdgeFit) -> bool:
    return fall >= CLEAR_FALL and fall >= FALL_OVER_SCATTER * fit.scatter


def detail_says(height: float, sigma: float, edge: int, plain: float) -> Opinion:
    """What detail says; ``plain``: the share of its unevenness along the slope that the curve explains."""
    left = UNEXPLAINED * (1.0 - min(max(plain, 0.0), 1.0))
    return Opinion(height, DETAIL_SCALE * sigma, edge, floor=DETAIL_FLOOR + left)


def reconcile(detail: Opinion | None, edges: Opinion | None) -> Judged | None:
    """One judgement from what detail (its spectrum along the slope) and edges (their steepness) say; None: neither.

    Where both agree they are averaged by certainty. Where they differ by more than their errors, edges are believed if
    they are alike all along, since they depend least on what the target shows, else detail is; the uncertainty grows
    by a share of the difference, and a warning says so. Edges that show a top on one side only, or only roughly, are
    not averaged in; one that lies clear of both ends is believed before detail that is sharpest at an end, since blur
    that turns a ruling's contrast round feigns such ends.
    """
    if edges is not None and edges.weak:
        alone = None if detail is None else Judged(detail.height, detail.total, detail.edge, "detail")
        if detail is None or (_agree(detail, edges) if not detail.edge else not edges.inside):
            return alone
    if detail is None or edges is None:
        one = detail or edges
        return (
            None if one is None else Judged(one.height, one.total, one.edge, "detail" if detail else "edges")
        )
    if detail.edge != edges.edge:
        words = "at or beyond the end of the slope" if edges.edge else f"at {edges.height:.2f} mm"
        other = "at or beyond the end of the slope" if detail.edge else f"at {detail.height:.2f} mm"
        text = f"the edges on the target are sharpest {words}, its detail {other}: measure again with another target"
        apart = abs(detail.height - edges.height)
        sigma = math.hypot(edges.total, min(LED * apart, MOST_LED_MM) if edges.firm else MISLED * apart)
        return Judged(edges.height, sigma, edges.edge, "edges", (text,))
    apart, scale = abs(detail.height - edges.height), math.hypot(detail.total, edges.total)
    if edges.edge or _agree(detail, edges):
        # both rest on one scan and one model of its heights: the better one's floor stays
        own, other_own = max(detail.sigma, 1e-6), max(edges.sigma, EDGE_FLOOR)
        if detail.floor > EDGE_FLOOR:
            own = detail.total
        share = other_own**2 / (own**2 + other_own**2)
        height = share * detail.height + (1.0 - share) * edges.height
        sigma = detail.total * edges.total / scale * max(1.0, apart / scale)
        return Judged(height, sigma, edges.edge, "both")
    lead, left = (edges, min(LED * apart, MOST_LED_MM)) if edges.firm else (detail, MISLED * apart)
    believed = "the edges are" if edges.firm else "the detail is"
    text = (
        f"the edges on the target are sharpest at {edges.height:.2f} mm, its detail at {detail.height:.2f} mm; "
        f"{believed} believed; a target that is alike all along (a ruling, even grain) says more"
    )
    return Judged(lead.height, math.hypot(lead.total, left), 0, "edges" if edges.firm else "detail", (text,))


def judge_both(detail: Opinion | None, fit: EdgeFit | None, *, wave: bool = False) -> Judged | None:
    """The judgement of what detail says and the curve through the edges; None where neither shows a height.

    ``wave``: the ruling shows one frequency only, so that its edges' tops prove little.

    Edges that scatter much (``edges_alone``) give a height where nothing else does, and contradict detail that lies far
    away: a picture that is crisp near one end and soft elsewhere passes for blur to its spectrum. A weak top that lies
    clear of both ends is a height likewise.
    """
    said = edges_say(fit)
    if said is not None and wave:
        said = replace(said, inside=False)
    if said is None and detail is not None and (rough := edges_alone(fit)) is not None:
        said = replace(rough, weak=True)
    judged = reconcile(detail, said)
    if judged is not None or detail is not None:
        return judged
    if said is not None and said.inside:
        return reconcile(None, replace(said, weak=False))
    return reconcile(None, edges_alone(fit))


def of_a_picture(judged: Judged, fit: EdgeFit | None, detail: Opinion | None) -> Judged:
    """The judgement with the doubt that a picture on the target adds, and a warning; as it is where there is none.

    ``fit`` of the edges, ``detail`` what detail says: where one curve explains all of it, it is even grain.
    """
    if fit is None or fit.scatter <= PICTURE_SCATTER or fit.bins < PICTURE_BINS:
        return judged
    if detail is not None and detail.floor <= DETAIL_FLOOR + UNEXPLAINED * PICTURE_UNEVEN:
        return judged
    text = (
        "the target shows a picture, and what is soft in it passes for out of focus: a ruling, a printed page or "
        "evenly exposed film says more"
    )
    floor = EDGES_OF_PICTURE_FLOOR if judged.by == "edges" else PICTURE_FLOOR
    sigma = math.hypot(PICTURE_SCALE * judged.sigma, floor)
    return replace(judged, sigma=sigma, warnings=(*judged.warnings, text))


def _agree(a: Opinion, b: Opinion) -> bool:
    return abs(a.height - b.height) <= DIFFER * math.hypot(a.total, b.total)


def chance_near(sigma_mm: float, near_mm: float = NEAR_MM) -> float:
    """The chance that a height of this standard deviation lies within ``near_mm`` of the true one.

    Student's law of two degrees of freedom, in closed form, scaled so that two sigma hold 95.4 %.
    """
    t = near_mm / max(sigma_mm, 1e-9) * QUANTILE / 2.0
    return min(1.0, t / math.sqrt(FREEDOM + t * t))


QUANTILE = 4.527  # of Student's law, two degrees of freedom, at 97.72 %
