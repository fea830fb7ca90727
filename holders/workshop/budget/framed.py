"""What the frame does to the heights of the picture: it hangs between its feet, and one warm face lifts it.

Along each window the ledge is as deep as the frame there (:mod:`holders.workshop.stiffness.onfeet`); over the window
the film follows as a Coons patch between those four edges. A thin plate's middle follows a pair of bowed edges by a
little over half (0.58 for a square, from plate theory), the patch by all of it: on the safe side.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError, NotConverged
from holders.design.model import Design, Rect, Window
from holders.preset.resolve import Job
from holders.workshop.stiffness.onfeet import Lying, flat_stand_of, lying, stand_of
from holders.workshop.stiffness.warm import warm_bow, warm_curvature_per_m

Floats = NDArray[np.float64]
EDGE_POINTS = 17


@dataclass(frozen=True, slots=True)
class Framed:
    """Depth (mm, downward) of the film's support over the picture of each window, cold and with one warm face.

    In a holder for several kinds of film these are the windows of the kind that is looked at.

    Each is (n, n): rows from head to foot, columns from left to right, at the middles of equal cells.
    """

    cold: tuple[Floats, ...]
    warm: tuple[Floats, ...]

    @property
    def mean_mm(self) -> float:
        """Mean depth of the window that hangs deepest, cold."""
        return max(float(c.mean()) for c in self.cold)

    @property
    def range_mm(self) -> tuple[float, float]:
        """Least and greatest depth over all pictures, cold."""
        return min(float(c.min()) for c in self.cold), max(float(c.max()) for c in self.cold)

    @property
    def lift_mm(self) -> float:
        """How far at most warmth lifts the mean of a picture."""
        return max(0.0, *(float((c - w).mean()) for c, w in zip(self.cold, self.warm, strict=True)))


def shown_of(window: Window) -> Rect:
    """The part of the picture that shows through the opening."""
    a, b = window.picture, window.opening
    x, y = max(a.x, b.x), max(a.y, b.y)
    return Rect(x, y, min(a.right, b.right) - x, min(a.top, b.top) - y)


def framed(job: Job, design: Design, cells: int) -> Framed | None:
    """The frame under each picture; None without windows, and where it can do nothing to the picture.

    A frame that is no grid of beams, or finds no rest, moves the whole picture by what one beam between its feet hangs.
    """
    if not design.windows:
        return None
    try:
        stand = stand_of(job, design) or flat_stand_of(job, design)
        bowed = lying(stand, 1.0, warm_curvature_per_m(job.bed, job.material, design))
        warm = tuple(over_window(bowed, w, cells) for w in design.mine)
        if stand.room_mm <= 0:  # it lies on the glass when cold
            return Framed((np.zeros((cells, cells)),) * len(warm), warm)
        cold = lying(stand)
        return Framed(tuple(over_window(cold, w, cells) for w in design.mine), warm)
    except (InputError, NotConverged):
        pass
    from holders.workshop.stiffness.standing import hanging  # noqa: PLC0415 - it builds on this module's neighbours

    found, bow = hanging(job, design), warm_bow(job, design)
    depth = 0.0 if found is None else found.now_mm
    if depth == 0 and bow.lift_mm == 0:
        return None
    flat = np.full((cells, cells), depth)
    count = len(design.mine)
    return Framed((flat,) * count, (flat - bow.lift_mm,) * count)


def over_window(frame: Lying, window: Window, cells: int) -> Floats:
    """Depth of the film's support at the middles of the picture's cells, mm."""
    o, shown = window.opening, shown_of(window)
    s = np.linspace(0.0, 1.0, EDGE_POINTS)
    xs, ys = o.x + s * o.width, o.top - s * o.height
    edges = frame.at(
        [
            *((x, o.top) for x in xs),
            *((x, o.y) for x in xs),
            *((o.x, y) for y in ys),
            *((o.right, y) for y in ys),
        ]
    ).reshape(4, EDGE_POINTS)
    middles = (np.arange(cells) + 0.5) / cells
    u = (shown.x + middles * shown.width - o.x) / o.width
    v = (o.top - shown.top + middles * shown.height) / o.height
    return coons(edges, s, u, v)


def coons(edges: Floats, s: Floats, u: Floats, v: Floats) -> Floats:
    """A Coons patch: ``edges`` (4, n) at head, foot (left to right), left, right (head to foot) at ``s`` in 0 to 1.

    Shape (v, u). S. A. Coons, Surfaces for computer-aided design of space forms, MIT 1967 (from memory). Corners are
    the mean of the two edges that meet there.
    """
    head, foot = np.interp(u, s, edges[0]), np.interp(u, s, edges[1])
    left, right = np.interp(v, s, edges[2]), np.interp(v, s, edges[3])
    corner = [
        [(edges[0, 0] + edges[2, 0]) / 2, (edges[0, -1] + edges[3, 0]) / 2],
        [(edges[1, 0] + edges[2, -1]) / 2, (edges[1, -1] + edges[3, -1]) / 2],
    ]
    uu, vv = u[None, :], v[:, None]
    ruled = (1 - vv) * head[None] + vv * foot[None] + (1 - uu) * left[:, None] + uu * right[:, None]
    flat = (1 - vv) * ((1 - uu) * corner[0][0] + uu * corner[0][1])
    flat = flat + vv * ((1 - uu) * corner[1][0] + uu * corner[1][1])
    return np.asarray(ruled - flat, dtype=float)
