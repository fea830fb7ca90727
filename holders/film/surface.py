"""The static shape of a film on its support: the one entry point, :func:`solve_surface`.

Limits: moderate rotations (``within_theory``); a homogeneous, elastic base of the same stiffness both ways; no
friction between film and holder (a rough ledge or a snug lid holds the edges a little and lessens the sag, towards
``GRIPPED_HELD``); no static charge, no air cushion, no creep, no warping by the lamp's heat.
"""

from __future__ import annotations

from collections.abc import Iterable, Sequence
from contextlib import suppress
from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np

from holders.core.errors import InputError, NotConverged
from holders.core.workers import WorkerDied, helper
from holders.film import solved
from holders.film.lidded import Still, solve_under
from holders.film.models import Array, Branch, ContactForce, Kind, Lips, Sheet, Support, Surface
from holders.film.solver.branches import Found, find_branches
from holders.film.solver.contact import BY
from holders.film.solver.equilibrium import Equilibrium
from holders.film.solver.grid import Layout, plan
from holders.film.solver.interior import Effort

RESOLUTION = 12  # polynomial degree over a square film's side; 0.1 % in the sag of an 8x10 sheet
SLOPE_LIMIT = 0.3  # moderate rotations: the square of the slope well below 1 (4.5 % in length at 0.3)
FORCE_SHOWN = (
    1e-6  # contacts that carry less than this share of the weight, or than the tolerance, are not listed
)
NEAR_MM = 3.0  # lips that differ by less have much the same film
SCOUT = 6  # degree at which the branches of a curled sheet are looked for
EFFORT = 20.0  # billions of multiplications for one surface; about a second
GRID_SHORT = 41
GRID_LONG = 121
KEPT = 400  # films remembered: a search asks for the same ones again and again; some 80 MB
CLEAR = 0.1  # of the longer side: a ledge so high that no film reaches the glass below it


def solve_surface(
    sheet: Sheet,
    support: Support,
    *,
    tol: float = 1e-8,
    resolution: int = RESOLUTION,
    effort: Effort | None = None,
    recent: WarmStart | None = None,
    opens: bool = True,
) -> Surface:
    """Shape of the sheet at rest, with the contact forces, the branch it is on and the other branches found.

    Of several stable equilibria the one of lowest energy is returned; the others are named in ``other_branches``. A lid
    or cover with a ``hold`` rises until film and hold are in balance (:mod:`holders.film.lidded`).

    Parameters
    ----------
    sheet, support:
        See :class:`~holders.film.models.Sheet` and :class:`~holders.film.models.Support`.
    tol:
        Largest relative force out of balance (and energy left in the contact conditions) that counts as converged.
    resolution:
        Polynomial degree over the short side, 6 to 30; a long side gets more by itself.
    effort:
        The work that may go into it, shared between calls if the same one is given again.
    recent:
        What was found on a support much like this one; the branches are then followed from there and none is looked
        for anew, which takes half the time; none at all on the same support. It keeps what is found here. For drafts.
    opens:
        Whether to look how far a lid with magnets would stay open (``lid.opens_mm``), which takes as long again.

    Raises
    ------
    InputError
        The sheet cannot lie there (no opening left, resolution out of range).
    NotConverged
        No equilibrium within ``tol`` and ``effort``, or none of those found is stable: nothing is returned.
    """
    if not 6 <= resolution <= 30:
        raise InputError("resolution", resolution, "give a polynomial degree from 6 to 30")
    if not 1e-12 <= tol <= 1e-3:
        raise InputError("tol", tol, "give a relative tolerance from 1e-12 to 1e-3")
    work = effort or Effort(EFFORT)
    if recent is None:
        return _known(_Asked(sheet, support, tol, resolution, opens), work).surface
    if (known := recent.same(sheet, support, resolution, tol)) is not None:
        return known
    if not support.movable:
        near = recent.near(sheet, support, resolution)
        film, rests = _solve(sheet, support, tol, resolution, work, near)
        made = film.surface()
        recent.keep(made, tol, rests)
        return made
    made = _under(_Asked(sheet, support, tol, resolution, opens), work)
    recent.keep_under(made, tol)
    return made


