"""What a new preset starts with: usual materials, parts, and the printer that fits."""

from __future__ import annotations

from typing import Any

from holders.facts import tables
from holders.facts.models import Printer
from holders.fittings.registry import FITTINGS

SLIDE_GAP_MM = 0.5  # the layout's own default
CUT_FEET_MM = 0.5  # cut sheets have no recess, so feet must be thin
ROUTE_WORDS = {"print": "printed", "laser": "laser-cut", "knife": "cut by hand"}
# what a part that is asked for starts with, by route; "" for every other
STARTS: dict[str, dict[str, dict[str, Any]]] = {
    "feet": {"print": {"count": 6}, "": {"count": 6, "thickness_mm": CUT_FEET_MM}},
    **{kind.key: {route: dict(keys) for route, keys in kind.start.items()} for kind in FITTINGS},
}
USUAL = {"print": "petg", "laser": "acrylic-cast", "knife": "mat-board"}


def first_values(
    *,
    film_format: str,
    bed: str,
    route: str,
    material: str | None = None,
    printer: str | None = None,
    count: int = 1,
) -> dict[str, Any]:
    """What the choices of film, way of making and flatbed alone give: a preset's tables and keys, without a title.

    The material is the usual one of the ``route``, the printer (printed holders only) the one that fits the bed, unless
    they are named. What holds the film is still to be proposed (``holders.search.propose``).
    """
    return {
        "route": route,
        "bed": {"name": bed},
        "film": {"format": film_format, "emulsion": "down"},
        "material": {"name": material or USUAL[route]},
        "layout": {"count": count},
        **({"printer": {"name": printer or fitting_printer(bed)}} if route == "print" else {}),
    }  # fmt: skip


def fitting_printer(bed: str) -> str:
    """The smallest printer that takes a holder as large as the bed in one piece, else the largest there is."""
    glass = tables.bed(bed)
    rows = [row for row in tables.table("printers") if isinstance(row, Printer)]
    rows.sort(key=lambda row: row.build_x_mm * row.build_y_mm)
    gap = 2 * SLIDE_GAP_MM
    for row in rows:
        room = (row.build_x_mm - 2 * row.margin_mm, row.build_y_mm - 2 * row.margin_mm)
        if room[0] >= glass.glass_width_mm - gap and room[1] >= glass.glass_length_mm - gap:
            return row.key
    return rows[-1].key
