"""Heights over a picture as a relief: layers of colour that grow lighter with height, contours, soft parts hatched.

The colours are of one scale that is fixed to the focus band, so that two holders, and page and sheet, can be compared
by colour. Colours alone say nothing: higher is lighter, contours carry their height, and what lies out of the band
is hatched, so that a copy in black and white reads the same.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import numpy as np
from numpy.typing import NDArray

from holders.geometry.outline import Point
from holders.output.draw.canvas import EDGE, FINE, HATCH_MATERIAL, HATCH_OTHER, Pen, Picture, text_width
from holders.output.draw.drafting.lettering import TEXT

STEPS_MM = (0.005, 0.01, 0.02, 0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0)
MOST_LAYERS = 9
COLOURS = ((0x5B, 0x8C, 0xB8), (0x8F, 0xBF, 0xC4), (0xC9, 0xE0, 0xC2), (0xF3, 0xEE, 0xC4), (0xFF, 0xFF, 0xF4))
IN_BAND = 0.8  # of the colours, from the middle either way: what lies between the planes; beyond, ever less for a step
KEY_HALVES = 1.5  # half bands, from the middle either way, that stand in the key at least
SLICES = 30  # of the key
SCALE_HALVES, SCALE_STEPS = 3.0, 60
CONTOUR, LIMIT = Pen(0.18), Pen(0.6)
LABEL = TEXT
CLEAR_MM = 3.0  # between lettering and the rim, and between two labels
BAR_MM = 6.0
FLAT_MM = 0.004

F64 = NDArray[np.float64]


@dataclass(frozen=True, slots=True)
class Field:
    """Heights (mm) at the middles of equal cells, rows from the top of the map, and the band that is sharp."""

    z: F64
    low_mm: float
    high_mm: float


@dataclass(frozen=True, slots=True)
class Layers:
    """The heights at which one layer ends and the next begins, from the lowest to the highest."""

    edges: tuple[float, ...]

    def colour(self, k: int, field: Field) -> str:
        """Of the middle of layer ``k``; lighter is higher."""
        return colour_of((self.edges[k] + self.edges[k + 1]) / 2, field.low_mm, field.high_mm)


def colour_of(z_mm: float, low_mm: float, high_mm: float) -> str:
    """The colour of a height, by where it lies in the focus band from ``low_mm`` to ``high_mm``; lighter is higher."""
    half = (high_mm - low_mm) / 2
    off = (z_mm - (low_mm + high_mm) / 2) / half
    part = IN_BAND * off if abs(off) <= 1 else math.copysign(1 - (1 - IN_BAND) / abs(off), off)
    share = (part + 1) / 2 * (len(COLOURS) - 1)
    i = min(int(share), len(COLOURS) - 2)
    mix = (round(a + (b - a) * (share - i)) for a, b in zip(COLOURS[i], COLOURS[i + 1], strict=True))
    return "#" + "".join(f"{value:02x}" for value in mix)


def colour_scale(low_mm: float, high_mm: float) -> tuple[tuple[float, str], ...]:
    """Heights (mm) from far below the focus band to far above it in equal steps, each with its colour."""
    middle, half = (low_mm + high_mm) / 2, (high_mm - low_mm) / 2
    heights = (middle + half * SCALE_HALVES * (2 * k / SCALE_STEPS - 1) for k in range(SCALE_STEPS + 1))
    return tuple((z, colour_of(z, low_mm, high_mm)) for z in heights)


def key_span(field: Field) -> tuple[float, float]:
    """Least and greatest height of the key: a fixed part of the scale, and more where the film goes beyond it."""
    middle, reach = (field.low_mm + field.high_mm) / 2, KEY_HALVES * (field.high_mm - field.low_mm) / 2
    return min(middle - reach, float(field.z.min())), max(middle + reach, float(field.z.max()))


def layers_of(z: F64) -> Layers:
    """Round heights, few enough to be kept apart."""
    low, high = float(z.min()), float(z.max())
    if high - low < FLAT_MM:
        middle = (low + high) / 2
        return Layers((middle - FLAT_MM, middle + FLAT_MM))
    step = next((s for s in STEPS_MM if (high - low) / s <= MOST_LAYERS - 1), STEPS_MM[-1])
    first, last = math.floor(low / step + 1e-9), math.ceil(high / step - 1e-9)
    return Layers(tuple(round(k * step, 4) for k in range(first, max(last, first + 1) + 1)))


def relief(picture: Picture, field: Field, box: tuple[float, float, float, float]) -> Layers:
    """Draw the relief into a box (left, top, width, height) of a picture; returns its layers, for the bar beside it."""
    from contourpy import FillType, contour_generator  # noqa: PLC0415 - only where film is drawn

    left, top, wide, high = box
    rows, columns = field.z.shape
    # to the rim of the map, half a cell beyond the outermost middles
    z = np.pad(field.z, 1, mode="edge")
    x = left + wide * np.clip((np.arange(-1, columns + 1) + 0.5) / columns, 0, 1)
    y = top + high * np.clip((np.arange(-1, rows + 1) + 0.5) / rows, 0, 1)
    lines = contour_generator(x, y, z, fill_type=FillType.OuterOffset)
    layers = layers_of(field.z)
    for k, (a, b) in enumerate(pairwise(layers.edges)):
        _filled(picture, lines, a, b, layers.colour(k, field))
    least, most = min(float(z.min()), field.low_mm) - 1.0, max(float(z.max()), field.high_mm) + 1.0
    _filled(picture, lines, least, field.low_mm, HATCH_MATERIAL)
    _filled(picture, lines, field.high_mm, most, HATCH_OTHER)
    for level in layers.edges[1:-1]:
        picture.strokes(_lines(lines, level), CONTOUR)
    for level in (field.low_mm, field.high_mm):
        picture.strokes(_lines(lines, level), LIMIT)
    picture.polygon([_corners(box)], EDGE)
    grounds = [
        (level, _lines(lines, level), colour_of(level, field.low_mm, field.high_mm))
        for level in layers.edges[1:-1]
    ]
    _labels(picture, grounds, box)
    return layers


def _filled(picture: Picture, lines, low: float, high: float, fill: str) -> None:  # type: ignore[no-untyped-def]
    for points, offsets in zip(*lines.filled(low, high), strict=True):
        rings = [[(float(x), float(y)) for x, y in points[a : b - 1]] for a, b in pairwise(offsets)]
        picture.polygon(rings, None, fill)


def _lines(lines, level: float) -> list[list[Point]]:  # type: ignore[no-untyped-def]
    return [[(float(x), float(y)) for x, y in line] for line in lines.lines(level) if len(line) > 1]


def _corners(box: tuple[float, float, float, float]) -> list[Point]:
    left, top, wide, high = box
    return [(left, top), (left + wide, top), (left + wide, top + high), (left, top + high)]


def _labels(
    picture: Picture,
    contours: Sequence[tuple[float, list[list[Point]], str]],
    box: tuple[float, float, float, float],
) -> None:
    """A height on each contour that has room for one, its ground cleared, none near another."""
    left, top, wide, high = box
    taken: list[Point] = []
    for level, runs, colour in contours:
        words = f"{level:.3f}".rstrip("0") if round(level, 2) != round(level, 3) else f"{level:.2f}"
        half = text_width(words, LABEL) / 2
        spots = [
            p
            for run in sorted(runs, key=len, reverse=True)[:2]
            for p in run
            if left + half + CLEAR_MM < p[0] < left + wide - half - CLEAR_MM
            and top + LABEL < p[1] < top + high - LABEL
            and all(abs(p[0] - q[0]) > 2 * half + CLEAR_MM or abs(p[1] - q[1]) > LABEL + 1 for q in taken)
        ]
        if not spots:
            continue
        # nearest to the upright middle line of the map, so that labels stand in a column to be read
        x, y = min(spots, key=lambda p: (abs(p[0] - left - wide / 2), p[1]))
        taken.append((x, y))
        ground = _corners((x - half - 0.6, y - LABEL * 0.5, 2 * half + 1.2, LABEL))
        picture.polygon([ground], None, colour)
        picture.text((x, y + LABEL * 0.36), words, LABEL, "middle")


def bar(picture: Picture, field: Field, at: Point, high: float) -> None:
    """The colours beside their heights in a strip ``high`` mm high; soft ones hatched, the planes of the focus band as
    thick lines, and a line along what of it the film takes.
    """
    x, top = at
    least, most = key_span(field)

    def down(z: float) -> float:
        return top + high * (most - z) / (most - least)

    for k in reversed(range(SLICES)):  # each down to the foot, the next over it: no seams
        z0, z1 = (least + (most - least) * j / SLICES for j in (k, k + 1))
        corners = _corners((x, down(z1), BAR_MM, top + high - down(z1)))
        picture.polygon([corners], None, colour_of((z0 + z1) / 2, field.low_mm, field.high_mm))
    for z0, z1, fill in ((least, field.low_mm, HATCH_MATERIAL), (field.high_mm, most, HATCH_OTHER)):
        picture.polygon([_corners((x, down(z1), BAR_MM, down(z0) - down(z1)))], None, fill)
    picture.polygon([_corners((x, top, BAR_MM, high))], FINE)
    taken = [down(z) for z in (field.low_mm, field.high_mm)]
    if taken[0] - taken[1] < LABEL + 0.8:  # a band so thin has one height written beside it
        taken = taken[:1]
    for z, y in zip((field.low_mm, field.high_mm), taken, strict=False):
        picture.text((x + BAR_MM + 1.5, y + LABEL * 0.36), f"{z:.2f}", LABEL, bold=True)
    for z in (field.low_mm, field.high_mm):
        picture.line((x - 0.8, down(z)), (x + BAR_MM + 0.8, down(z)), LIMIT)
    picture.line((x - 1.2, down(float(field.z.min()))), (x - 1.2, down(float(field.z.max()))), LIMIT)
    for z in layers_of(np.array([least, most])).edges:
        y = down(z)
        if top - 0.1 <= y <= top + high + 0.1 and all(abs(y - other) >= LABEL + 0.8 for other in taken):
            taken.append(y)
            picture.text((x + BAR_MM + 1.5, y + LABEL * 0.36), f"{z:.2f}", LABEL)
