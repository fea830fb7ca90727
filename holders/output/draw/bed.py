"""A bed's measurements as a picture: the height of best focus over the glass, and how the places went over time."""

from __future__ import annotations

import math
from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from holders.core.lengths import measure
from holders.geometry.outline import Point
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
CELLS = 24  # along the longer side
LOW, HIGH = (0x8F, 0xB4, 0xD9), (0xF6, 0xE3, 0xB4)  # the lowest and the highest of the map


def bed_sheet(places: Sequence[Measured], shape: BedShape | None) -> bytes:
    """The picture of a record's rows and their shape (None: not known yet) as SVG."""
    told = colour_words(places)
    if shape is not None:
        told = (*shape_words(places, shape), *told, *holder_words(places, shape))
    lines = [line for words in told for line in wrapped(words, WIDTH - 16, 3)]
    picture = Picture(WIDTH, BOTTOM + 20 + LINE * len(lines))
    title = "Height of best focus over the glass"
    picture.text((8, 10), title, 5, bold=True)
    picture.text((8, 18), "mm above the glass, ± one standard deviation (home end below)", 3)
    picture.text((PLOT_LEFT - 12, 18), "and when, with twice its uncertainty", 3)
    _map(picture, places, shape)
    _history(picture, places)
    for k, line in enumerate(lines):
        picture.text((8, BOTTOM + 18 + LINE * k), line, 3)
    return picture.svg(title)


def _map(picture: Picture, places: Sequence[Measured], shape: BedShape | None) -> None:
    wide = max(216.0, *(p.x_mm for p in places))
    high = max(297.0, *(p.y_mm for p in places))
    scale = min(MAP_WIDE / wide, (BOTTOM - TOP) / high)
    view = View(10.0, TOP + high * scale, 0.0, 0.0, scale, scale)
    if shape is not None:
        _surface(picture, view, shape, (wide, high), [view.at(p.x_mm, p.y_mm) for p in places])
    picture.polygon([[view.at(0, 0), view.at(wide, 0), view.at(wide, high), view.at(0, high)]], GHOST)
    for p in places:
        x, y = view.at(p.x_mm, p.y_mm)
        picture.circle((x, y), 1.0, EDGE, "#fff")
        picture.text((x + 2, y + 1), measure(p.height_mm), 2.8, halo=True)


def _surface(
    picture: Picture, view: View, shape: BedShape, size: tuple[float, float], taken: Sequence[Point]
) -> None:
    """Cells coloured by height, with heights and their sigmas on a coarse grid where no place was measured."""
    step = max(size) / CELLS
    nx, ny = max(2, round(size[0] / step)), max(2, round(size[1] / step))
    dx, dy = size[0] / nx, size[1] / ny
    x, y = np.meshgrid((np.arange(nx) + 0.5) * dx, (np.arange(ny) + 0.5) * dy)
    z = shape.at(x.ravel(), y.ravel())[0].reshape(x.shape)
    low, span = float(z.min()), max(float(np.ptp(z)), 0.02)
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
