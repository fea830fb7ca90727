"""The height at which edges are steepest, with sides that are free to differ and a focus that may tilt across."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np

from holders.measure.slope.edges.find import Edges
from holders.measure.slope.estimate import few_places, long_run
from holders.measure.slope.profile import F64, basis

BINS, BANDS = 90, 4
FEWEST_POINTS = 4  # in a cell
FEWEST_BINS = 12
QUANTILE = 75.0
ALONE = 11  # kind of edges from which on the next one does not matter
LEAST_FALL = 0.12  # of log steepness
STUDENT = 4.0
# prior standard deviations: blur's unevenness twice (see profile.LEAN), tilt across (mm over the width), the far power
PRIORS = {"even": 0.06, "grow": 0.06, "tilt": 0.05, "bend": 0.05}
LEAST_SCATTER = 0.01
KNOTS = 9


@dataclass(frozen=True)
class EdgeFit:
    """Where edges are steepest.

    ``height`` and ``sigma`` mm; ``edge`` -1/0/1 as in ``Estimate``; ``fall``, ``drop``: how far log steepness falls
    from its top to the higher and to the lower of both ends; ``scatter`` of log steepness; ``bins`` of height with
    edges in them; ``tilt`` mm of the focus over the slope's width; ``lean`` of the blur (``profile.lean_distance``);
    ``reach`` mm to which the curve was fitted; ``cells``: heights, log steepness and the curve at them; ``isolated``:
    by edges without near neighbours; ``gap`` mm from the height to the nearest edge; ``rows`` the height in parts of
    the width alone: middle (share of the width, 0 to 1), height and its standard deviation in mm of each.
    """

    height: float
    sigma: float
    edge: int
    fall: float
    scatter: float
    bins: int
    tilt: float
    lean: tuple[float, float]
    reach: float
    cells: tuple[F64, F64, F64]
    drop: float
    isolated: bool
    gap: float
    rows: tuple[tuple[float, float, float], ...] = ()


@dataclass(frozen=True)
class _Cells:
    h: F64
    v: F64
    y: F64
    n: F64


def fit_edges(edges: Edges, ends: tuple[float, float]) -> EdgeFit | None:
    """The curve through the edges of one scan; None where they say nothing. ``ends``: heights seen, mm."""
    dark, bright = edges.kind // 100, edges.kind % 100
    alone = ((dark == 0) | (dark >= ALONE)) & ((bright == 0) | (bright >= ALONE))
    best = _fit(_cells(edges.only(alone), ends), ends, isolated=True)
    if best is not None and best.bins >= 0.4 * BINS:
        return best
    found = [best] if best is not None else []
    names, count = np.unique(edges.kind[~alone], return_counts=True)
    for kind in names[np.argsort(-count)][:3]:
        fit = _fit(_cells(edges.only(edges.kind == kind), ends), ends, isolated=False)
        if fit is not None:
            found.append(fit)
    return min(found, key=lambda fit: fit.sigma) if found else None


def _cells(edges: Edges, ends: tuple[float, float]) -> _Cells:
    """Steep edges' log steepness in cells of height and place across."""
    lo, hi = ends
    k = np.clip(((edges.height - lo) / (hi - lo) * BINS).astype(int), 0, BINS - 1)
    j = np.clip(((edges.across + 0.5) * BANDS).astype(int), 0, BANDS - 1)
    cell = 2 * (k * BANDS + j) + edges.lengthwise
    order = np.argsort(cell, kind="stable")
    first = np.flatnonzero(np.diff(cell[order], prepend=-1))
    rows: list[tuple[float, ...]] = []
    for a, b in zip(first, [*first[1:], len(order)][: len(first)], strict=True):
        pick = order[a:b]
        if len(pick) < FEWEST_POINTS:
            continue
        steep = np.percentile(edges.steepness[pick], QUANTILE)
        near = pick[edges.steepness[pick] >= 0.9 * steep]
        rows.append((edges.height[near].mean(), edges.across[near].mean(), np.log(steep), float(len(pick))))
    table = np.array(rows).reshape(-1, 4)
    return _Cells(table[:, 0], table[:, 1], table[:, 2], table[:, 3])


@dataclass(frozen=True)
class _Shape:
    """Of the curve: ``span`` of heights, mm, and where its even spline bends, mm from the sharp height."""

    span: float
    knots: F64

    def distance(self, p: F64, cells: _Cells) -> F64:
        """As the blur sees it; ``p``: height, tilt, even lean, growing lean, then the spline's values."""
        d = cells.h - p[0] - p[1] * cells.v
        lean = np.clip(p[2], -0.5, 0.5) * np.sign(d) + np.clip(p[3] * d / self.span, -0.4, 0.4)
        return np.asarray(np.abs(d) * (1.0 + lean))

    def value(self, p: F64, cells: _Cells) -> F64:
        """Log steepness."""
        return np.asarray(basis(self.distance(p, cells), self.knots)[0] @ p[MOVES:])

    def jacobian(self, p: F64, cells: _Cells) -> F64:
        """Its change with each number of ``p``, (n, numbers)."""
        step = 1e-4
        moves = [
            (self.value(p + step * e, cells) - self.value(p - step * e, cells)) / (2 * step)
            for e in np.eye(len(p))[:MOVES]
        ]
        return np.column_stack([*moves, basis(self.distance(p, cells), self.knots)[0]])


