"""The film's heights by its curl: straight between the curls at which it was solved, and on beyond them."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np

from holders.design.held.curl_odds import SAME_PER_M
from holders.design.other_films import BaseSpread, CurledFilm
from holders.design.sag import Sag
from holders.film.models import Array

FAR_PER_M = (
    2.0  # what lies beyond the last curl follows the film from so far before it, not from its next neighbour
)


@dataclass(frozen=True, slots=True)
class CurlShapes:
    """Film of one kind on its ledge: ``heights`` (m, n, n) of the picture over it at ascending ``curls_per_m`` (m,).

    ``rises_mm`` (m,) is how far each lifts its lid. ``softest`` and ``stiffest`` (k, n, n) are what other bases add to
    the heights at ``base_curls_per_m`` (k,), and ``softness`` bases of equal chance between them (1 and -1); none where
    there is one base alone. ``along`` (2, n, n) is what the least and the most curl along the film add; empty where
    none is stated.
    """

    curls_per_m: Array
    heights: Array
    rises_mm: Array
    softest: Array
    stiffest: Array
    base_curls_per_m: tuple[float, ...] = ()
    softness: tuple[float, ...] = ()
    known_per_m: tuple[float, float] = (
        -math.inf,
        math.inf,
    )  # beyond it a shape was looked for, and none was found
    along: Array | None = None

    def knows(self, curl_per_m: float) -> bool:
        """Whether anything is known of film of that curl."""
        return self.known_per_m[0] <= curl_per_m <= self.known_per_m[1]

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

    def of_base(self, curl_per_m: float, place: float) -> Array | float:
        """What one base of the film's kind (counted by its chance, 0 to 1) adds to the heights at a curl, (n, n)."""
        curls = self.base_curls_per_m
        if not curls:
            return 0.0
        soft = self.softness[int(place * len(self.softness))]
        ends = self.softest if soft > 0 else self.stiffest
        at = float(np.interp(curl_per_m, curls, range(len(curls))))
        low = min(int(at), max(0, len(curls) - 2))
        high = min(low + 1, len(curls) - 1)
        return np.asarray(abs(soft) * (ends[low] + (at - low) * (ends[high] - ends[low])), dtype=float)

    def of_along(self, place: float) -> Array | float:
        """What another curl along than the stated one adds to the heights, (n, n): ``place`` is 0 at the least of it,
        1 at the most; even between.
        """
        if self.along is None:
            return 0.0
        off = 2 * place - 1
        return np.asarray(abs(off) * self.along[int(off > 0)], dtype=float)


def curl_shapes(sag: Sag) -> CurlShapes | None:
    """The film's heights by its curl; None where there is no other film than the usual one."""
    known: Sequence[CurledFilm] = sag.curled
    if not known:
        return None
    found = {one.across_per_m: (one.heights_mm, one.lid_rise_mm) for one in known}
    if sag.warm is not None and sag.warm.shown is not None:
        warm = sag.warm.shown
        found.setdefault(warm.curl_per_m, (warm.heights_mm, warm.lid_rise_mm))
    if len(found) < 2:
        one_curl = sag.sought_per_m[1] - sag.sought_per_m[0] <= SAME_PER_M
        if one_curl and sag.along is None and sag.bases is None:
            return None
        (only,) = found  # if others were looked for, what is known ends beside this one
        found[only + SAME_PER_M] = found[only]
    curls = sorted(found)
    return CurlShapes(
        np.array(curls),
        np.array([found[curl][0] for curl in curls], dtype=float),
        np.array([found[curl][1] for curl in curls], dtype=float),
        *_bases(sag.bases),
        (
            curls[0] if sag.sought_per_m[0] < curls[0] else -math.inf,
            curls[-1] if sag.sought_per_m[1] > curls[-1] else math.inf,
        ),
        None if sag.along is None else np.array([sag.along.low_mm, sag.along.high_mm]),
    )


def _bases(spread: BaseSpread | None) -> tuple[Array, Array, tuple[float, ...], tuple[float, ...]]:
    if spread is None:
        return np.zeros((0, 0, 0)), np.zeros((0, 0, 0)), (), ()
    return np.array(spread.softest_mm), np.array(spread.stiffest_mm), spread.curls_per_m, spread.softness
