"""The same film with other curls in the same holder, for the slider that asks how curled the film is."""

from __future__ import annotations

from typing import Any

import numpy as np

from holders.design.held.model import EVEN, Filmed
from holders.design.model import Design
from holders.facts.curl_words import curl_words
from holders.facts.rise_names import cold_rise

DECIMALS = 3


def curled_films(made: Design, film: Filmed, width_mm: float) -> list[dict[str, Any]]:
    """The film over its picture at each curl that the chance counts, by growing curl; empty where none was solved.

    Each has ``curl`` across (1/m), ``words`` (that curl and what it means for film ``width_mm`` wide),
    ``below`` (the chance that a film of its kind curls less), ``x`` and ``y`` (mm from the film's left and head edge),
    ``z`` (heights of the picture above the glass, mm, rows from the head), ``share`` of the picture in focus, and
    ``lid_rise`` (mm) with ``rise_name``, what that number is called.
    """
    if film.sag is None or not film.sag.curled:
        return []
    picture, band = film.picture, film.band
    cells = len(film.sag.curled[0].heights_mm)
    middles = (np.arange(cells) + 0.5) / cells
    x = np.round(picture.left_mm + middles * picture.width_mm, DECIMALS).tolist()
    y = np.round(picture.head_mm + middles * picture.height_mm, DECIMALS).tolist()
    found = []
    for one in (one for one in film.sag.curled if one.inside):
        z = made.heights.sharp_plane + np.asarray(one.heights_mm)
        sharp = (z >= band.low_mm - EVEN) & (z <= band.high_mm + EVEN)
        found.append(
            {
                "curl": round(one.across_per_m, DECIMALS),
                "words": f"curl {curl_words(one.across_per_m, width_mm, 1)}",
                "below": round(one.below, DECIMALS),
                "x": x,
                "y": y,
                "z": np.round(z, DECIMALS).tolist(),
                "share": round(float(sharp.mean()), 4),
                "lid_rise": round(one.lid_rise_mm, DECIMALS),
                "rise_name": cold_rise(made.on_film.on_film),
            }
        )
    return found


def curled(
    curl_per_m: float, sigma: float, chord_mm: float, rise_mm: float, hollow: str | None
) -> dict[str, Any]:
    """A measured curl for the page, with the preset's keys that it gives: twice its sigma either way.

    ``curl_per_m`` has its sign where ``hollow`` names the side.
    """
    spread = 2 * sigma
    return {
        "curl_per_m": curl_per_m,
        "sigma": sigma,
        "chord_mm": chord_mm,
        "rise_mm": rise_mm,
        "hollow": hollow,
        "base": {
            "curl_low_per_m": round(curl_per_m - spread, 4),
            "curl_per_m": round(curl_per_m, 4),
            "curl_high_per_m": round(curl_per_m + spread, 4),
        },
    }
