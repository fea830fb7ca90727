"""The heights of a holder with a glass cover: how deep its pocket must be, and where the glass lies."""

from __future__ import annotations

import math
from dataclasses import replace

from holders.core.errors import InputError
from holders.design.draft.levels import Levels, pocket_depth
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.facts.models import Material
from holders.fittings.cover.table import Cover
from holders.preset.resolve import Job
from holders.preset.tables.making import Layout
from holders.preset.tables.plain import PlainPreset


def covered(job: Job, cover: Cover, plain: Levels) -> Levels:
    """The levels with film, glass and the room under its catches.

    Raises
    ------
    InputError
        For what no glass can be laid on, beside a lid, and where no wall is high enough.
    """
    if plain.over is not None:
        raise InputError(
            "cover", "(set)", "a holder has a lid frame or a glass cover, not both; leave one table out"
        )
    if job.base.rigid or job.film.kind == "mount":
        raise InputError(
            "cover", "(set)", f"a glass cover lies on bare film, not on {job.film.name}; leave it out"
        )
    low = plain.ledge + job.film.thickness_mm
    need = job.film.thickness_mm + cover.thickness_mm + cover.gap_mm
    depth = (
        _printed(job.preset.layout, need, job.printer.layer_mm)
        if job.printer is not None
        else _sheet(job.material, job.preset, cover, need, plain)
    )
    return replace(plain, top=plain.ledge + depth, over=(low, low + cover.thickness_mm))


def _printed(layout: Layout, need: float, layer: float) -> float:
    given = layout.pocket_depth_mm
    if given is None:
        return round(math.ceil(need / layer - 1e-9) * layer, 6)
    depth = round(round(given / layer) * layer, 6)
    if depth < need - 1e-9:
        raise InputError(
            "layout.pocket_depth_mm",
            given,
            f"film, glass and the room above it need {need:.2f} mm; make it so, or leave it out",
        )
    return depth


def _sheet(material: Material, preset: PlainPreset, cover: Cover, need: float, plain: Levels) -> float:
    """The wall sheet and the glue line under it."""
    sheets = sheet_thicknesses(material, preset)
    enough = [t for t in sheets if t + plain.glue >= need - 1e-9]
    if not enough:
        raise InputError(
            "cover.thickness_mm",
            cover.thickness_mm,
            f"film, glass and the room above it need a wall sheet of {need - plain.glue:.2f} mm, and the thickest is "
            f"{max(sheets):g} mm; take thinner glass or add a thicker sheet to material.sheets_mm",
        )
    wish = need if preset.layout.pocket_depth_mm is None else max(need, pocket_depth(preset))
    return plain.glue + nearest_sheet(enough, wish)
