"""Half of a strip's section between the rails, as if the strip had no ends: where the strip itself is looked for from.

A long strip that curls across its width alone bends like a beam with the plate's stiffness D in place of E I
(cylindrical bending: Timoshenko and Woinowsky-Krieger, Theory of Plates and Shells, chapter 1, from memory). Its
section is found in cubic pieces as the shape of least bending energy that stays between the rails.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from scipy.interpolate import CubicHermiteSpline
from scipy.optimize import lsq_linear

from holders.core.errors import NotConverged
from holders.design.held.model import EVEN
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.models import FilmBase
from holders.film.models import Array
from holders.fittings.channel.arc import Channel

POINTS = 161  # of the section, from the middle to the edge
EVEN_NODES = 15
PAST_MM = 0.05
MOST_NODES = 60  # terraces of layers of 0.05 mm and less can have more corners than matter
FAR_MM = 10.0  # gravity is a pull toward a place so far below that it hardly changes with the height


@dataclass(frozen=True, slots=True)
class Section:
    """Half of the strip's section: height ``w`` over the ledge at ``x`` from the middle, mm.

    ``push_n_per_mm`` is what the whole section pushes up with against the lid's rails for each mm of the strip's
    length, ``carried_n_per_mm`` what the rails below carry, ``energy_n`` its energy for each mm.
    """

    x: Array
    w: Array
    iterations: int
    residual: float
    push_n_per_mm: float = 0.0
    carried_n_per_mm: float = 0.0
    energy_n: float = 0.0


def section(base: FilmBase, made: Channel, curl_per_m: float, thickness_mm: float | None = None) -> Section:
    """The strip of that curl (positive: toward the emulsion, so an arch) between its rails.

    Raises ``NotConverged`` when the search for the least energy did not end.
    """
    t = base.thickness_mm if thickness_mm is None else thickness_mm
    stiff = base.modulus_mpa * t**3 / (12 * (1 - base.poisson**2))
    weight = base.density_kg_m3 * 1e-9 * GRAVITY_M_S2 * t
    nodes = places_mm(made)
    rows, wanted = _bending(nodes, curl_per_m * 1e-3)
    share = np.gradient(nodes)
    share[[0, -1]] /= 2
    pull = np.sqrt(weight / (FAR_MM * stiff) * share)
    sink = np.zeros((nodes.size, 2 * nodes.size))
    sink[np.arange(nodes.size), 2 * np.arange(nodes.size)] = pull
    low, high = bounds_mm(made, nodes, t)
    free = np.full(nodes.size, np.inf)
    limits = np.column_stack([low, -free]).ravel(), np.column_stack([high, free]).ravel()
    limits[0][1], limits[1][1] = -1e-12, 1e-12  # level in the middle, as the other half mirrors it
    matrix, aim = np.vstack([rows, sink]), np.concatenate([wanted, -pull * FAR_MM])
    with np.errstate(over="ignore", invalid="ignore"):  # of a curl beyond all reason; told below
        found = lsq_linear(
            matrix,
            aim,
            bounds=limits,
            method="bvls",
            tol=1e-15,
            max_iter=500,
        )
    if found.status <= 0 or not found.optimality <= 1e-8:  # not a number is no answer either
        raise NotConverged(f"the strip's section: {found.message}")
    x = np.linspace(0.0, made.half, POINTS)
    w = CubicHermiteSpline(nodes, found.x[0::2], found.x[1::2])(x)
    # what holds each height where it is, by the slope of the energy there: both halves, each mm of length
    held = (2 * stiff * (matrix.T @ (matrix @ found.x - aim)))[0::2]
    up, down = -float(held[held < 0].sum()), float(held[held > 0].sum())
    energy = 2 * stiff * (float(found.cost) - 0.5 * float(np.sum((pull * FAR_MM) ** 2)))
    return Section(x, np.asarray(w, dtype=float), int(found.nit), float(found.optimality), up, down, energy)


def places_mm(made: Channel) -> Array:
    """Where the strip can touch: every corner of the rails, just past it, and a few places between.

    Where that makes more than ``MOST_NODES`` those just past the corners are left out, which hold nothing back, and of
    corners that lie closer still some, evenly.
    """
    half = made.half
    corners = [made.window, made.lid_edge, *made.low, *made.high]
    past = [c + PAST_MM for c in (*made.low, made.window)] + [c - PAST_MM for c in made.high]
    even = np.linspace(0.0, half, EVEN_NODES).tolist()
    least = PAST_MM / 2
    kept = _apart((*corners, *past, *even), half, least)
    if len(kept) > MOST_NODES:
        kept = _apart((*corners, *even), half, least)
    while len(kept) > MOST_NODES:
        least *= 1.25
        kept = _apart((*corners, *even), half, least)
    kept[-1] = half
    return np.array(kept)


def _apart(places: Sequence[float], half: float, least: float) -> list[float]:
    """The places from the middle to the edge, without those that lie less than ``least`` past the one before."""
    inside = sorted(v for v in places if 0.0 <= v <= half)
    kept = [inside[0]]
    for v in inside[1:]:
        if v - kept[-1] > least:
            kept.append(v)
    return kept


def _bending(nodes: Array, curl_per_mm: float) -> tuple[Array, Array]:
    """Rows whose squares add up to the integral of (w'' + curl)² for cubic pieces, exactly, and what they should be.

    Unknowns are height and slope at each node in turn; two Gauss points a piece, as w'' is linear on it.
    """
    pieces = nodes.size - 1
    rows, wanted = np.zeros((2 * pieces, 2 * nodes.size)), np.zeros(2 * pieces)
    for k in range(pieces):
        length = nodes[k + 1] - nodes[k]
        for g, at in enumerate((-1 / np.sqrt(3.0), 1 / np.sqrt(3.0))):
            u = (1 + at) / 2
            second = np.array(
                [
                    (12 * u - 6) / length**2,
                    (6 * u - 4) / length,
                    (6 - 12 * u) / length**2,
                    (6 * u - 2) / length,
                ]
            )
            weight = np.sqrt(length / 2)
            rows[2 * k + g, 2 * k : 2 * k + 4] = weight * second
            wanted[2 * k + g] = -weight * curl_per_mm
    return rows, wanted


def bounds_mm(made: Channel, x: Array, thickness_mm: float) -> tuple[Array, Array]:
    """Least and greatest height of the film's underside over the ledge at distances ``x`` from the middle, mm."""
    low, high = np.full(x.shape, -np.inf), np.full(x.shape, np.inf)
    low[x >= made.window] = 0.0
    for k, corner in enumerate(made.low[:-1], 1):
        low[x > corner + EVEN] = -k * made.layer
    high[x >= made.lid_edge] = made.roof - thickness_mm
    for k, corner in enumerate(made.high, 1):
        high[x >= corner - EVEN] = made.roof - k * made.layer - thickness_mm
    return low, np.maximum(high, low + 1e-6)  # a film too thick for its slot is pinched, not impossible