@dataclass(frozen=True)
class _Asked:
    """Which film is wanted, and how closely."""

    sheet: Sheet
    support: Support
    tol: float
    resolution: int
    opens: bool = False

    def on(self, support: Support) -> _Asked:
        """The same on another support."""
        return replace(self, support=support)


@dataclass(frozen=True)
class _Solved:
    """A film with the equilibria found for it, and the work that this took."""

    surface: Surface
    rests: tuple[Equilibrium, ...]
    work: float


def _under(asked: _Asked, effort: Effort) -> Surface:
    """The film under a lid or cover that can move."""
    trail: dict[int, tuple[Equilibrium, ...]] = {}

    def held(still: Support, degree: int, afresh: bool) -> Still:
        near = () if afresh else trail.get(degree, ())
        found, trail[degree] = _solve(asked.sheet, still, asked.tol, degree, effort, near)
        return found

    return solve_under(asked.support, held, asked.resolution, opens=asked.opens)


def _solve(
    sheet: Sheet, support: Support, tol: float, resolution: int, effort: Effort, near: Sequence[Equilibrium]
) -> tuple[Still, tuple[Equilibrium, ...]]:
    """The film on a support of which nothing moves, and the equilibria found."""
    if near:
        return _sought(sheet, support, tol, resolution, effort, near)
    known = _known(_Asked(sheet, support, tol, resolution), effort)
    return Still(known.surface.pressed_down_n, lambda: known.surface), known.rests


def _known(asked: _Asked, effort: Effort) -> _Solved:
    """The film looked for with nothing to start from, or remembered; the same shape serves every height of its ledge
    from which none that the film can take would touch the glass.
    """
    high = asked.on(_clear(asked.sheet, asked.support))
    known = _remembered(high, effort)
    height = asked.support.ledge_height_mm
    if not _reaches_glass(known.surface, height):
        return replace(known, surface=lifted(known.surface, height))
    return known if high == asked else _remembered(asked, effort)


@lru_cache(maxsize=KEPT)
def _place(asked: _Asked) -> list[_Solved]:  # noqa: ARG001 - it is what the cache goes by
    """Where the film of this problem is kept: empty until it is solved."""
    return []


def _remembered(asked: _Asked, effort: Effort) -> _Solved:
    """A film that is known is charged what it took the first time: what comes of it does not hang on what was asked
    before.
    """
    place = _place(asked)
    if place:
        _charge(effort, place[0].work)
        return place[0]
    before = effort.left
    rests: tuple[Equilibrium, ...] = ()
    if asked.support.movable:
        surface = _kept_under(asked, effort)
    else:
        film, rests = _sought(asked.sheet, asked.support, asked.tol, asked.resolution, effort, ())
        surface = film.surface()
    # a search that ended as its work ran out found what it found, and finds as much where it is known
    place.append(_Solved(surface, rests, min(before, before - effort.left)))
    return place[0]


def _kept_under(asked: _Asked, effort: Effort) -> Surface:
    """The film under what can move, from the folder of films where it is known there."""
    file = solved.place(asked.sheet, asked.support, asked.tol, asked.resolution, asked.opens)
    known = None if file is None else solved.read(file, asked.sheet, asked.support)
    if known is not None:
        _charge(effort, known.work)
        return known.surface
    before = effort.left
    made = _under(asked, effort)
    if file is not None:
        solved.write(file, made, min(before, before - effort.left))
    return made


def _charge(effort: Effort, work: float) -> None:
    """Take what a film that is known cost when it was solved. Raises ``NotConverged`` where that is not left."""
    effort.left -= work
    if effort.left < 0:
        raise NotConverged("film surface: it did not converge within the bounds of work")


