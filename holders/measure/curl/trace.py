"""Where in a scan the film's edge runs: a rough path along the longest bright line, from end to end."""

from __future__ import annotations

from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage
from scipy.sparse import coo_matrix
from scipy.sparse.csgraph import connected_components, dijkstra
from scipy.spatial import cKDTree

from holders.core.errors import InputError
from holders.measure.curl.picture import Grid

F64 = NDArray[np.float64]
GROUND_MM = 14.0  # the ground is the median over so much
BRIDGE_MM = 7.0  # a gap in the line up to which its pieces belong together
HOP_MM = 0.6  # a longer step on the way is a bridge
SPECK_MM = 1.6  # smaller things are dust
LEAST_MM = 8.0
MOST_NODES = 400_000
LIGHT_GROUND = 0.45


def trace(grid: Grid, name: str) -> F64:
    """Points (n, 2) in mm along the longest bright thing, about 0.5 mm apart, from end to end.

    Raises
    ------
    InputError
        Nothing bright enough or long enough, or a ground as bright as film.
    """
    contrast, noise = stand_out(grid, name)
    mask = _mask(contrast, noise, grid)
    if not mask.any():
        raise InputError(
            "scan", name, "no bright line in it; stand the film on its edge on the glass, lid open, and scan by "
            "reflected light",
        )  # fmt: skip
    path = _longest(mask, grid)
    if path is None or _length(path) < LEAST_MM:
        raise InputError(
            "scan", name, f"no line of {LEAST_MM:g} mm or more in it; film stood on its edge gives a thin bright arc",
        )  # fmt: skip
    return resampled(smoothed(path, 1.5), 0.5)


def stand_out(grid: Grid, name: str) -> tuple[NDArray[np.float32], float]:
    """How much lighter each block is than its surroundings, and the noise of that."""
    light = ndimage.gaussian_filter(grid.light, 0.6)
    k = max(1, round(2.0 / grid.pitch_x)), max(1, round(2.0 / grid.pitch_y))
    high, wide = light.shape[0] // k[1], light.shape[1] // k[0]
    if min(high, wide) >= 2:
        small = np.median(
            light[: high * k[1], : wide * k[0]].reshape(high, k[1], wide, k[0]).swapaxes(1, 2)
            .reshape(high, wide, -1), axis=2,
        )  # fmt: skip
        around = 2 * round(GROUND_MM / 4.0) + 1
        small = ndimage.median_filter(small, around, mode="nearest")
        rows = (np.arange(light.shape[0]) + 0.5) / k[1] - 0.5
        cols = (np.arange(light.shape[1]) + 0.5) / k[0] - 0.5
        ground = ndimage.map_coordinates(
            small, np.meshgrid(rows, cols, indexing="ij"), order=1, mode="nearest"
        )
    else:
        ground = np.full_like(light, float(np.median(light)))
    if float(np.median(ground)) > LIGHT_GROUND:
        raise InputError(
            "scan", name, "the ground is as light as film; open the lid, dim the room, and scan by reflected light",
        )  # fmt: skip
    rest = light - ground
    noise = 1.4826 * float(np.median(np.abs(rest - np.median(rest))))
    return np.asarray(rest, np.float32), max(noise, 2e-4)


def _mask(contrast: NDArray[np.float32], noise: float, grid: Grid) -> NDArray[np.bool_]:
    """Blocks of the line and of whatever else is as bright, without specks."""
    strong = float(np.quantile(contrast, 0.9995))
    low = max(4.5 * noise, 0.06 * strong, 0.004)
    high = max(8 * noise, 0.15 * strong, 0.008)
    mask = contrast > low
    marks, count = ndimage.label(mask, np.ones((3, 3)))
    if count == 0:
        return mask
    peak = np.asarray(ndimage.maximum(contrast, marks, np.arange(1, count + 1)))
    boxes = ndimage.find_objects(marks)
    keep = np.zeros(count + 1, bool)
    for k, box in enumerate(boxes):
        tall = (box[0].stop - box[0].start) * grid.pitch_y
        wide = (box[1].stop - box[1].start) * grid.pitch_x
        keep[k + 1] = np.hypot(tall, wide) >= SPECK_MM and peak[k] >= high
    return np.asarray(keep[marks])


def _longest(mask: NDArray[np.bool_], grid: Grid) -> F64 | None:
    """The longest way from end to end through one thing, gaps bridged, kept to its middle."""
    rows, cols = np.nonzero(mask)
    if len(rows) > MOST_NODES:
        return None
    deep = ndimage.distance_transform_edt(mask, sampling=(grid.pitch_y, grid.pitch_x))
    depth = np.asarray(deep)[rows, cols]
    at = np.column_stack(
        [grid.left_mm + (cols + 0.5) * grid.pitch_x, grid.top_mm + (rows + 0.5) * grid.pitch_y]
    )
    step = 1.5 * max(grid.pitch_x, grid.pitch_y)
    pairs = cKDTree(at).query_pairs(step, output_type="ndarray")
    length = np.hypot(*(at[pairs[:, 0]] - at[pairs[:, 1]]).T)
    cost = length * (1 + 0.3 * 0.2 / np.minimum(depth[pairs[:, 0]], depth[pairs[:, 1]]))
    n = len(at)
    _, part = connected_components(coo_matrix((cost, (pairs[:, 0], pairs[:, 1])), (n, n)), directed=False)
    more, far = _bridges(at, part)
    both = np.vstack([pairs, more]) if len(more) else pairs
    graph = coo_matrix((np.concatenate([cost, 3 * far]), (both[:, 0], both[:, 1])), (n, n)).tocsr()
    _, whole = connected_components(graph, directed=False)
    best: tuple[float, F64] | None = None
    for label in _promising(at, whole):
        nodes = np.nonzero(whole == label)[0]
        path = _through(graph, nodes, at)
        if path is not None and (best is None or _length(path) > best[0]):
            best = (_length(path), path)
    return None if best is None else best[1]


