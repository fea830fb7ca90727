"""The film's surface as plain numbers, for the view that draws it as a relief."""

from __future__ import annotations

from typing import Any

import numpy as np

from holders.design.height.heights import image_rise_mm
from holders.design.held.model import Filmed
from holders.design.model import Design
from holders.output.draw.relief import colour_scale
from holders.preset.resolve import Job
from holders.study import Study

DECIMALS = 4  # a tenth of a micrometre


def relief(job: Job, made: Design, film: Filmed) -> dict[str, Any]:
    """Heights of the picture above the glass, and the two planes between which it is sharp; all in mm.

    ``z[j][i]`` at ``y[j]`` from the film's head edge, ``x[i]`` from its left edge, is the height at which the scanner
    sees the picture: the film's underside and ``rise``, the base seen through where the emulsion is up.
    ``picture``: left, head, width and height of the picture on the film. ``ledge``: what the film rests on.
    ``lip``: how far the ledge reaches under each edge. ``warm``: the same heights on the warm bed. ``scale``: heights
    with their colours, those of the film's picture on the job sheet.

    Raises ``ValueError`` when no film surface is known.
    """
    if film.grid is None:
        raise ValueError("no film surface is known")
    grid, lips, rise = film.grid, made.mine[0].lips, image_rise_mm(job)
    picture = film.picture
    return {
        "x": np.round(grid.x, DECIMALS).tolist(),
        "y": np.round(grid.y, DECIMALS).tolist(),
        "z": np.round(grid.z + rise, DECIMALS).tolist(),
        "band": [round(film.band.low_mm, DECIMALS), round(film.band.high_mm, DECIMALS)],
        "picture": [
            round(v, 3) for v in (picture.left_mm, picture.head_mm, picture.width_mm, picture.height_mm)
        ],
        "rise": round(rise, DECIMALS),
        "ledge": round(made.heights.ledge_above_glass, DECIMALS),
        "lip": [round(v, 3) for v in (lips.left, lips.right, lips.head, lips.foot)],
        "least_gap": round(film.least_gap_mm, DECIMALS),
        "warm": _warm(film, rise),
        "scale": [
            [round(z, DECIMALS), colour] for z, colour in colour_scale(film.band.low_mm, film.band.high_mm)
        ],
    }


def measured_relief(studied: Study, found: Any) -> dict[str, Any] | None:
    """The measured surface as :func:`relief` gives the computed one, from the film's head; None without any height.

    Where no height is known it has that of the nearest place that was measured.
    """
    from scipy.ndimage import distance_transform_edt

    if not found.known.any():
        return None
    nearest = distance_transform_edt(~found.known, return_distances=False, return_indices=True)
    window, picture = studied.design.mine[0], studied.film.picture
    o, film = window.opening, window.film
    x = (found.x_mm - found.x_mm[0]) * o.width / np.ptp(found.x_mm) + o.x - film.x
    y = film.top - o.y - (found.y_mm - found.y_mm[0])[::-1] * o.height / np.ptp(found.y_mm)
    return {
        "x": np.round(x, DECIMALS).tolist(),
        "y": np.round(y, DECIMALS).tolist(),
        "z": np.round(found.z_mm[tuple(nearest)][::-1], DECIMALS).tolist(),
        "picture": [
            round(float(v), 3)
            for v in (picture.left_mm - x[0], picture.head_mm - y[0], picture.width_mm, picture.height_mm)
        ],
    }


def _warm(film: Filmed, rise: float) -> dict[str, Any] | None:
    """The same heights of the film on the warm bed; None where they are not others, or not solved (yet)."""
    grid = film.warm_grid
    if grid is None:
        return None
    return {
        "x": np.round(grid.x, DECIMALS).tolist(),
        "y": np.round(grid.y, DECIMALS).tolist(),
        "z": np.round(grid.z + rise, DECIMALS).tolist(),
    }
