"""The focus profile as a picture: sharpness against height, the band, and each colour's best height."""

from __future__ import annotations

from typing import Any

from holders.core.lengths import measure
from holders.output.draw.canvas import AXIS, DIMENSION, EDGE, FINE, HATCH_BAND, Pen, Picture, View

WIDTH, HEIGHT = 200.0, 130.0
LEFT, TOP, RIGHT, BOTTOM = 22.0, 26.0, 12.0, 24.0
CURVE = Pen(0.6)


def profile_sheet(found: Any) -> bytes:
    """The picture of a ``holders.measure.slope.result.FocusResult`` as SVG."""
    picture = Picture(WIDTH, HEIGHT)
    heights, sharpness = list(found.profile.height), list(found.profile.sharpness)
    low, high = min(heights), max(heights)
    most = max(1.0, *sharpness)
    scale_x = (WIDTH - LEFT - RIGHT) / max(high - low, 1e-6)
    view = View(LEFT, HEIGHT - BOTTOM, low, 0.0, scale_x, (HEIGHT - TOP - BOTTOM) / (1.05 * most))
    title = f"Sharpest {found.height:.2f} ± {max(0.01, found.height_sigma):.2f} mm above the glass"
    picture.text((8, 10), title, 5, bold=True)
    words = "How much fine detail the scan keeps at each height; lined: the heights that count as sharp."
    picture.text((8, 18), words, 3)
    _band(picture, view, found.band, (low, high), most)
    _axes(picture, view, (low, high), most)
    curve = [view.at(z, s) for z, s in zip(heights, sharpness, strict=True)]
    picture.strokes([curve], CURVE)
    best = min(max(found.height, low), high)
    picture.line(view.at(best, 0), view.at(best, most), AXIS)
    if len(found.channels) > 1:
        for k, channel in enumerate(found.channels):
            if low <= channel.height <= high:
                x, y = view.at(channel.height, most)
                picture.line((x, y - 1), (x, y + 3), EDGE)
                picture.text((x, y - 2 - 3 * k), channel.name, 2.3, "middle", halo=True)
    return picture.svg(title)


def _band(
    picture: Picture, view: View, band: tuple[float, float], seen: tuple[float, float], most: float
) -> None:
    a, b = max(band[0], seen[0]), min(band[1], seen[1])
    if b <= a:
        return
    corners = [view.at(a, 0), view.at(b, 0), view.at(b, most), view.at(a, most)]
    picture.polygon([corners], None, HATCH_BAND)
    for z in (a, b):
        picture.line(view.at(z, 0), view.at(z, most), FINE)
        x, y = view.at(z, most)
        picture.text((x, y - 1.5), measure(z), 2.5, "middle", halo=True)


def _axes(picture: Picture, view: View, seen: tuple[float, float], most: float) -> None:
    low, high = seen
    picture.line(view.at(low, 0), view.at(high, 0), EDGE)
    picture.line(view.at(low, 0), view.at(low, most), FINE)
    step = _step(high - low)
    k = round(low / step)
    while k * step <= high + 1e-9:
        z = k * step
        k += 1
        if z < low - 1e-9:
            continue
        x, y = view.at(z, 0)
        picture.line((x, y), (x, y + 1.5), FINE)
        picture.text((x, y + 5), measure(z), 2.5, "middle")
    x, y = view.at((low + high) / 2, 0)
    picture.text((x, y + 11), "height above the glass, mm", 3, "middle")
    picture.text((12, (TOP + HEIGHT - BOTTOM) / 2), "detail kept", 3, "middle", turned=True)
    for share in (0.5, 1.0):
        x, y = view.at(low, share)
        picture.line((x - 1.5, y), (x, y), DIMENSION)
        picture.text((x - 2.5, y + 0.9), f"{100 * share:.0f} %", 2.5, "end")


def _step(span: float) -> float:
    return next(step for step in (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 100.0) if span / step <= 12)