def _promising(at: F64, whole: NDArray[np.int32]) -> list[int]:
    """The three things of greatest extent."""
    labels = np.unique(whole)
    low, high = (
        np.column_stack([np.asarray(extreme(at[:, k], whole, labels)) for k in (0, 1)])
        for extreme in (ndimage.minimum, ndimage.maximum)
    )
    order = np.argsort(-np.hypot(*(high - low).T))
    return [int(labels[k]) for k in order[:3]]


def _bridges(at: F64, part: NDArray[np.int32]) -> tuple[NDArray[np.int64], F64]:
    """Between pieces that come near one another: the shortest pair of nodes each."""
    labels = np.unique(part)
    if len(labels) < 2 or len(labels) > 400:
        return np.empty((0, 2), np.int64), np.empty(0)
    trees = {int(k): (np.nonzero(part == k)[0]) for k in labels}
    built = {k: cKDTree(at[nodes]) for k, nodes in trees.items()}
    found, far = [], []
    names = list(trees)
    for i, a in enumerate(names):
        for b in names[i + 1 :]:
            answer = built[a].query(at[trees[b]], distance_upper_bound=BRIDGE_MM)
            dist, where = np.asarray(answer[0]), np.asarray(answer[1])
            k = int(np.argmin(dist))
            if np.isfinite(dist[k]):
                found.append((trees[a][int(where[k])], trees[b][k]))
                far.append(float(dist[k]))
    return np.array(found, np.int64).reshape(-1, 2), np.array(far)


def _through(graph: Any, nodes: NDArray[np.int64], at: F64) -> F64 | None:
    """From one end of a thing to the other: the end that is farthest from the end that is farthest from anywhere."""
    first = int(nodes[0])
    for _ in range(3):
        reach, back = dijkstra(graph, directed=False, indices=np.array(first), return_predecessors=True)
        gain = _gain(reach, back, at)
        start, first = first, int(np.argmax(gain))
    path = [first]
    while path[-1] != start:
        path.append(int(back[path[-1]]))
    return at[path] if len(path) > 3 else None


def _gain(reach: F64, back: NDArray[np.int32], at: F64) -> F64:
    """How much line there is on the way to each node, mm; a bridged gap counts against it, so that no way leads from
    the film to dust beside it.
    """
    gain = np.full(len(at), -np.inf)
    order = np.argsort(reach)[: int(np.isfinite(reach).sum())]
    before = back[order]
    hop = np.hypot(*(at[order] - at[np.maximum(before, 0)]).T)
    hop = np.where(hop > HOP_MM, -2.0 * hop, hop)
    gain[order[0]] = 0.0
    for node, last, more in zip(order[1:].tolist(), before[1:].tolist(), hop[1:].tolist(), strict=True):
        gain[node] = gain[last] + more
    return gain


def _length(path: F64) -> float:
    return float(np.hypot(*np.diff(path, axis=0).T).sum())


def arc_length(path: F64) -> F64:
    """Length along a polyline at each of its points, mm."""
    return np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(path, axis=0).T))])


def resampled(path: F64, step_mm: float) -> F64:
    """Points evenly spaced along a polyline, its two ends kept."""
    s = arc_length(path)
    keep = np.concatenate([[True], np.diff(s) > 1e-9])
    s, path = s[keep], path[keep]
    at = np.linspace(0.0, s[-1], max(2, round(s[-1] / step_mm) + 1))
    return np.column_stack([np.interp(at, s, path[:, k]) for k in (0, 1)])


def smoothed(path: F64, sigma_mm: float) -> F64:
    """A polyline evened out over about ``sigma_mm``; it keeps its ends by being mirrored there through them."""
    even = resampled(path, 0.25)
    many = min(len(even) - 1, round(4 * sigma_mm / 0.25))
    head = 2 * even[0] - even[many:0:-1]
    tail = 2 * even[-1] - even[-2 : -2 - many : -1]
    long = np.vstack([head, even, tail])
    return np.asarray(ndimage.gaussian_filter1d(long, sigma_mm / 0.25, axis=0)[many : many + len(even)])


def normals(path: F64) -> F64:
    """Unit normals (n, 2): the tangent turned from x toward y."""
    t = np.gradient(path, axis=0)
    t /= np.maximum(np.hypot(*t.T), 1e-12)[:, None]
    return np.column_stack([-t[:, 1], t[:, 0]])
