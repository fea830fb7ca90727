"""A pocket's wall as high as what lies in it asks, for fittings that lay something thick there."""

from __future__ import annotations

import math

from holders.core.errors import InputError
from holders.design.draft.levels import Levels, pocket_depth
from holders.design.height.sheets import nearest_sheet, sheet_thicknesses
from holders.preset.resolve import Job

EVEN = 1e-9


def wall_above_ledge_mm(job: Job, plain: Levels, need_mm: float, what: str, field: str) -> float:
    """The height of the pocket's wall above the ledge: at least ``need_mm``, in the steps that the route can make.

    Parameters
    ----------
    what:
        What needs that height, in words, for the refusal.
    field:
        The preset key that decides it.

    Raises
    ------
    InputError
        Where the preset asks for a lower wall, or no sheet is thick enough.
    """
    given = job.preset.layout.pocket_depth_mm
    if job.printer is not None:
        layer = job.printer.layer_mm
        if given is None:
            return round(math.ceil(need_mm / layer - EVEN) * layer, 6)
        depth = round(round(given / layer) * layer, 6)
        if depth < need_mm - EVEN:
            raise InputError(
                "layout.pocket_depth_mm", given, f"{what} needs a wall of {need_mm:.2f} mm; make it so, or leave it out"
            )  # fmt: skip
        return depth
    sheets = sheet_thicknesses(job.material, job.preset)
    enough = [t for t in sheets if t + plain.glue >= need_mm - EVEN]
    if not enough:
        raise InputError(
            field, "(set)", f"{what} needs a wall sheet of {need_mm - plain.glue:.2f} mm, and the thickest is "
            f"{max(sheets):g} mm; add a thicker sheet to material.sheets_mm, or print the holder",
        )  # fmt: skip
    wish = need_mm if given is None else max(need_mm, pocket_depth(job.preset))
    return plain.glue + nearest_sheet(enough, wish)
