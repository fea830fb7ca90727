"""What a scan made with a holder should show."""

from __future__ import annotations

from typing import Any

from holders.study import Study

# a scan's first row is the home end of the bed, so what a scan shows on top is the holder's foot
SHOWN = {"left": "left", "right": "right", "head": "foot", "foot": "head"}


def expected_of(found: Study) -> Any:
    """The first window of the design as a scan should show it (y down, home end on top)."""
    import numpy as np

    from holders.measure.finished.expected import Box, Expected

    window, lip = found.design.windows[0], found.job.preset.lip
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