def solve_ahead(films: Iterable[tuple[Sheet, Support]], tol: float, resolution: int, effort: float) -> None:
    """Solve films that :func:`solve_surface` will be asked for, without ``opens``, in turn with this process's helper.

    Nothing is done where it has none, and no result hangs on it. ``effort`` is what each may take, in billions of
    multiplications; of one that does not converge within it nothing is kept.
    """
    beside = helper()
    if beside is None:
        return
    every = (_Asked(sheet, _clear(sheet, support), tol, resolution) for sheet, support in films)
    left = [one for one in dict.fromkeys(every) if _stands_alone(one.support) and not _place(one)]
    theirs: _Asked | None = None
    with suppress(WorkerDied):
        while len(left) > 1 or theirs is not None:
            if theirs is None:
                theirs = left.pop()
                beside.ask(_alone, theirs, effort)
            if left:
                with suppress(NotConverged):
                    _remembered(left.pop(0), Effort(effort))
            if beside.ready or not left:
                found, place = beside.answer(), _place(theirs)
                if isinstance(found, _Solved) and not place:
                    place.append(found)
                theirs = None


def _stands_alone(support: Support) -> bool:
    """Whether nobody goes on from the equilibria of a film on it: they stay where they were found."""
    return support.movable or support.kind not in (Kind.LID, Kind.COVER)


def _alone(asked: _Asked, effort: float) -> _Solved:
    """A film for another process. Raises NotConverged."""
    return replace(_remembered(asked, Effort(effort)), rests=())


def _clear(sheet: Sheet, support: Support) -> Support:
    """The support high above the glass, where that changes nothing as long as the film is clear of it: with opposite
    edges carried.
    """
    lips = support.lips
    if not ((lips.left_mm and lips.right_mm) or (lips.head_mm and lips.foot_mm)):
        return support
    high = max(support.ledge_height_mm, CLEAR * max(sheet.width_mm, sheet.height_mm))
    return support.model_copy(update={"ledge_height_mm": high})


def _reaches_glass(surface: Surface, ledge_height_mm: float) -> bool:
    """Whether any shape that the film can take would touch the glass below a ledge at that height."""
    deepest = max(branch.max_sag_mm for branch in (surface.branch, *surface.other_branches))
    return surface.touches_glass or max(deepest, -float(surface.deflection.min())) > ledge_height_mm


def lifted(surface: Surface, ledge_height_mm: float) -> Surface:
    """The same shape with the ledge at another height, without asking whether the glass is in the way."""
    lift = ledge_height_mm - surface.support.ledge_height_mm
    return replace(
        surface,
        z=surface.z + lift,
        min_gap_mm=surface.min_gap_mm + lift,
        support=surface.support.model_copy(update={"ledge_height_mm": ledge_height_mm}),
    )


def _sought(
    sheet: Sheet, support: Support, tol: float, resolution: int, effort: Effort, near: Sequence[Equilibrium]
) -> tuple[Still, tuple[Equilibrium, ...]]:
    """The film looked for from scratch, or from ``near``."""
    layout = plan(sheet, support, resolution)
    scouts = _scouts(sheet, support, resolution)
    found = find_branches(layout, scouts, sheet, tol, effort, near)
    if not found:
        raise NotConverged("film surface: no stable equilibrium was found; try a higher resolution")
    _, down = _pushes(layout, sheet, found[0])
    film = Still(down, lambda: _surface(layout, sheet, support, found[0], found[1:], resolution, tol))
    return film, tuple(one.rest for one in found)


