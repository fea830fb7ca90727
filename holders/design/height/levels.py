"""The heights at which slabs begin and end, for every route, from the glass up."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.height.heights import Rise
from holders.design.height.printed import least_height, printed_height
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.facts.models import Printer
from holders.facts.tables import process
from holders.preset.resolve import Job

LEAST_WALL_LAYERS = 2


@dataclass(frozen=True, slots=True)
class Levels:
    """Heights above the glass, mm."""

    under: float  # the holder's underside
    below: tuple[float, ...]  # tops of the sheets or the slab below the ledge, the last is the ledge
    shoulder: float | None  # what a printed lid rests on
    top: float  # top of the pocket wall
    lid: tuple[float, float] | None  # underside and top of the lid
    play: float | None  # between film and lid
    glue: float = 0.0  # between one sheet and the next
    cover: tuple[float, float] | None = None  # underside and top of a glass cover

    @property
    def ledge(self) -> float:
        """The ledge."""
        return self.below[-1]


def levels(job: Job, rise: Rise) -> Levels:
    """All levels.

    Raises ``InputError`` when a wall or lid would be thinner than the route can make.
    """
    under = rise.heights.foot_protrusion
    if job.printer is not None:
        return _printed(job, under, under + rise.heights.ledge_height, job.printer)
    assert rise.stack is not None  # heights.rise sets it for every cut route
    tops, z = [], under
    for sheet in rise.stack.sheets:
        z += sheet
        tops.append(z)
        z += rise.stack.glue_mm
    return _cut(job, under, tuple(tops), rise.stack.glue_mm)


def _printed(job: Job, under: float, ledge: float, printer: Printer) -> Levels:
    layer, film, lid = printer.layer_mm, job.film.thickness_mm, job.preset.lid
    if lid is None:
        depth = _layers(pocket_depth(job), layer)
        if depth < LEAST_WALL_LAYERS * layer:
            raise InputError(
                "layout.pocket_depth_mm",
                pocket_depth(job),
                f"needs at least {2 * layer:g} mm (two layers)",
            )
        return Levels(under, (ledge,), None, ledge + depth, None, None)
    rest = _rest_layers(job, printer) * layer
    thick, least = printed_height(printer, lid.thickness_mm), least_height(printer, LEAST_WALL_LAYERS)
    if thick < least:
        raise InputError("lid.thickness_mm", lid.thickness_mm, f"needs at least {least:g} mm (two layers)")
    shoulder = ledge + rest
    play = max(0.0, rest - film)
    low = shoulder if play > 0 or job.preset.channel is not None else ledge + film
    top = ledge + math.ceil((low + thick - ledge) / layer - 1e-9) * layer
    return Levels(under, (ledge,), shoulder, top, (low, low + thick), rest - film if play > 0 else 0.0)


def _rest_layers(job: Job, printer: Printer) -> int:
    """How many layers high the shoulder beside the film is.

    With play asked for, or a channel, it carries the lid above the film. Otherwise the lid lies on the film, so the
    shoulder stays below it by all that print and film may be off, but one layer keeps the film from sliding aside.
    """
    film, play, layer = (
        job.film.thickness_mm,
        job.preset.lid.play_mm if job.preset.lid else 0.0,
        printer.layer_mm,
    )
    if play > 0 or job.preset.channel is not None:
        return max(1, math.ceil((film + play) / layer - 1e-9))
    return max(1, math.floor((thinnest_film_mm(job) - printer.z_tolerance_mm) / layer + 1e-9))


def thinnest_film_mm(job: Job) -> float:
    """The thinnest film of its kind: the film less what its base may be thinner, mm."""
    return job.film.thickness_mm - max(0.0, job.base.thickness_mm - job.base.thickness_low_mm)


def _cut(job: Job, under: float, tops: tuple[float, ...], glue: float) -> Levels:
    sheets, film, lid = sheet_thicknesses(job), job.film.thickness_mm, job.preset.lid
    ledge = tops[-1]
    top = ledge + glue + nearest_sheet(sheets, pocket_depth(job), least=film)
    if lid is None:
        return Levels(under, tops, None, top, None, None, glue)
    thick = nearest_sheet(sheets, lid.thickness_mm)
    return Levels(under, tops, None, top, (ledge + film, ledge + film + thick), 0.0, glue)


def _layers(height: float, layer: float) -> float:
    return round(round(height / layer) * layer, 6)


def pocket_depth(job: Job) -> float:
    """The wished height of the pocket wall above the ledge, mm."""
    given = job.preset.layout.pocket_depth_mm
    return process(job.preset.route).pocket_depth_mm if given is None else given
