"""One height from two ways of judging sharpness, what neither of them models, and the chance that it is right."""

from __future__ import annotations

import math
from dataclasses import dataclass

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
FAR_FROM_ALL = (
    0.3  # of the heights seen: nearer to an end that edges point beyond one of them must lie; judgement
)
FIRM_FALL, FIRM_SCATTER, FIRM_BINS = 0.15, 0.035, 45  # edges alike all along: then they are believed
LED, MISLED = 0.15, 0.5  # of the difference that stays in doubt where one is believed: firm edges, or detail
MOST_LED_MM = 0.06  # that firm edges are doubted because detail differs
NEAR_MM = 0.1  # confidence is the chance to lie within this
FREEDOM = 4.0  # of Student's law: errors have longer tails than a normal law


@dataclass(frozen=True)
class Opinion:
    """Height and standard deviation by its own scatter, mm; ``edge`` -1/0/+1: at or beyond an end of what was seen;
    ``firm``: what it rests on is alike all along; ``floor`` mm: what the model leaves out. ``weak``: a top that shows
    on one side only, which gives no height of its own but may contradict one.
    """

    height: float
    sigma: float
    edge: int
    firm: bool = True
    floor: float = 0.0
    weak: bool = False

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
    scale, floor = (EDGE_SCALE, EDGE_FLOOR) if firm else (LOOSE_SCALE, LOOSE_FLOOR)
    return Opinion(fit.height, scale * fit.sigma, fit.edge, firm and not weak, floor, weak)


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
    by a share of the difference, and a warning says so. Edges that show a top on one side only are not averaged in.
    """
    if edges is not None and edges.weak:
        alone = None if detail is None else Judged(detail.height, detail.total, detail.edge, "detail")
        if detail is None or detail.edge or _agree(detail, edges):
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


def _agree(a: Opinion, b: Opinion) -> bool:
    return abs(a.height - b.height) <= DIFFER * math.hypot(a.total, b.total)


def chance_near(sigma_mm: float, near_mm: float = NEAR_MM) -> float:
    """The chance that a height of this standard deviation lies within ``near_mm`` of the true one.

    Student's law of four degrees of freedom, in closed form, scaled so that two sigma hold 95.4 %.
    """
    t = near_mm / max(sigma_mm, 1e-9) * QUANTILE / 2.0
    x = t / math.sqrt(FREEDOM + t * t)
    return min(1.0, x * (1.5 - 0.5 * x * x))


QUANTILE = 2.869  # of Student's law, four degrees of freedom, at 97.72 %
