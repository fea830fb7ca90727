"""The focus profile as a picture: sharpness against height, the band, and each colour's best height."""

from __future__ import annotations

from dataclasses import dataclass
from typing import Any

from holders.core.lengths import measure
from holders.output.draw.canvas import (
    AXIS,
    DIMENSION,
    EDGE,
    FINE,
    HATCH_BAND,
    Anchor,
    Pen,
    Picture,
    View,
    text_width,
)

CURVE = Pen(0.6)


@dataclass(frozen=True, slots=True)
class Room:
    """The picture's size, its margins and how many steps its lower axis has, mm."""

    width: float
    height: float
    left: float
    top: float
    right: float
    bottom: float
    steps: int


SHEET = Room(200.0, 130.0, 22.0, 26.0, 12.0, 24.0, 12)
NARROW = Room(72.0, 62.0, 13.5, 7.0, 3.0, 13.0, 6)  # as wide as a phone, where 2.5 mm then have 12 pixels


def profile_sheet(found: Any) -> bytes:
    """The picture of a ``holders.measure.slope.result.FocusResult`` as SVG."""
    picture = Picture(SHEET.width, SHEET.height)
    title = _title(found)
    picture.text((8, 10), title, 5, bold=True)
    words = "How much fine detail the scan keeps at each height; lined: the heights that count as sharp."
    picture.text((8, 18), words, 3)
    _profile(picture, found, SHEET)
    return picture.svg(title, embed=True)


def profile_narrow(found: Any) -> bytes:
    """The curve alone, as SVG as wide as a phone; a page says the rest beside it."""
    picture = Picture(NARROW.width, NARROW.height)
    _profile(picture, found, NARROW)
    return picture.svg(_title(found))


def _title(found: Any) -> str:
    return f"Sharpest {found.height:.2f} ± {max(0.01, found.height_sigma):.2f} mm above the glass"


def _profile(picture: Picture, found: Any, room: Room) -> None:
    heights, sharpness = list(found.profile.height), list(found.profile.sharpness)
    low, high = min(heights), max(heights)
    most = max(1.0, *sharpness)
    scale_x = (room.width - room.left - room.right) / max(high - low, 1e-6)
    tall = room.height - room.top - room.bottom
    view = View(room.left, room.height - room.bottom, low, 0.0, scale_x, tall / (1.05 * most))
    _band(picture, view, found.band, (low, high), most)
    _axes(picture, view, (low, high), most, room)
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


def _band(
    picture: Picture, view: View, band: tuple[float, float], seen: tuple[float, float], most: float
) -> None:
    a, b = max(band[0], seen[0]), min(band[1], seen[1])
    if b <= a:
        return
    corners = [view.at(a, 0), view.at(b, 0), view.at(b, most), view.at(a, most)]
    picture.polygon([corners], None, HATCH_BAND)
    close = view.at(b, 0)[0] - view.at(a, 0)[0] < text_width(f"{measure(a)} {measure(b)}", 2.5)
    sides: tuple[Anchor, Anchor] = ("end", "start") if close else ("middle", "middle")
    for z, anchor in zip((a, b), sides, strict=True):
        picture.line(view.at(z, 0), view.at(z, most), FINE)
        x, y = view.at(z, most)
        picture.text((x, y - 1.5), measure(z), 2.5, anchor, halo=True)


def _axes(picture: Picture, view: View, seen: tuple[float, float], most: float, room: Room) -> None:
    low, high = seen
    picture.line(view.at(low, 0), view.at(high, 0), EDGE)
    picture.line(view.at(low, 0), view.at(low, most), FINE)
    step = _step(high - low, room.steps)
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
    across = max(3.5, room.left - 10.0)
    picture.text(
        (across, (room.top + room.height - room.bottom) / 2), "detail kept", 3, "middle", turned=True
    )
    for share in (0.5, 1.0):
        x, y = view.at(low, share)
        picture.line((x - 1.5, y), (x, y), DIMENSION)
        picture.text((x - 2.5, y + 0.9), f"{100 * share:.0f} %", 2.5, "end")


def _step(span: float, most: int) -> float:
    return next(step for step in (0.05, 0.1, 0.2, 0.5, 1.0, 2.0, 5.0, 10.0, 100.0) if span / step <= most)
