"""What a scan made with a holder should show."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from holders.design.model import Window
from holders.study import Study

INCH_MM = 25.4

# a scan's first row is the home end of the bed, so what a scan shows on top is the holder's foot
SHOWN = {"left": "left", "right": "right", "head": "foot", "foot": "head"}


def window_of_scan(found: Study, scan: Path | str, dpi: float | None) -> int | None:
    """The number of the window that a scan shows by its size, in a holder for several kinds of film; None in others.

    That whose crop box is nearest to the scan in width and length together; the first of those alike. Where the scan
    does not say its resolution its shape says which.

    Raises ``InputError`` where the scan cannot be opened.
    """
    from holders.measure.scan.opened import open_scan

    if not found.job.kinds:
        return None
    opened = open_scan(scan)
    try:
        info = opened.info
    finally:
        opened.close()
    across, along = dpi or info.dpi_x, dpi or info.dpi_y
    known = across and along
    wide, high = info.width / (across or 1.0), info.height / (along or 1.0)

    def unlike(window: Window) -> float:
        o = window.opening
        x, y = math.log(wide * INCH_MM / o.width), math.log(high * INCH_MM / o.height)
        return abs(x) + abs(y) if known else abs(x - y)

    return min(enumerate(found.design.windows, 1), key=lambda pair: unlike(pair[1]))[0]


def expected_of(found: Study, number: int | None = None) -> Any:
    """A window of the design as a scan should show it (y down, home end on top); the first for None.

    Raises ``InputError`` for a number that no window has.
    """
    import numpy as np

    from holders.measure.finished.expected import Box, Expected

    found, window = found.at_window(number)
    lip = found.job.preset.lip
    o, p, grid = window.opening, window.picture, found.film.grid
    heights: dict[str, Any] = {}
    if grid is not None and found.job.film.kind != "mount":
        heights = {
            "heights_x_mm": np.asarray(grid.x) + window.film.x - o.x,
            "heights_y_mm": (window.film.height - np.asarray(grid.y))[::-1] + window.film.y - o.y,
            "heights_mm": np.asarray(grid.z)[::-1] + found.design.heights.optics,
        }
    edge = lip.rebate_edge
    return Expected(
        window_mm=(o.width, o.height),
        picture=Box(p.x - o.x, p.y - o.y, p.width, p.height),
        rebate_edge=None if edge is None else SHOWN[edge],  # type: ignore[arg-type]
        rebate_mm=lip.rebate_mm if edge is not None else 0.0,
        band_mm=(found.design.heights.band_low, found.design.heights.band_high),
        **heights,
    )
