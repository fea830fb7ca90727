"""A scan of the holder without film: where its windows lie in the scan, how even their light is, what lies in them.

Positions are mm from the scan's first column and row, y down, as in a finished scan; head is the top of the scan.
Values are taken as they stand in the file: a program that applied a gamma g shows a g-th of the stops there are.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from holders.core.errors import InputError
from holders.measure.finished.expected import EDGES, Box, EdgeName
from holders.measure.finished.placement import find_edge, oriented
from holders.measure.finished.reduce import F64, Reduced

LEAST_MM2 = 4.0  # a lit place of less is dust on the scanner's lamp, or a reflection
SIZE_MM, PLACE_MM = 3.0, 5.0  # by which a lit place may differ from the window that it is taken for
AROUND_MM = 4.0  # of the holder looked at around a lit place
NEAR_MM = (0.6, 1.6)  # from an edge: the light that grazes it
DEEP_MM = (5.0, 8.0)  # from an edge: what it is compared with
MIDDLE = 0.25  # of a window's width and height
SEEN_STOPS = 0.05  # more than the lamp's own unevenness; common practice, no source
SPECK, SPECK_MM = 0.93, 3.0  # of the light around it, within this
CLIPPED = 0.01  # of a window's pixels at the end of the scale
CLEAR_STOPS = 3.0  # by which a window is lighter than the holder, at least


@dataclass(frozen=True)
class EdgeLight:
    """The light along one edge of a window, in stops.

    ``from_middle`` of what lies within ``NEAR_MM`` of it against the middle of the window; ``from_beside`` against what
    lies ``DEEP_MM`` from it: above nought it glares, below it shades. ``along`` is the range along the edge.
    """

    from_middle: float
    from_beside: float
    along: float


@dataclass(frozen=True)
class EmptyWindow:
    """One window: its ``number`` in the design, its ``box``, what it differs by from the designed (width, height), the
    light at its ``edges``, how much of it is at the end of the scale, and ``specks`` seen in it.
    """

    number: int
    box: Box
    error_mm: tuple[float, float]
    edges: dict[EdgeName, EdgeLight]
    clipped: float
    specks: int


@dataclass(frozen=True)
class EmptyScan:
    """All windows found, those ``missing`` by number, lit places that are no window, and how the holder lies.

    ``offset_mm`` is the mean place of the windows in the scan less that in the design; ``speck_mm`` the size from which
    a speck is seen.
    """

    windows: tuple[EmptyWindow, ...]
    missing: tuple[int, ...]
    elsewhere: tuple[Box, ...]
    offset_mm: tuple[float, float]
    speck_mm: float


def read_empty(reduced: Reduced, designed: Sequence[Box]) -> EmptyScan:
    """Find the windows of a design in the small picture of a scan.

    ``designed`` are the windows in the bed's coordinates, from the lamp area's corner or any other.

    Raises ``InputError`` where no lit place is as large as any window of the design.
    """
    light = np.asarray(reduced.small.mean(axis=2), float)
    pitch = reduced.small_pitch_mm
    places = [_outlined(light, pitch, part) for part in _lit(light, pitch)]
    found, offset = _matched(places, designed)
    if not found:
        raise InputError(
            "scan", f"{light.shape[1] * pitch[0]:.0f} x {light.shape[0] * pitch[1]:.0f} mm",
            "no lit place in it is as large as a window of this holder: scan the whole lamp area in the mode for "
            "transparent film, with the empty holder on the glass",
        )  # fmt: skip
    windows = [_window(light, pitch, number, places[k], designed[number - 1]) for k, number in found]
    numbers = {number for _, number in found}
    taken = {k for k, _ in found}
    return EmptyScan(
        windows=tuple(sorted(windows, key=lambda w: w.number)),
        missing=tuple(n for n in range(1, len(designed) + 1) if n not in numbers),
        elsewhere=tuple(place for k, place in enumerate(places) if k not in taken),
        offset_mm=offset,
        speck_mm=2.0 * max(pitch),
    )


def _lit(light: F64, pitch: tuple[float, float]) -> list[tuple[slice, slice]]:
    """Lit places, as rows and columns."""
    low, high = (float(np.percentile(light, q)) for q in (2, 98))
    if high <= 0 or high < low * 2.0**CLEAR_STOPS:
        return []
    labels, _ = ndimage.label(light > 0.5 * high)
    least = LEAST_MM2 / (pitch[0] * pitch[1])
    sizes = np.bincount(labels.ravel())
    return [
        (part[0], part[1])
        for number, part in enumerate(ndimage.find_objects(labels), 1)
        if part is not None and sizes[number] >= least
    ]


def _outlined(light: F64, pitch: tuple[float, float], part: tuple[slice, slice]) -> Box:
    """The edges of a lit place, to a fraction of a pixel where they can be laid, else to a pixel."""
    rows, cols = part
    wide, high = (round(AROUND_MM / p) for p in pitch)
    top, left = max(rows.start - high, 0), max(cols.start - wide, 0)
    crop = light[top : rows.stop + high, left : cols.stop + wide]
    at: dict[EdgeName, float] = {
        "left": cols.start * pitch[0], "right": cols.stop * pitch[0],
        "head": rows.start * pitch[1], "foot": rows.stop * pitch[1],
    }  # fmt: skip
    for name in EDGES:
        line = find_edge(crop, pitch, name)
        if line is None:
            continue
        fine = line.at_mm + (left * pitch[0] if name in ("left", "right") else top * pitch[1])
        if abs(fine - at[name]) < 1.0:
            at[name] = fine
    return Box(at["left"], at["head"], at["right"] - at["left"], at["foot"] - at["head"])


def _matched(
    places: Sequence[Box], designed: Sequence[Box]
) -> tuple[list[tuple[int, int]], tuple[float, float]]:
    """Pairs (lit place, window's number) under the one shift that matches most, and that shift."""
    best: list[tuple[int, int]] = []
    for place in places:
        for wanted in designed:
            if not _sized(place, wanted):
                continue
            shift = _middle(place) - _middle(wanted)
            pairs = []
            for number, other in enumerate(designed, 1):
                near = [
                    (float(np.abs(_middle(one) - _middle(other) - shift).max()), k)
                    for k, one in enumerate(places)
                    if _sized(one, other)
                ]
                if near and min(near)[0] <= PLACE_MM:
                    pairs.append((min(near)[1], number))
            if len(pairs) > len(best):
                best = pairs
    if not best:
        return [], (0.0, 0.0)
    shifts = np.array([_corner(places[k]) - _corner(designed[n - 1]) for k, n in best])
    x, y = shifts.mean(axis=0)
    return best, (float(x), float(y))


def _sized(place: Box, wanted: Box) -> bool:
    return abs(place.width - wanted.width) <= SIZE_MM and abs(place.height - wanted.height) <= SIZE_MM


def _middle(box: Box) -> F64:
    return np.array([box.x + box.width / 2, box.y + box.height / 2])


def _corner(box: Box) -> F64:
    return np.array([box.x, box.y])


def _window(light: F64, pitch: tuple[float, float], number: int, place: Box, wanted: Box) -> EmptyWindow:
    x0, x1 = round(place.x / pitch[0]), round((place.x + place.width) / pitch[0])
    y0, y1 = round(place.y / pitch[1]), round((place.y + place.height) / pitch[1])
    inside = light[max(y0, 0) : y1, max(x0, 0) : x1]
    high, wide = inside.shape
    middle = float(np.median(inside[_span(high), _span(wide)]))
    edges = {name: _edge(oriented(inside, name), _across(pitch, name), middle) for name in EDGES}
    core = inside[2:-2, 2:-2]
    return EmptyWindow(
        number=number,
        box=place,
        error_mm=(place.width - wanted.width, place.height - wanted.height),
        edges=edges,
        clipped=float((core >= 0.999).mean()),
        specks=_specks(core, pitch),
    )


def _span(count: int) -> slice:
    return slice(int(count * (0.5 - MIDDLE / 2)), max(int(count * (0.5 + MIDDLE / 2)), int(count * 0.5) + 1))


def _across(pitch: tuple[float, float], name: EdgeName) -> float:
    return pitch[0] if name in ("left", "right") else pitch[1]


def _edge(lines: F64, across: float, middle: float) -> EdgeLight:
    """The light of lines that begin at an edge, one a row."""
    wide = lines.shape[1]

    def between(low: float, high: float) -> NDArray[np.float64]:
        first = min(int(low / across), wide - 2)
        return np.asarray(lines[:, first : max(int(np.ceil(high / across)), first + 1)].mean(axis=1))

    rows = slice(int(0.1 * len(lines)), max(int(0.9 * len(lines)), 1))  # corners have two edges
    near, deep = between(*NEAR_MM)[rows], between(*DEEP_MM)[rows]
    least = 1e-6
    smooth = ndimage.median_filter(near, size=min(len(near), 31))
    return EdgeLight(
        from_middle=float(np.log2(max(float(np.median(near)), least) / max(middle, least))),
        from_beside=float(np.log2(max(float(np.median(near)), least) / max(float(np.median(deep)), least))),
        along=float(np.log2(max(float(smooth.max()), least) / max(float(smooth.min()), least))),
    )


def _specks(core: F64, pitch: tuple[float, float]) -> int:
    """Dark specks: groups of pixels darker than what lies around them."""
    if core.size == 0:
        return 0
    around = ndimage.uniform_filter(core, size=max(3, round(SPECK_MM / max(pitch))), mode="nearest")
    return int(ndimage.label(core < SPECK * around)[1])
