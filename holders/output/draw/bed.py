"""A bed's measurements as a picture: the height of best focus over the glass, and how the places went over time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np
from numpy.typing import NDArray

from holders.core.lengths import measure
from holders.geometry.outline import Point
from holders.measure.bed.colours import NAMES, colour_shapes
from holders.output.draw.canvas import AXIS, EDGE, FINE, GHOST, Pen, Picture, View
from holders.output.draw.drafting.lettering import wrapped
from holders.output.words.bed import colour_words, holder_words, shape_words

if TYPE_CHECKING:
    from holders.measure.bed.record import Measured
    from holders.measure.bed.shape import BedShape

WIDTH = 220.0
MAP_WIDE, PLOT_LEFT = 90.0, 122.0
TOP, BOTTOM = 26.0, 136.0
LINE = 4.4
BAR = Pen(0.4)
CLEAR_OF = 12.0  # mm on paper: no number so near a measured place, which has its own
COLOUR_WIDE, COLOURS_HIGH = 60.0, 96.0  # of a colour's map, and of all three with what stands above them
CELLS = 24  # along the longer side
LOW, HIGH = (0x8F, 0xB4, 0xD9), (0xF6, 0xE3, 0xB4)  # the lowest and the highest of the map


def bed_sheet(places: Sequence[Measured], shape: BedShape | None) -> bytes:
    """The picture of a record's rows and their shape (None: not known yet) as SVG."""
    told = colour_words(places)
    if shape is not None:
        told = (*shape_words(places, shape), *told, *holder_words(places, shape))
    lines = [line for words in told for line in wrapped(words, WIDTH - 16, 3)]
    colours = colour_shapes(places)
    below = BOTTOM + 18 + (0.0 if colours is None else COLOURS_HIGH)
    picture = Picture(WIDTH, below + 2 + LINE * len(lines))
    title = "Height of best focus over the glass"
    picture.text((8, 10), title, 5, bold=True)
    picture.text((8, 18), "mm above the glass, ± one standard deviation (home end below)", 3)
    picture.text((PLOT_LEFT - 12, 18), "and when, with twice its uncertainty", 3)
    _map(picture, places, shape)
    _history(picture, places)
    if colours is not None:
        picture.text(
            (8, BOTTOM + 20),
            "each colour's own height of best focus, ± one standard deviation; one scale of tones",
            3,
        )
        cells = [_cells(one, _glass(places)) for one in colours.shapes]
        limits = min(float(z.min()) for z in cells), max(float(z.max()) for z in cells)
        for k, (name, one) in enumerate(zip(NAMES, colours.shapes, strict=True)):
            _colour_map(picture, places, one, name, 10.0 + k * (COLOUR_WIDE + 8.0), limits)
    for k, line in enumerate(lines):
        picture.text((8, below + LINE * k), line, 3)
    return picture.svg(title, embed=True)


def _glass(places: Sequence[Measured]) -> tuple[float, float]:
    """Width and length of the glass that is drawn, mm."""
    return max(216.0, *(p.x_mm for p in places)), max(297.0, *(p.y_mm for p in places))


def _colour_map(
    picture: Picture,
    places: Sequence[Measured],
    shape: BedShape,
    name: str,
    left: float,
    limits: tuple[float, float],
) -> None:
    """One colour's map, small, its tones those of ``limits`` (mm)."""
    wide, high = _glass(places)
    scale = min(COLOUR_WIDE / wide, (COLOURS_HIGH - 14.0) / high)
    top = BOTTOM + 26.0
    view = View(left, top + high * scale, 0.0, 0.0, scale, scale)
    _surface(picture, view, shape, (wide, high), [], limits)
    picture.polygon([[view.at(0, 0), view.at(wide, 0), view.at(wide, high), view.at(0, high)]], GHOST)
    picture.text((left, top - 1.5), name, 2.8, bold=True)


def _map(picture: Picture, places: Sequence[Measured], shape: BedShape | None) -> None:
    wide, high = _glass(places)
    scale = min(MAP_WIDE / wide, (BOTTOM - TOP) / high)
    view = View(10.0, TOP + high * scale, 0.0, 0.0, scale, scale)
    if shape is not None:
        _surface(picture, view, shape, (wide, high), [view.at(p.x_mm, p.y_mm) for p in places])
    picture.polygon([[view.at(0, 0), view.at(wide, 0), view.at(wide, high), view.at(0, high)]], GHOST)
    for p in places:
        x, y = view.at(p.x_mm, p.y_mm)
        picture.circle((x, y), 1.0, EDGE, "#fff")
        picture.text((x + 2, y + 1), measure(p.height_mm), 2.8, halo=True)