MOVES = 4  # numbers that move or lean the curve
PARTS = ((0,), (1, 2), (3,))  # bands of each row across the width
FEWEST_FLANK = 8  # cells of a row on either side of its height
MOST_MOVED = 0.2  # of the heights seen: a row that would move further shows no top of its own
WORST_CONDITION = 1e8
KNOWS_NOTHING = 0.1  # of the heights seen: clear of both ends; judgement


def _prior(shape: _Shape) -> F64:
    """Inverse covariance of the prior: leans and tilt near zero, a spline whose bend changes slowly."""
    m = len(shape.knots)
    whole = np.zeros((MOVES + m, MOVES + m))
    whole[range(1, 4), range(1, 4)] = [PRIORS["tilt"] ** -2, PRIORS["even"] ** -2, PRIORS["grow"] ** -2]
    third = np.diff(np.eye(m), n=3, axis=0)
    whole[MOVES:, MOVES:] = third.T @ third / PRIORS["bend"] ** 2
    return whole


def _solve(cells: _Cells, z: float, shape: _Shape) -> tuple[F64, F64, F64, float, F64]:
    """Parameters, covariance, weights, scatter, Jacobian; damped Gauss-Newton with Student's weights."""
    prior = _prior(shape)
    share = np.minimum(1.0, np.sqrt(cells.n / 20.0))
    p = np.concatenate([[z, 0.0, 0.0, 0.0], np.zeros(len(shape.knots))])
    b = basis(np.abs(cells.h - z), shape.knots)[0]
    held = (b.T * share) @ b + 1e-6 * np.eye(b.shape[1]) + 1e-3 * prior[MOVES:, MOVES:]
    p[MOVES:] = np.linalg.solve(held, (b.T * share) @ cells.y)
    damp, scatter = 1e-3, 0.1
    for turn in range(40):
        r = cells.y - shape.value(p, cells)
        scatter = max(1.4826 * float(np.median(np.abs(r * share))), LEAST_SCATTER)
        weight = share**2 * (STUDENT + 1.0) / (STUDENT + (r * share / scatter) ** 2) / scatter**2
        jac = shape.jacobian(p, cells)
        normal = (jac.T * weight) @ jac + prior
        pull = (jac.T * weight) @ r - prior @ p
        now = float(weight @ r**2 + p @ prior @ p)
        for _ in range(6):
            move = np.linalg.solve(normal + damp * np.diag(np.diag(normal) + 1e-9), pull)
            move[0] = np.clip(move[0], -0.1 * shape.span, 0.1 * shape.span)
            q = p + move
            q[0] = np.clip(q[0], cells.h[0] - 0.15 * shape.span, cells.h[-1] + 0.15 * shape.span)
            if float(weight @ (cells.y - shape.value(q, cells)) ** 2 + q @ prior @ q) < now:
                p, damp = q, max(damp * 0.3, 1e-6)
                break
            damp *= 5.0
        else:
            break
        if np.abs(move[:MOVES]).max() < 1e-5 and turn > 5:
            break
    return p, np.asarray(np.linalg.inv(normal + 1e-9 * np.eye(len(p)))), weight, scatter, jac


def _rough(cells: _Cells, ends: tuple[float, float]) -> float:
    """The height round which a plain bell fits best, wherever it starts: a search over heights and widths."""
    span = ends[1] - ends[0]
    w0 = np.minimum(1.0, np.sqrt(cells.n / 20.0))
    best = (np.inf, 0.5 * (ends[0] + ends[1]))
    for z in np.linspace(ends[0] - 0.1 * span, ends[1] + 0.1 * span, 37):
        for width in span * np.array([0.04, 0.08, 0.16, 0.32, 0.64]):
            bell = np.log1p(((cells.h - z) / width) ** 2)
            w = w0
            for _ in range(4):
                total = w.sum()
                x, y = bell - w @ bell / total, cells.y - w @ cells.y / total
                slope = min(0.0, float((w * x) @ y / max(float((w * x) @ x), 1e-12)))
                rest = np.abs(y - slope * x)
                w = w0 / np.maximum(rest, 0.01)
            cost = float(w0 @ np.minimum(rest, 0.3))
            if cost < best[0]:
                best = (cost, float(z))
    return best[1]


