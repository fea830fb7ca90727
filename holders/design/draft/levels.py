"""The heights at which slabs begin and end, for every route, from the glass up."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace

from holders.core.errors import InputError
from holders.design.draft.places import Place
from holders.design.height.heights import Rise
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.facts.models import FilmBase, FilmFormat, Printer
from holders.facts.tables import process
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset

LEAST_WALL_LAYERS = 2
EVEN = 1e-9


@dataclass(frozen=True, slots=True)
class Levels:
    """Heights above the glass, mm."""

    under: float  # the holder's underside
    below: tuple[float, ...]  # tops of the sheets or the slab below the ledge, the last is the ledge
    top: float  # top of the pocket wall
    glue: float = 0.0  # between one sheet and the next
    shoulder: float | None = None  # what something beside the film's pocket rests on
    over: tuple[float, float] | None = None  # underside and top of what lies over the film
    play: float | None = None  # between the film and that
    rim: float = 0.0  # how far the rim of that, over the shoulder, stands above its underside

    @property
    def ledge(self) -> float:
        """The ledge."""
        return self.below[-1]

    @property
    def flat(self) -> bool:
        """Whether there is no pocket: the film lies on top of the board."""
        return self.top - self.ledge < EVEN


def levels_at(levels: Sequence[Levels], place: Place) -> Levels:
    """The levels of the film at a place, of those of each kind (or the one) in a holder."""
    return levels[place.kind] if len(levels) > 1 else levels[0]


def highest(levels: Sequence[Levels]) -> Levels:
    """Of the levels of each kind of film those with the highest ledge; the first of equals."""
    return max(levels, key=lambda one: one.ledge)


def lowest(levels: Sequence[Levels]) -> Levels:
    """Of the levels of each kind of film those with the lowest ledge; the first of equals."""
    return min(levels, key=lambda one: one.ledge)


def level_topped(levels: Sequence[Levels]) -> tuple[Levels, ...]:
    """The levels of each kind of film with one top for all, as high as the highest of them."""
    top = max(one.top for one in levels)
    return tuple(replace(one, top=top) for one in levels)


def levels(job: Job, rise: Rise, alone: bool = False) -> Levels:
    """The levels of a frame alone: what its ledge is made of, and a wall as high as asked for.

    ``alone`` says that no fitting follows: then sheets with a pocket of no depth are a board that film lies on.
    """
    under = rise.heights.foot_protrusion
    if job.printer is not None:
        ledge = under + rise.heights.ledge_height
        return Levels(under, (ledge,), ledge + _layers(pocket_depth(job.preset), job.printer.layer_mm))
    assert rise.stack is not None  # heights.rise sets it for every cut route
    tops, z, glue = [], under, rise.stack.glue_mm
    for sheet in rise.stack.sheets:
        z += sheet
        tops.append(z)
        z += glue
    if alone and job.preset.layout.pocket_depth_mm == 0:
        return Levels(under, tuple(tops), tops[-1], glue)
    mount = job.film.kind == "mount"  # which stands out of its pocket, to be taken by its edges
    wish, least = pocket_depth(job.preset), 0.0 if mount else job.film.thickness_mm
    wall = nearest_sheet(sheet_thicknesses(job.material, job.preset), wish, least=least)
    return Levels(under, tuple(tops), tops[-1] + glue + wall, glue)


def keep_wall(printer: Printer | None, preset: PlainPreset, plain: Levels, made: Levels) -> None:
    """Refuse a wall thinner than the printer can make, where no fitting made it higher.

    Raises ``InputError``.
    """
    if printer is None or made.top != plain.top:
        return
    layer = printer.layer_mm
    if _layers(pocket_depth(preset), layer) < LEAST_WALL_LAYERS * layer:
        raise InputError(
            "layout.pocket_depth_mm",
            pocket_depth(preset),
            f"needs at least {2 * layer:g} mm (two layers)",
        )


def thinnest_film_mm(film: FilmFormat, base: FilmBase) -> float:
    """The thinnest film of its kind: the film less what its base may be thinner, mm."""
    return film.thickness_mm - max(0.0, base.thickness_mm - base.thickness_low_mm)


def _layers(height: float, layer: float) -> float:
    return round(round(height / layer) * layer, 6)


def pocket_depth(preset: PlainPreset) -> float:
    """The wished height of the pocket wall above the ledge, mm."""
    given = preset.layout.pocket_depth_mm
    return process(preset.route).pocket_depth_mm if given is None else given