class WarmStart:
    """The equilibria that were last found, to follow them to a support with lips a little longer or shorter.

    Never further than ``NEAR_MM`` from lips whose branches were looked for, so that a branch that comes or goes on a
    long way is not missed.
    """

    def __init__(self) -> None:
        self._looked: tuple[Sheet, Support, int] | None = None
        self._last: Surface | None = None
        self._tol = 0.0
        self._rests: tuple[Equilibrium, ...] = ()
        self._under: tuple[Surface, float] | None = None

    def same(self, sheet: Sheet, support: Support, resolution: int, tol: float) -> Surface | None:
        """The last film, where this is the same one, solved as closely at least: a change may be to other things."""
        for last, closeness in ((self._last, self._tol), self._under or (None, 0.0)):
            if last is None or (last.sheet, last.support, last.resolution) != (sheet, support, resolution):
                continue
            if closeness <= tol:
                return last
        return None

    def keep_under(self, made: Surface, tol: float) -> None:
        """Remember a film under a lid that can move."""
        self._under = made, tol

    def near(self, sheet: Sheet, support: Support, resolution: int) -> tuple[Equilibrium, ...]:
        """The equilibria to start from here; none where too much is different."""
        if self._looked is None or self._looked[0] != sheet or self._looked[2] != resolution:
            return ()
        if self._last is None or not _alike(self._last.support, support):
            return ()
        return self._rests if _alike(self._looked[1], support) else ()

    def keep(self, made: Surface, tol: float, rests: tuple[Equilibrium, ...]) -> None:
        """Remember what was found."""
        if not self.near(made.sheet, made.support, made.resolution):
            self._looked = (made.sheet, made.support, made.resolution)
        self._last, self._tol, self._rests = made, tol, rests


def _alike(one: Support, other: Support) -> bool:
    """The same edges held in the same way, each reaching as far within ``NEAR_MM``."""
    ledge = {"ledge_height_mm": one.ledge_height_mm}
    if other.model_copy(update={"lips": one.lips, "lid_lips": one.lid_lips, **ledge}) != one:
        return False
    if (one.lid_lips is None) != (other.lid_lips is None):
        return False
    pairs = [(one.lips, other.lips), (one.lid_lips or one.lips, other.lid_lips or other.lips)]
    return all(
        (a == 0) == (b == 0) and abs(a - b) <= NEAR_MM
        for mine, its in pairs
        for a, b in zip(mine.model_dump().values(), its.model_dump().values(), strict=True)
    )


def evened(lips: Lips) -> Lips:
    """Opposite lips alike where there are two: half the size of problem, a quarter where all four are."""
    x, y = 0.5 * (lips.left_mm + lips.right_mm), 0.5 * (lips.head_mm + lips.foot_mm)
    made = lips
    if lips.left_mm and lips.right_mm:
        made = made.model_copy(update={"left_mm": x, "right_mm": x})
    if lips.head_mm and lips.foot_mm:
        made = made.model_copy(update={"head_mm": y, "foot_mm": y})
    return made


def _scouts(sheet: Sheet, support: Support, resolution: int) -> list[Layout]:
    """Where to look for shapes first: coarsely where there may be several, and with opposite lips made alike where
    they differ, then coarsely with the lips as they are.
    """
    even = support.model_copy(
        update={"lips": evened(support.lips), "lid_lips": support.lid_lips and evened(support.lid_lips)}
    )
    if even != support:
        between = [plan(sheet, support, SCOUT)] if resolution > SCOUT else []
        return [plan(sheet, even, SCOUT), *between]
    return [plan(sheet, support, SCOUT)] if sheet.curl_x_per_m or sheet.curl_y_per_m else []


