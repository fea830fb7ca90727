"""A bed's measurements as a picture: where they were taken, and how they went over time."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from holders.core.lengths import measure
from holders.output.draw.canvas import AXIS, EDGE, FINE, GHOST, Pen, Picture, View

WIDTH, HEIGHT = 220.0, 150.0
MAP_WIDE, PLOT_LEFT = 90.0, 122.0
TOP, BOTTOM = 26.0, 130.0
BAR = Pen(0.4)


def bed_sheet(places: Sequence[Any], plane: Any) -> bytes:
    """The picture of ``holders.measure.bed.record.Measured`` rows and their plane (None: not known) as SVG."""
    picture = Picture(WIDTH, HEIGHT)
    picture.text((8, 10), "Height of best focus over the glass", 5, bold=True)
    picture.text((8, 18), "where it was measured (home end below)", 3)
    picture.text((PLOT_LEFT - 12, 18), "and when, with twice its uncertainty", 3)
    _map(picture, places, plane)
    _history(picture, places)
    return picture.svg("Height of best focus over the glass")


def _map(picture: Picture, places: Sequence[Any], plane: Any) -> None:
    wide = max(216.0, *(p.x_mm for p in places))
    high = max(297.0, *(p.y_mm for p in places))
    scale = min(MAP_WIDE / wide, (BOTTOM - TOP) / high)
    view = View(10.0, TOP + high * scale, 0.0, 0.0, scale, scale)
    corners = [view.at(0, 0), view.at(wide, 0), view.at(wide, high), view.at(0, high)]
    picture.polygon([corners], GHOST)
    for p in places:
        x, y = view.at(p.x_mm, p.y_mm)
        picture.circle((x, y), 1.0, EDGE, "#fff")
        picture.text((x + 2, y + 1), measure(p.height_mm), 2.8, halo=True)
    if plane is not None and plane.tilted:
        steep = (plane.tilt_x**2 + plane.tilt_y**2) ** 0.5
        x, y = view.at(plane.x_mm, plane.y_mm)
        dx, dy = 14 * plane.tilt_x / steep, -14 * plane.tilt_y / steep
        picture.line((x - dx, y - dy), (x + dx, y + dy), BAR)
        picture.circle((x + dx, y + dy), 1.2, EDGE, "#000")
        picture.text((10, BOTTOM + 12), f"higher toward the dot: {1000 * steep:.2f} mm per m", 2.8)


def _history(picture: Picture, places: Sequence[Any]) -> None:
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
    picture.text((PLOT_LEFT - 12, BOTTOM + 12), "mm above the glass", 2.8)
