"""Trays that lighten a printed frame: a floor, a rim, ribs and the ring round the film stay where it carries nothing.

The floor keeps the lamp's light off, so that a small film in a frame as large as the bed takes a part of the plastic
and of the hours, and lies in its place as before.
"""

from __future__ import annotations

import math
from collections.abc import Sequence

from holders.core.errors import InputError
from holders.design.draft.places import Layout
from holders.design.height.printed import printed_height
from holders.design.model import Foot, Rect
from holders.facts.models import Printer
from holders.preset.tables.making import Layout as LayoutTable

RIM_MM = 4.0  # kept along the outside, the calibration zone and the pockets
LETTERED_MM = 7.0  # of the rim at the head, where there is lettering
RIB_MM = 2.4  # between two trays
LONGEST_MM = 130.0  # of a tray, so that its floor stays flat
LEAST_MM = 12.0  # a narrower tray is not worth its walls
FLOOR_MM = 0.6


def trays(
    printer: Printer | None,
    table: LayoutTable,
    layout: Layout,
    blocks: Sequence[Rect],
    feet: Sequence[Foot],
    *,
    nested: bool = False,
) -> tuple[Rect, ...]:
    """Rectangles of the frame to be hollowed down to the floor; none where the preset does not ask for it.

    Parameters
    ----------
    printer, table:
        The printer, if any, and the preset's layout; only a printed frame without a carrier has trays.
    layout:
        The films and what must stay open.
    blocks:
        Notches and catches beside the pockets, each kept with a wall round it.
    feet:
        What stands below; a rim stays round each.
    nested:
        Whether the frame is a carrier with an insert in it.

    Raises ``InputError`` for a route or a holder that has none.
    """
    if not table.light:
        return ()
    if printer is None or nested:
        raise InputError(
            "layout.light",
            True,
            "is for a printed frame without a carrier: sheets are cut from a whole sheet anyway",
        )
    half = RIB_MM / 2
    kept = [place.room.grown(RIM_MM - half) for place in layout.places]
    kept += [] if layout.keep_open is None else [layout.keep_open.grown(RIM_MM - half)]
    kept += [block.grown(layout.wall) for block in blocks]
    kept += [foot.box.grown(layout.wall) for foot in feet]
    head = LETTERED_MM if table.label else RIM_MM
    pieces = [layout.outer.inset(RIM_MM - half, RIM_MM - half, head - half, RIM_MM - half)]
    for block in kept:
        pieces = [piece for whole in pieces for piece in _around(whole, block)]
    inner = [cell.grown(-half) for piece in pieces for cell in _cells(piece)]
    return tuple(r for r in inner if min(r.width, r.height) >= LEAST_MM)


def tray_floor_mm(printer: Printer) -> float:
    """Thickness of a tray's floor as it can be printed, mm."""
    return printed_height(printer, FLOOR_MM)


def _around(whole: Rect, block: Rect) -> list[Rect]:
    """What a block leaves of a rectangle: the sides beside it from foot to head, then what is below and above."""
    if not whole.overlaps(block):
        return [whole]
    low, high = max(whole.x, block.x), min(whole.right, block.right)
    found = [
        Rect(whole.x, whole.y, low - whole.x, whole.height),
        Rect(high, whole.y, whole.right - high, whole.height),
        Rect(low, whole.y, high - low, block.y - whole.y),
        Rect(low, block.top, high - low, whole.top - block.top),
    ]
    return [r for r in found if r.width > 0 and r.height > 0]


def _cells(whole: Rect) -> list[Rect]:
    """The rectangle in equal cells, none longer than a tray may be."""
    across, along = (max(1, math.ceil(size / LONGEST_MM)) for size in (whole.width, whole.height))
    width, height = whole.width / across, whole.height / along
    return [
        Rect(whole.x + i * width, whole.y + j * height, width, height)
        for i in range(across)
        for j in range(along)
    ]