def _cells(shape: BedShape, size: tuple[float, float]) -> NDArray[np.float64]:
    """Heights at the middles of the cells that a map is drawn in, (along, across)."""
    step = max(size) / CELLS
    nx, ny = max(2, round(size[0] / step)), max(2, round(size[1] / step))
    x, y = np.meshgrid((np.arange(nx) + 0.5) * size[0] / nx, (np.arange(ny) + 0.5) * size[1] / ny)
    return shape.at(x.ravel(), y.ravel())[0].reshape(x.shape)


def _surface(
    picture: Picture,
    view: View,
    shape: BedShape,
    size: tuple[float, float],
    taken: Sequence[Point],
    limits: tuple[float, float] | None = None,
) -> None:
    """Cells coloured by height, with heights and their sigmas on a coarse grid where no place was measured.

    ``limits``: the heights of the lowest and highest colour; None: the map's own.
    """
    z = _cells(shape, size)
    ny, nx = z.shape
    dx, dy = size[0] / nx, size[1] / ny
    low, top = limits or (float(z.min()), float(z.max()))
    span = max(top - low, 0.02)
    for j, i in np.ndindex(ny, nx):
        a, b, c, d = i * dx, j * dy, (i + 1) * dx, (j + 1) * dy
        share = (float(z[j, i]) - low) / span
        mixed = (round(p + share * (q - p)) for p, q in zip(LOW, HIGH, strict=True))
        ring = [view.at(a, b), view.at(c, b), view.at(c, d), view.at(a, d)]
        picture.polygon([ring], None, "#" + "".join(f"{v:02x}" for v in mixed))
    for px in (0.12, 0.5, 0.88):
        for py in (0.06, 0.35, 0.65, 0.94):
            at = (px * size[0], py * size[1])
            spot = view.at(*at)
            if any(math.dist(spot, place) < CLEAR_OF for place in taken):
                continue
            height, sigma = (float(v[0]) for v in shape.at(*at))
            picture.text((spot[0], spot[1] + 1), f"{height:.2f} ± {sigma:.2f}", 2.2, "middle", halo=True)


def _history(picture: Picture, places: Sequence[Measured]) -> None:
    days = [p.date.toordinal() for p in places]
    first, last = min(days), max(days)
    low = min(p.height_mm - 2 * p.sigma_mm for p in places)
    high = max(p.height_mm + 2 * p.sigma_mm for p in places)
    pad = max(0.05, 0.1 * (high - low))
    low, high = low - pad, high + pad
    wide = WIDTH - PLOT_LEFT - 12
    view = View(PLOT_LEFT, BOTTOM, first, low, wide / max(last - first, 1), (BOTTOM - TOP) / (high - low))
    picture.line((PLOT_LEFT, BOTTOM), (PLOT_LEFT + wide, BOTTOM), EDGE)
    picture.line((PLOT_LEFT, BOTTOM), (PLOT_LEFT, TOP), FINE)
    for k in range(5):
        z = low + (high - low) * k / 4
        y = view.at(first, z)[1]
        picture.line((PLOT_LEFT - 1.5, y), (PLOT_LEFT + wide, y), AXIS if k else FINE)
        picture.text((PLOT_LEFT - 2.5, y + 0.9), f"{z:.2f}", 2.5, "end")
    for p in places:
        day = p.date.toordinal() if last > first else first + 0.5
        x, y0 = view.at(day, p.height_mm - 2 * p.sigma_mm)
        y1 = view.at(day, p.height_mm + 2 * p.sigma_mm)[1]
        picture.line((x, y0), (x, y1), BAR)
        picture.circle(view.at(day, p.height_mm), 0.9, EDGE, "#fff")
    dates = sorted({p.date for p in places})
    picture.text((PLOT_LEFT, BOTTOM + 6), dates[0].isoformat(), 2.5)
    if len(dates) > 1:
        picture.text((PLOT_LEFT + wide, BOTTOM + 6), dates[-1].isoformat(), 2.5, "end")
    picture.text((PLOT_LEFT - 12, BOTTOM + 11), "mm above the glass", 2.8)
