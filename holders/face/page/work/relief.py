"""The film's surface as plain numbers, for the view that draws it as a relief."""

from __future__ import annotations

from typing import Any

import numpy as np

from holders.design.height.heights import image_rise_mm
from holders.design.held.model import Filmed
from holders.design.model import Design
from holders.preset.resolve import Job

DECIMALS = 4  # a tenth of a micrometre


def relief(job: Job, made: Design, film: Filmed) -> dict[str, Any]:
    """Heights of the picture above the glass, and the two planes between which it is sharp; all in mm.

    ``z[j][i]`` at ``y[j]`` from the film's head edge, ``x[i]`` from its left edge, is the height at which the scanner
    sees the picture: the film's underside and ``rise``, the base seen through where the emulsion is up.
    ``picture``: left, head, width and height of the picture on the film. ``ledge``: what the film rests on.
    ``lip``: how far the ledge reaches under each edge. ``warm``: the same heights on the warm bed.

    Raises ``ValueError`` when no film surface is known.
    """
    if film.grid is None:
        raise ValueError("no film surface is known")
    grid, lips, rise = film.grid, made.windows[0].lips, image_rise_mm(job)
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
