"""A film sheet on a ledge frame under a lid that weighs something: an independent reference.

The sheet is a geometrically exact thin shell (`thin_shell`) on bicubic Hermite rectangles (`hermite`). Ledge and
lid touch it one-sidedly, without friction, at points: corners, edge middles and centres of the elements over the
lip. Heights are those of the film's lower face above the ledge: a flat film that lies on the ledge has 0.

Signs: z is up, away from the scanner glass. Positive curl bends the edges up and the middle down; `curl_x_per_m`
bends along x (a cylinder whose axis is y), `curl_y_per_m` along y.

Not modelled: friction, the glass below, pocket walls, bending of the lid and the ledge, anisotropy of the film. A
point of the film that starts over the lip is taken to stay over it, which holds while `draw_in_mm` is much smaller
than the lip.
"""

from __future__ import annotations

import itertools
from collections.abc import Iterable
from dataclasses import dataclass

import numpy as np
from scipy.sparse import coo_matrix, csc_matrix, csr_matrix, vstack

from tests.simulators.shell.hermite import Array, Grid, Ints
from tests.simulators.shell.least_energy import Minimum, Problem, least_energy
from tests.simulators.shell.thin_shell import Sheet, ShellEnergy

STARTS = ("flat", "roll_x", "roll_y", "bowl", "dome", "diagonal")
GRAVITY_M_S2 = 9.80665


@dataclass(frozen=True)
class Film:
    """A rectangular sheet: size along x and y and thickness (mm), E (MPa), nu, density (kg/m3), curl (1/m)."""

    x_mm: float
    y_mm: float
    thickness_mm: float
    youngs_mpa: float
    poisson: float
    density_kg_m3: float
    curl_x_per_m: float = 0.0
    curl_y_per_m: float = 0.0

    @property
    def weight_n(self) -> float:
        volume = self.x_mm * self.y_mm * self.thickness_mm * 1e-9
        return volume * self.density_kg_m3 * GRAVITY_M_S2


@dataclass(frozen=True)
class Lid:
    """A rigid frame over the film.

    Fields
    ------
    weight_n : its weight; `inf` makes it an immovable ceiling
    lip_mm : how far its frame reaches over the film, all round
    play_mm : clearance over a flat film when the lid rests: its underside is thickness + play above the ledge
    tilt : whether it may tilt about both axes
    over_mm : how far the frame, at whose corners it rests, reaches beyond the film on each side
    centre_mm : where its weight acts, from the film's centre
    """

    weight_n: float
    lip_mm: float
    play_mm: float = 0.0
    tilt: bool = True
    over_mm: float = 8.0
    centre_mm: tuple[float, float] = (0.0, 0.0)


@dataclass(frozen=True)
class Mesh:
    """Elements: over the lip, and across the window along the shorter side of the whole sheet (even)."""

    lip: int = 1
    window: int = 12


@dataclass(frozen=True)
class Equilibrium:
    """A film at rest under its lid.

    Fields
    ------
    converged : stable, contacts and forces closed to the solver's tolerance
    lift_mm : rise of the lid's centre above its rest height (0 without a lid or when it rests)
    tilt_x_mm, tilt_y_mm : further rise of the lid at the film's +x and +y edge, from tilt
    highest_mm, lowest_mm : of the film's lower face above the ledge, over the whole sheet
    window_highest_mm, window_lowest_mm : the same over the window inside the ledge's lip
    lid_force_n, ledge_force_n : film on lid, ledge on film, both >= 0
    rest_force_n : what the lid still carries on its own rest, so lid_force_n + rest_force_n is its weight
    energy_n_mm : elastic plus gravity of film and lid
    slope, draw_in_mm : steepest slope of the film; farthest in-plane movement of its edge
    start : the starting shape that led here
    x_mm, y_mm, z_mm : grid of heights, z of shape (len(x), len(y)), origin at the film's centre
    """

    converged: bool
    lift_mm: float
    tilt_x_mm: float
    tilt_y_mm: float
    highest_mm: float
    lowest_mm: float
    window_highest_mm: float
    window_lowest_mm: float
    lid_force_n: float
    ledge_force_n: float
    rest_force_n: float
    energy_n_mm: float
    slope: float
    draw_in_mm: float
    start: str
    x_mm: Array
    y_mm: Array
    z_mm: Array