def _fit(cells: _Cells, ends: tuple[float, float], *, isolated: bool) -> EdgeFit | None:
    span = ends[1] - ends[0]
    bins = len(np.unique(((cells.h - ends[0]) / span * BINS).astype(int)))
    if bins < FEWEST_BINS:
        return None
    order = np.argsort(cells.h)
    cells = _Cells(*(a[order] for a in (cells.h, cells.v, cells.y, cells.n)))
    top = _rough(cells, ends)
    far = max(0.5, (top - ends[0]) / span, (ends[1] - top) / span)
    shape = _Shape(span, span * far * np.linspace(0.0, 1.0, KNOTS))
    best = None
    for z in (top, top - 0.06 * span, top + 0.06 * span):
        got = _solve(cells, z, shape)
        p = got[0]
        rest = np.abs(cells.y - shape.value(p, cells))
        # a curve must fall from its top
        hollow = p[MOVES] < p[MOVES:].max() - 0.1 * float(np.ptp(p[MOVES:]))
        merit = float(np.minimum(rest, 0.3).mean()) + hollow
        if best is None or merit < best[0] - 1e-6:
            best = (merit, got)
    assert best is not None
    if best[0] > 1.0:
        return None
    p, covariance, weight, scatter, jac = best[1]
    rest = cells.y - shape.value(p, cells)
    hat = np.einsum("ni,ij,nj->n", jac, covariance, jac) * weight
    score = (covariance[0] @ (jac * weight[:, None]).T) * rest / np.clip(1.0 - hat, 0.3, 1.0)
    sigma = max(float(np.sqrt(long_run(score, 8))) * few_places(score), float(np.sqrt(covariance[0, 0])))
    z = float(p[0])
    flat = np.array([ends[0], ends[1]])
    curve = shape.value(p, _Cells(flat, np.zeros(2), flat, flat))
    fall, drop = float(p[MOVES] - curve.max()), float(p[MOVES] - curve.min())
    seen = min(z - ends[0], ends[1] - z)
    if seen > KNOWS_NOTHING * span and 2.0 * sigma > seen:
        return None  # a top within the slope, known so badly that it may lie beyond
    gap = float(np.min(np.abs(cells.h - z)))
    edge = 0 if seen > max(2.0 * sigma, 0.01 * span) else (-1 if z < 0.5 * sum(ends) else 1)
    return EdgeFit(
        z, sigma, edge, fall, scatter, bins, float(p[1]), (float(p[2]), float(p[3])), float(shape.knots[-1]),
        (cells.h, cells.y, shape.value(p, cells)), drop, isolated, gap, _rows(cells, shape, p, scatter),
    )  # fmt: skip


def _rows(cells: _Cells, shape: _Shape, p: F64, scatter: float) -> tuple[tuple[float, float, float], ...]:
    """The height in each part of the width that shows edges on both flanks, the curve's form held.

    A part has its own level too: what is printed there may be crisper than elsewhere.
    """
    found = []
    band = np.clip(((cells.v + 0.5) * BANDS).astype(int), 0, BANDS - 1)
    for bands in PARTS:
        pick = np.isin(band, bands)
        some = _Cells(cells.h[pick], cells.v[pick], cells.y[pick], cells.n[pick])
        one = _row(some, shape, p, scatter)
        if one is not None:
            found.append((float(some.v.mean()) + 0.5, *one))
    return tuple(found)


def _row(cells: _Cells, shape: _Shape, p: F64, scatter: float) -> tuple[float, float] | None:
    """Height and standard deviation by some of the cells; None where they do not show it."""
    below = cells.h < p[0] + p[1] * cells.v
    if min(below.sum(), (~below).sum()) < FEWEST_FLANK:
        return None
    share = np.minimum(1.0, np.sqrt(cells.n / 20.0))
    moved = np.array(p)
    for _ in range(6):
        rest = cells.y - shape.value(moved, cells)
        rest = rest - np.median(rest)
        slope = shape.jacobian(moved, cells)[:, 0]
        weight = share**2 * (STUDENT + 1.0) / (STUDENT + (rest * share / scatter) ** 2) / scatter**2
        design = np.stack([slope, np.ones_like(slope)], axis=1)
        normal = (design.T * weight) @ design
        if np.linalg.cond(normal) > WORST_CONDITION:
            return None
        inverse = np.linalg.inv(normal)
        move = inverse @ ((design.T * weight) @ rest)
        moved[0] += np.clip(move[0], -0.05 * shape.span, 0.05 * shape.span)
        if abs(move[0]) < 1e-4:
            break
    if abs(moved[0] - p[0]) > MOST_MOVED * shape.span:
        return None
    score = (inverse[0] @ (design * weight[:, None]).T) * (rest - move[1])
    sigma = max(float(np.sqrt(long_run(score, 8))) * few_places(score), float(np.sqrt(inverse[0, 0])))
    return float(moved[0] + p[1] * cells.v.mean()), sigma