def _branch(layout: Layout, sheet: Sheet, f: Found) -> Branch:
    t = sheet.thickness_mm
    w = t * f.rest.posed.on_grid(f.rest.minimum.c, GRID_SHORT, GRID_SHORT)[2]
    centre = float(w[GRID_SHORT // 2, GRID_SHORT // 2])
    border = float(np.mean(w[[0, 0, -1, -1], [0, -1, 0, -1]]))
    name = "flat" if abs(centre - border) < 1e-3 * t else "trough" if centre < border else "arch"
    return Branch(
        name=name,
        energy_nmm=f.rest.minimum.state.energy * sheet.rigidity_nmm * t**2 / layout.length_mm**2,
        centre_deflection_mm=centre,
        max_sag_mm=max(0.0, -float(w.min())),
        stable=f.stable,
        stiffness=f.stiffness,
        symmetric=f.symmetric,
        mirrored=not f.symmetric,
    )


def _forces(layout: Layout, sheet: Sheet, f: Found, tol: float) -> tuple[list[ContactForce], float, float]:
    """Contact forces over the whole film, their sum upward, and the part that pushes down, N."""
    touch, length = f.rest.posed.touch, layout.length_mm
    newton, down = _pushes(layout, sheet, f)
    up = float(newton @ touch.sign)
    out = []
    shown = np.flatnonzero(newton > max(FORCE_SHOWN, tol) * max(sheet.weight_n, down))
    each = (part[shown].tolist() for part in (touch.x, touch.y, newton, touch.by))
    for at_x, at_y, force, by in zip(*each, strict=True):
        xs = _images(at_x, layout.x.symmetric and f.rest.posed.classes[0] == "even")
        ys = _images(at_y, layout.y.symmetric and f.rest.posed.classes[1] == "even")
        for x in xs:
            for y in ys:
                out.append(
                    ContactForce(
                        x_mm=(x + layout.x.half) * length,
                        y_mm=(y + layout.y.half) * length,
                        force_n=force / (len(xs) * len(ys)),
                        by=BY[by],  # type: ignore[arg-type]
                    )
                )
    return out, up, down


def _pushes(layout: Layout, sheet: Sheet, f: Found) -> tuple[Array, float]:
    """The force of every contact, and the sum of those that push down, N."""
    newton = f.rest.minimum.force * sheet.rigidity_nmm * sheet.thickness_mm / layout.length_mm**2
    return newton, float(newton[f.rest.posed.touch.sign < 0].sum())


def _images(x: float, mirrored: bool) -> list[float]:
    return [-x, x] if mirrored and x > 0 else [x]


def _surface(
    layout: Layout,
    sheet: Sheet,
    support: Support,
    best: Found,
    others: list[Found],
    resolution: int,
    tol: float,
) -> Surface:
    t, length = sheet.thickness_mm, layout.length_mm
    sides = np.array([sheet.width_mm, sheet.height_mm])
    nx, ny = (min(GRID_LONG, 2 * round((GRID_SHORT - 1) * s / length / 2) + 1) for s in sides)
    plate, c = best.rest.posed.plate, best.rest.minimum.c
    x, y, w = best.rest.posed.on_grid(c, nx, ny)
    w = t * w
    forces, up, down = _forces(layout, sheet, best, tol)
    contact = best.rest.posed.touch.count > 0
    slope = float(np.abs(plate.slope(c)).max()) * t / length
    branch = _branch(layout, sheet, best)
    z = support.ledge_height_mm + w
    return Surface(
        x=(x + layout.x.half) * length,
        y=(y + layout.y.half) * length,
        z=z,
        deflection=w,
        max_sag_mm=max(0.0, -float(w.min())),
        mean_sag_mm=-float(plate.load @ c) * t * length**2 / (sheet.width_mm * sheet.height_mm),
        max_rise_mm=max(0.0, float(w.max())),
        min_gap_mm=float(z.min()),
        contact_forces=tuple(forces),
        # where the border is held the film hangs in it: its reaction is the weight by equilibrium, not by contact
        total_reaction_n=up if contact else sheet.weight_n,
        weight_n=sheet.weight_n,
        pressed_down_n=down,
        converged=True,
        iterations=best.rest.minimum.iterations,
        residual=best.rest.minimum.residual,
        branch=branch,
        other_branches=tuple(_branch(layout, sheet, f) for f in others),
        energy_nmm=branch.energy_nmm,
        max_slope=slope,
        within_theory=slope <= SLOPE_LIMIT,
        touches_glass=any(f.by == "glass" for f in forces),
        resolution=resolution,
        sheet=sheet,
        support=support,
    )