def lines(side: float, lips: tuple[float, ...], lip_cells: int, cells: int, half: bool) -> Array:
    """Grid lines across a side: equal steps over the lips, a graded window closer near its edges."""
    inner, outer = max(lips), side / 2
    marks = sorted({outer - lip for lip in lips} | {outer})
    s = np.linspace(0, 1, cells // 2 + 1)
    window = (side / 2 - inner) * (0.5 * s + 0.5 * np.sin(np.pi * s / 2))
    parts = [window]
    for a, b in itertools.pairwise(marks):
        parts.append(np.linspace(a, b, lip_cells + 1)[1:])
    right = np.concatenate(parts)
    return right if half else np.concatenate([-right[:0:-1], right])


class Model:
    """Film, ledge and lid as a `Problem`; build once, solve from several starts.

    Parameters
    ----------
    film, lid : the bodies; `lid` may be None
    lip_mm : how far the ledge reaches under the film, all round
    mesh : element counts
    quarter : solve a quarter and mirror it (no tilt, no twist); forces and energy are given for the whole
    held : keep the sheet's edge at z = 0 instead of the ledge (a simply supported plate, for verification)
    pressure_mpa : a further load along +z
    weightless : leave out the film's own weight
    sides : "xy" for a frame all round, "x" for ledge and lid along the two edges x = const only
    """

    def __init__(
        self,
        film: Film,
        lid: Lid | None,
        lip_mm: float,
        mesh: Mesh,
        *,
        quarter: bool = False,
        held: bool = False,
        pressure_mpa: float = 0.0,
        weightless: bool = False,
        sides: str = "xy",
    ) -> None:
        if quarter and lid is not None and lid.centre_mm != (0.0, 0.0):
            raise ValueError("a quarter model needs the lid's weight at the centre")
        if max(lip_mm, lid.lip_mm if lid else 0.0) >= min(film.x_mm, film.y_mm) / 2:
            raise ValueError("the lips leave no window")
        self.sides = sides
        self.film, self.lid, self.lip, self.quarter, self.held = film, lid, lip_mm, quarter, held
        short = min(film.x_mm, film.y_mm)
        counts = [2 * max(1, round(mesh.window / 2 * side / short)) for side in (film.x_mm, film.y_mm)]
        lips = (lip_mm,) if lid is None else tuple({lip_mm, lid.lip_mm})
        self.grid = Grid(
            lines(film.x_mm, lips, mesh.lip, counts[0], quarter),
            lines(film.y_mm, lips, mesh.lip, counts[1], quarter),
        )
        weight = 0.0 if weightless else film.weight_n / (film.x_mm * film.y_mm)
        curl = (film.curl_x_per_m * 1e-3, film.curl_y_per_m * 1e-3)
        sheet = Sheet(film.thickness_mm, film.youngs_mpa, film.poisson, curl, pressure_mpa - weight)
        self.shell = ShellEnergy(self.grid, sheet)
        self.share = 4.0 if quarter else 1.0
        self.moving_lid = lid is not None and np.isfinite(lid.weight_n)
        self.lid_weight = lid.weight_n / self.share if lid is not None and self.moving_lid else 0.0
        self.size = self.shell.size + 3
        centre = lid.centre_mm if lid is not None else (0.0, 0.0)
        levers = np.array([1.0, 2 * centre[0] / film.x_mm, 2 * centre[1] / film.y_mm])
        self.lid_load = self.lid_weight * levers
        self.problem = self._problem()

    def _problem(self) -> Problem:
        matrix, offset = self._constraints()
        free = np.setdiff1d(np.arange(self.size), self._kept())
        nodes = np.zeros((self.grid.nodes, 4))
        hx, hy = (np.gradient(v) for v in (self.grid.x, self.grid.y))
        hx, hy = np.abs(hx).mean(), np.abs(hy).mean()
        nodes[:] = np.array([1, hx**2, hy**2, hx**2 * hy**2]) / self.grid.nodes
        bending = self.shell.sheet.bending
        mass = (
            np.concatenate([np.repeat(nodes.ravel(), 3), np.full(3, 1.0)])
            * bending
            / min(self.film.x_mm, self.film.y_mm) ** 2
        )
        step = float(min(np.diff(self.grid.x).min(), np.diff(self.grid.y).min()))
        return Problem(
            self.energy, self.gradient, self.hessian, matrix, offset, free, mass, 20 * bending / step**2
        )

    def energy(self, u: Array) -> float:
        return self.shell.energy(u[:-3]) + float(self.lid_load @ u[-3:])

    def gradient(self, u: Array) -> Array:
        return np.concatenate([self.shell.gradient(u[:-3]), self.lid_load])

    def hessian(self, u: Array, convex: bool) -> csc_matrix:
        inner = self.shell.hessian(u[:-3], convex).tocoo()
        return coo_matrix((inner.data, (inner.row, inner.col)), shape=(self.size, self.size)).tocsc()

    def _kept(self) -> Ints:
        """Unknowns held at zero: rigid motion in the plane, symmetry, a held edge, a lid that cannot move."""
        nx, ny = len(self.grid.x), len(self.grid.y)
        i, j = (a.ravel() for a in np.meshgrid(np.arange(nx), np.arange(ny), indexing="ij"))
        node = self.grid.node(i, j)

        def at(where: Array, kind: int, axis: int) -> Ints:
            return np.asarray(3 * (4 * node[where] + kind) + axis)

        kept: list[Ints] = []
        if self.quarter:
            for where, odd, even, normal in ((i == 0, (0, 2), (1, 3), 0), (j == 0, (0, 1), (2, 3), 1)):
                for axis in range(3):
                    kept += [at(where, kind, axis) for kind in (odd if axis == normal else even)]
        else:
            centre = (i == nx // 2) & (j == ny // 2)
            kept += [at(centre, 0, 0), at(centre, 0, 1), at(centre, 1, 1)]
        if self.held:
            edge_x = (i == nx - 1) | ((i == 0) & (not self.quarter))
            edge_y = (j == ny - 1) | ((j == 0) & (not self.quarter))
            kept += [at(edge_x | edge_y, 0, 2), at(edge_x, 2, 2), at(edge_y, 1, 2)]
        lid = self.size - 3
        if not self.moving_lid:
            kept.append(np.array([lid]))
        if not self.moving_lid or self.quarter or self.lid is None or not self.lid.tilt:
            kept.append(np.array([lid + 1, lid + 2]))
        return np.unique(np.concatenate(kept))

    def contact_points(self, lip: float) -> tuple[Array, Array]:
        """Points of the film over a lip: element corners, edge middles and centres (mm)."""
        both = []
        for line in (self.grid.x, self.grid.y):
            both.append(np.sort(np.concatenate([line, (line[1:] + line[:-1]) / 2])))
        x, y = (a.ravel() for a in np.meshgrid(*both, indexing="ij"))
        film = self.film
        outside = np.abs(x) - film.x_mm / 2
        if self.sides == "xy":
            outside = np.maximum(outside, np.abs(y) - film.y_mm / 2)
        over = outside >= -lip - 1e-9
        return x[over], y[over]

    def heights(self, x: Array, y: Array) -> csr_matrix:
        """Matrix from the unknowns to the film's height at points (mm)."""
        i, j, s, t = self.grid.locate(x, y)
        values = self.grid.basis(i, j, s, t)[:, 0, :]
        rows = np.repeat(np.arange(len(x)), 16)
        cols = (3 * self.grid.unknowns(i, j) + 2).ravel()
        return coo_matrix((values.ravel(), (rows, cols)), shape=(len(x), self.size)).tocsr()

    def lid_plane(self, x: Array, y: Array) -> csr_matrix:
        """Matrix from the unknowns to the lid's rise at points (mm)."""
        columns = np.stack([np.ones_like(x), 2 * x / self.film.x_mm, 2 * y / self.film.y_mm], axis=1)
        rows = np.repeat(np.arange(len(x)), 3)
        cols = np.tile(self.size - 3 + np.arange(3), len(x))
        return coo_matrix((columns.ravel(), (rows, cols)), shape=(len(x), self.size)).tocsr()

    def _constraints(self) -> tuple[csr_matrix, Array]:
        """Rows C, c of C u + c >= 0: ledge, then lid, then the lid's own rest."""
        self.ledge = self.lidded = 0
        if self.held:
            return csr_matrix((0, self.size)), np.zeros(0)
        x, y = self.contact_points(self.lip)
        parts, offsets = [self.heights(x, y)], [np.zeros(len(x))]
        self.ledge = len(x)
        if self.lid is not None:
            x, y = self.contact_points(self.lid.lip_mm)
            parts.append(self.lid_plane(x, y) - self.heights(x, y))
            offsets.append(np.full(len(x), self.lid.play_mm))
            self.lidded = len(x)
            half = np.array([self.film.x_mm, self.film.y_mm]) / 2 + self.lid.over_mm
            signs = np.array([[1, 1], [1, -1], [-1, 1], [-1, -1]], dtype=float)
            corners = signs[: 1 if self.quarter else 4] * half
            parts.append(self.lid_plane(corners[:, 0], corners[:, 1]))
            offsets.append(np.zeros(len(corners)))
        return csr_matrix(vstack(parts)), np.concatenate(offsets)

    def start(self, name: str) -> Array:
        """Unknowns of a starting shape: one of `STARTS`."""
        shapes = {
            "flat": (0.0, 0.0, 0.0), "roll_x": (1, 0, 0), "roll_y": (0, 1, 0),
            "bowl": (0.5, 0.5, 0), "dome": (-0.5, -0.5, 0), "diagonal": (0.5, 0.5, 0.5),
        }  # fmt: skip
        cx, cy, cxy = shapes[name]
        curl = (self.film.curl_x_per_m, self.film.curl_y_per_m)
        size = max(abs(c) for c in curl) * 1e-3 * (np.sign(curl[0] + curl[1]) or 1.0)
        if name in {"dome", "bowl"}:
            size = 0.5 / max(self.film.x_mm, self.film.y_mm) ** 2 * 8
        u = np.zeros(self.size)
        x, y = (a.ravel() for a in np.meshgrid(self.grid.x, self.grid.y, indexing="ij"))
        fields = (
            (cx * x**2 + cy * y**2) / 2 + cxy * x * y, cx * x + cxy * y, cy * y + cxy * x, np.full(len(x), cxy),
        )  # fmt: skip
        for kind, field in enumerate(fields):
            u[np.arange(len(x)) * 12 + 3 * kind + 2] = size * field
        for axis, (c, line) in enumerate(((cx, x), (cy, y))):
            u[np.arange(len(x)) * 12 + axis] = -((size * c) ** 2) * line**3 / 6
            u[np.arange(len(x)) * 12 + 3 * (axis + 1) + axis] = -((size * c) ** 2) * line**2 / 2
        return self._set_down(u)

    def _set_down(self, u: Array) -> Array:
        """Lower the sheet onto the ledge, and the lid onto the sheet."""
        if self.held:
            u[2::3] = 0.0
            return u
        z = self.problem.matrix[: self.ledge] @ u
        u[2 : self.shell.size : 12] -= z.min()
        if self.moving_lid:
            gaps = self.problem.matrix[self.ledge : self.ledge + self.lidded] @ u
            u[-3] = max(
                0.0, -float((gaps + self.problem.offset[self.ledge : self.ledge + self.lidded]).min())
            )
        return u

    def solve(self, start: str | Array = "flat") -> tuple[Equilibrium, Minimum]:
        """The equilibrium reached from a starting shape (a name of `STARTS`, or unknowns)."""
        u = self.start(start) if isinstance(start, str) else start
        found = least_energy(self.problem, u)
        return self.read(found, start if isinstance(start, str) else "given"), found

    def read(self, found: Minimum, start: str) -> Equilibrium:
        """What a photographer would measure of a solution."""
        film, u = self.film, found.u
        low = 0.0 if self.quarter else -1.0
        x, y = (
            np.linspace(low * s / 2, s / 2, 81 if not self.quarter else 41) for s in (film.x_mm, film.y_mm)
        )
        x, y = (np.unique(np.concatenate([a, b])) for a, b in ((x, self.grid.x), (y, self.grid.y)))
        px, py = (a.ravel() for a in np.meshgrid(x, y, indexing="ij"))
        z = self.heights(px, py) @ u
        inside = (np.abs(px) <= film.x_mm / 2 - self.lip) & (np.abs(py) <= film.y_mm / 2 - self.lip)
        nodal = u[:-3].reshape(-1, 4, 3)
        forces = found.forces * self.share
        contact = np.split(forces, [self.ledge, self.ledge + self.lidded])
        return Equilibrium(
            found.converged, float(u[-3]), float(u[-2]), float(u[-1]), float(z.max()), float(z.min()),
            float(z[inside].max()), float(z[inside].min()),
            float(contact[1].sum()), float(contact[0].sum()), float(contact[2].sum()),
            found.energy * self.share, float(np.hypot(nodal[:, 1, 2], nodal[:, 2, 2]).max()),
            float(np.abs(nodal[:, 0, :2]).max()), start, x, y, z.reshape(len(x), len(y)),
        )  # fmt: skip


def equilibria(model: Model, starts: Iterable[str] = STARTS) -> list[Equilibrium]:
    """Converged equilibria from several starts, least energy first; empty when none converged."""
    found = [model.solve(name)[0] for name in starts]
    return sorted((e for e in found if e.converged), key=lambda e: e.energy_n_mm)
