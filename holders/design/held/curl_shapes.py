"""The film's heights by its curl: straight between the curls at which it was solved, and on beyond them."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holders.design.model import Sag
from holders.design.other_films import CurledFilm
from holders.film.models import Array

FAR_PER_M = (
    2.0  # what lies beyond the last curl follows the film from so far before it, not from its next neighbour
)


@dataclass(frozen=True, slots=True)
class CurlShapes:
    """Film of one kind on its ledge: ``heights`` (m, n, n) of the picture over it at ascending ``curls_per_m`` (m,).

    ``rises_mm`` (m,) is how far each lifts its lid. ``usual_per_m`` (k,) are the curls that film of its kind has in the
    room with the ``chances`` (k,) of less.
    """

    curls_per_m: Array
    heights: Array
    rises_mm: Array
    chances: Array
    usual_per_m: Array

    def curl_at(self, chance: float) -> float:
        """The curl below which film of this kind lies with that chance, 1/m."""
        return float(np.interp(chance, self.chances, self.usual_per_m))

    def at(self, curl_per_m: float) -> tuple[Array, float]:
        """(n, n) heights of film of that curl, and how far it lifts its lid, mm."""
        curls = self.curls_per_m
        after = min(max(int(np.searchsorted(curls, curl_per_m)), 1), len(curls) - 1)
        low, high = after - 1, after
        if curl_per_m > curls[-1]:
            low = max(0, int(np.searchsorted(curls, curls[-1] - FAR_PER_M, side="right")) - 1)
        elif curl_per_m < curls[0]:
            high = min(len(curls) - 1, int(np.searchsorted(curls, curls[0] + FAR_PER_M)))
        part = (curl_per_m - curls[low]) / (curls[high] - curls[low])
        rise = (1 - part) * self.rises_mm[low] + part * self.rises_mm[high]
        return (1 - part) * self.heights[low] + part * self.heights[high], max(0.0, float(rise))


def curl_shapes(sag: Sag) -> CurlShapes | None:
    """The film's heights by its curl; None where fewer than two curls were solved."""
    known: Sequence[CurledFilm] = sag.curled
    inside = [one for one in known if one.inside]
    if not inside:
        return None
    found = {one.across_per_m: (one.heights_mm, one.lid_rise_mm) for one in known}
    if sag.warm is not None and sag.warm.shown is not None:
        warm = sag.warm.shown
        found.setdefault(warm.curl_per_m, (warm.heights_mm, warm.lid_rise_mm))
    if len(found) < 2:
        return None
    curls = sorted(found)
    return CurlShapes(
        np.array(curls),
        np.array([found[curl][0] for curl in curls], dtype=float),
        np.array([found[curl][1] for curl in curls], dtype=float),
        np.array([one.below for one in inside]),
        np.array([one.across_per_m for one in inside]),
    )
