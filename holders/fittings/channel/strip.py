"""The strip in its channel: a plate that curls across and along between terraces below and the lid's rails above.

The film is the plate of large deflections that all other film is (:mod:`holders.film.solver`), with walls of its own:
below, the terraces and the ledge under its ends; above, the lid's rails and, over its ends, the lid itself. An arch
across makes it some thirty times as stiff along, so little is left of a curl along it; where the arch ends nothing
holds it but rails and lid, and there the strip flattens.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

import numpy as np

from holders.facts.models import FilmBase
from holders.film.models import Array, Sheet
from holders.film.solver.boundary_value_problem import BoundaryValueProblem, pose
from holders.film.solver.contact import ContactSet
from holders.film.solver.grid import Axis, Layout, Outline, pieces_of
from holders.film.solver.interior import Effort, minimise
from holders.fittings.channel.arc import Channel
from holders.fittings.channel.section import bounds_mm, places_mm, section

ACROSS, ALONG, STRESS = 10, 16, (10, 24)  # polynomial degrees: within 0.002 mm of half as many again
KNOT = 1.0  # widths from an end, where the film's polynomials change: most happens beyond it
SHORTEST = 0.2  # widths that are left between two knots at least
STATIONS = 40  # from the middle to an end where the strip can touch, closer toward the end
CLOSER = 1.5
TOL = 1e-5
EFFORT = 12.0  # billions of multiplications for one strip; it takes less than one
ROOM, PUSH = 0.01, 0.1
SLIT = 1e-6
GRID_X, GRID_Y = 41, 121
FAR = 1e6  # thicknesses: the glass is no wall here


@dataclass(frozen=True, slots=True)
class Strip:
    """Half of a strip, mirrored about its middle line: heights ``w`` (len(y), len(x)) of its underside over the ledge.

    ``x`` runs from the middle to the edge, ``y`` from the head edge to the foot edge, mm. ``push_n`` is what it pushes
    up with against lid and rails, ``carried_n`` what ledge and terraces carry, ``energy_nmm`` its energy.
    """

    x: Array
    y: Array
    w: Array
    iterations: int
    residual: float
    push_n: float
    carried_n: float
    energy_nmm: float


def strip(
    base: FilmBase,
    made: Channel,
    across_per_m: float,
    along_per_m: float = 0.0,
    thickness_mm: float | None = None,
) -> Strip:
    """The strip of those natural curls (positive: toward the emulsion, which faces down, so an arch) in its channel.

    Raises ``NotConverged`` when no shape at rest was found.
    """
    sheet = Sheet(
        width_mm=2 * made.half,
        height_mm=made.length,
        thickness_mm=base.thickness_mm if thickness_mm is None else thickness_mm,
        modulus_mpa=base.modulus_mpa,
        poisson=base.poisson,
        density_kg_m3=base.density_kg_m3,
        curl_x_per_m=across_per_m,
        curl_y_per_m=along_per_m,
    )
    first = section(base, made, across_per_m, sheet.thickness_mm)
    problem = _posed(made, sheet)
    length, t = problem.layout.length_mm, sheet.thickness_mm
    px, _ = problem.plate.points
    start = problem.plate.fit(np.interp(np.abs(px) * length, first.x, first.w) / t)
    touch = problem.touch
    found = minimise(problem.problem, touch, start, tol=TOL, push=PUSH, room=ROOM, effort=Effort(EFFORT))
    x, y, w = problem.on_grid(found.c, 2 * GRID_X - 1, GRID_Y)
    newton = found.force * sheet.rigidity_nmm * t / length**2
    return Strip(
        x[GRID_X - 1 :] * length,
        (y + problem.layout.y.half) * length,
        t * w[:, GRID_X - 1 :],
        found.iterations,
        found.residual,
        float(newton[touch.sign < 0].sum()),
        float(newton[touch.sign > 0].sum()),
        found.state.energy * sheet.rigidity_nmm * t**2 / length**2,
    )


def _posed(made: Channel, sheet: Sheet) -> BoundaryValueProblem:
    """The strip with the walls of its channel; one half of it along too where both ends are alike."""
    ends = (made.lips, made.lid_lips, made.rail_ends)
    alike = all(abs(head - foot) < SLIT for head, foot in ends)
    width = sheet.width_mm
    half_x, half_y = made.half / width, made.length / width / 2
    knot = half_y - KNOT
    x = _axis(half_x, [made.inner / width], ACROSS, STRESS[0], mirrored=True)
    y = _axis(half_y, [knot] if knot > SHORTEST else [], ALONG, STRESS[1], mirrored=alike)
    layout = Layout(Outline(x, y, ()), False, None, False, -FAR, width)
    posed = pose(layout, sheet, ("even", "even" if alike else "none"), False)
    walls = _walls(made, sheet.thickness_mm, posed, mirrored=alike)
    return replace(posed, touch=walls, contacts=walls.by)


def _axis(half: float, knots: Sequence[float], degree: int, stress: int, *, mirrored: bool) -> Axis:
    """One direction with free ends, its knots on both sides of the middle."""
    inner = sorted({*knots, *(-knot for knot in knots)})
    film = pieces_of(-half, half, inner, degree, mirrored)
    plane = pieces_of(-half, half, [], stress, mirrored)
    none = (0.0, 0.0)
    return Axis(half, none, none, film, ("loose", "loose"), plane, ("clamped", "clamped"))


def _walls(made: Channel, thickness_mm: float, posed: BoundaryValueProblem, *, mirrored: bool) -> ContactSet:
    """Where the strip can touch, as inequalities on its unknowns."""
    x, y = places_mm(made), _stations(made, mirrored=mirrored)
    low, high = bounds_mm(made, x, thickness_mm)
    under, over = np.tile(low, (y.size, 1)), np.tile(high, (y.size, 1))
    roof = made.roof - thickness_mm
    for (lip, lid, rail), from_end in zip(
        zip(made.lips, made.lid_lips, made.rail_ends, strict=True),
        (made.length / 2 + y, made.length / 2 - y),
        strict=True,
    ):
        over[from_end < rail - SLIT] = np.where(x >= made.lid_edge, roof, np.inf)
        under[from_end <= lip + SLIT] = np.where(x < made.window, 0.0, low)
        at_end = from_end <= lid + SLIT
        over[at_end] = np.minimum(over[at_end], roof)
    over = np.maximum(over, under + SLIT)  # a film too thick for its slot is pinched, not impossible
    rows, room, sign, places = [], [], [], []
    across, along = np.tile(x, y.size), np.repeat(y, x.size)
    length = posed.layout.length_mm
    for wall, way in ((under.ravel(), 1.0), (over.ravel(), -1.0)):
        here = np.isfinite(wall)
        at = np.column_stack([across[here], along[here]]) / length
        rows.append(way * posed.plate.rows(at[:, 0], at[:, 1]))
        room.append(-way * wall[here] / thickness_mm)
        sign.append(np.full(len(at), way))
        places.append(at)
    signs, points = np.concatenate(sign), np.concatenate(places)
    number = np.arange(len(signs))
    by = np.where(signs > 0, 0, 1)
    return ContactSet(
        np.concatenate(rows), np.concatenate(room), signs, points[:, 0], points[:, 1], by, number
    )


def _stations(made: Channel, *, mirrored: bool) -> Array:
    """Places along the strip, mm from its middle, ascending: from the middle on where both ends are alike."""
    half = made.length / 2
    even = half * (1 - (1 - np.linspace(0.0, 1.0, STATIONS)) ** CLOSER)
    found = []
    for end, sign in ((0, -1.0), (1, 1.0)):
        own = [half - made.lips[end], half - made.lid_lips[end], half - made.rail_ends[end]]
        found.append(sign * np.concatenate([even, own]))
    return np.unique(np.round(found[1] if mirrored else np.concatenate(found), 9))
