"""Heights between the points of a grid: the interpolating cubic spline in both directions, as matrices.

Within the grid it is scipy's ``RectBivariateSpline`` of degree three without smoothing (the tests hold it against
that), written out because loading that package takes longer than all else that a study loads. Third derivatives are
continuous at the last node but one of either end ("not a knot": de Boor, A Practical Guide to Splines, ch. IV, from
memory).
"""

from __future__ import annotations

from functools import lru_cache

import numpy as np

from holders.film.models import Array

LEAST_NODES = 4


def resampled(x: Array, y: Array, z: Array, at_x: Array, at_y: Array) -> Array:
    """(len(at_y), len(at_x)) heights at the crossings of ``at_x`` and ``at_y``; ``z[j, i]`` lies at ``x[i], y[j]``.

    Beyond the grid the outermost pieces go on. Raises ``ValueError`` for fewer than four nodes or unordered ones.
    """
    return np.asarray(spline_rows(y, at_y) @ z @ spline_rows(x, at_x).T)


def spline_rows(nodes: Array, points: Array) -> Array:
    """(len(points), len(nodes)) what each node's value adds to the spline at each point.

    Raises ``ValueError`` for fewer than four nodes or nodes out of order.
    """
    nodes, points = (np.ascontiguousarray(v, dtype=float) for v in (nodes, points))
    return _rows(nodes.tobytes(), points.tobytes())


# one film is read at the same places again and again; known by their bytes, as arrays have no hash
@lru_cache(maxsize=32)
def _rows(node_bytes: bytes, point_bytes: bytes) -> Array:
    nodes, points = np.frombuffer(node_bytes), np.frombuffer(point_bytes)
    h, n = np.diff(nodes), nodes.size
    if n < LEAST_NODES or not (h > 0).all():
        raise ValueError("a spline needs four nodes or more, in rising order")
    slopes = _slopes(h)
    k = np.clip(np.searchsorted(nodes, points, side="right") - 1, 0, n - 2)
    t, wide, every = (points - nodes[k]) / h[k], h[k], np.arange(points.size)
    rows = (wide * t * (1 - t) ** 2)[:, None] * slopes[k] - (wide * t**2 * (1 - t))[:, None] * slopes[k + 1]
    rows[every, k] += (1 + 2 * t) * (1 - t) ** 2
    rows[every, k + 1] += t**2 * (3 - 2 * t)
    rows.flags.writeable = False
    return np.asarray(rows)


def _slopes(h: Array) -> Array:
    """(n, n) the spline's slope at each node from the values at all nodes; ``h`` are the n - 1 steps between them."""
    n = h.size + 1
    left, right = np.zeros((n, n)), np.zeros((n, n))
    i = np.arange(1, n - 1)
    left[i, i - 1], left[i, i], left[i, i + 1] = h[1:], 2 * (h[:-1] + h[1:]), h[:-1]
    rise = np.zeros((n - 1, n))  # from a node to the next, over the step
    j = np.arange(n - 1)
    rise[j, j], rise[j, j + 1] = -1 / h, 1 / h
    right[1:-1] = 3 * (h[1:, None] * rise[:-1] + h[:-1, None] * rise[1:])
    for end, near, far in ((0, 0, 1), (n - 1, n - 2, n - 3)):
        both = h[near] + h[far]
        left[end, end], left[end, 1 if end == 0 else n - 2] = h[far], both
        right[end] = ((h[near] + 2 * both) * h[far] * rise[near] + h[near] ** 2 * rise[far]) / both
    return np.asarray(np.linalg.solve(left, right))
