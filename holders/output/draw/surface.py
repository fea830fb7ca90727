"""The measured surface of a film as a picture: a map of heights, its sections, how sure they are."""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray

from holders.measure.surface.outcome import SurfaceResult
from holders.output.draw.canvas import AXIS, EDGE, FINE, GHOST, HIDDEN, Pen, Picture, View

WIDTH = 220.0
MARGIN, TOP = 10.0, 28.0
MAP_WIDE, MAP_HIGH = 118.0, 140.0
SECTION_HIGH = 34.0
NUMBERS = 6
TONES = 12
LIGHT, DARK = 0.97, 0.5
BAND = Pen(0.5)
LEAST_MAP = 30.0  # a smaller one holds no numbers

F64 = NDArray[np.float64]


def surface_sheet(found: SurfaceResult, *, embed: bool = True) -> bytes:
    """The surface as SVG: x across and y down as in the first scan, darker is lower."""
    left, top = MARGIN + 8, TOP
    wide, high = float(np.ptp(found.x_mm)), float(np.ptp(found.y_mm))
    scale = min(MAP_WIDE / wide, MAP_HIGH / high)
    bottom = top + high * scale
    picture = Picture(WIDTH, bottom + 2 * SECTION_HIGH + 38)
    picture.text((MARGIN, 11), "How the film lies, measured from two scans", 5, bold=True)
    picture.text((MARGIN, 19), "height above the glass in mm; darker is lower; blank is not known", 3)
    low, high_z = _span(found)
    _tones(picture, found, (left, top, scale), (low, high_z))
    _numbers(picture, found, (left, top, scale), found.z_mm, "{:.2f}")
    below = _words(picture, found, (left + wide * scale + 10, top))
    if found.predicted_mm is not None:
        _difference(picture, found, (left + wide * scale + 10, below + 8), bottom)
    for k, across in enumerate((True, False)):
        box = (left, bottom + 14 + k * (SECTION_HIGH + 10), WIDTH - left - MARGIN - 30, SECTION_HIGH)
        _section(picture, found, box, (low, high_z), across=across)
    return picture.svg("How the film lies, measured from two scans", embed=embed)


def _span(found: SurfaceResult) -> tuple[float, float]:
    known = found.z_mm[found.known]
    if not known.size:
        return found.ledge_mm - 0.1, found.ledge_mm + 0.1
    sigma = float(np.nanmax(found.sigma_mm))
    low, high = float(known.min()) - 2 * sigma, float(known.max()) + 2 * sigma
    if found.predicted_mm is not None:
        low, high = min(low, float(found.predicted_mm.min())), max(high, float(found.predicted_mm.max()))
    return min(low, found.ledge_mm - 0.05), max(high, found.ledge_mm + 0.05)


def _tones(
    picture: Picture, found: SurfaceResult, at: tuple[float, float, float], span: tuple[float, float]
) -> None:
    """Cells of one tone a run; the film's opening as a frame."""
    left, top, scale = at
    x, y = (v - v[0] for v in (found.x_mm, found.y_mm))
    step = (float(x[1]) * scale / 2, float(y[1]) * scale / 2)
    wide, high = float(x[-1]) * scale, float(y[-1]) * scale
    level = np.clip((found.z_mm - span[0]) / (span[1] - span[0]) * TONES, 0, TONES - 1)
    tone = np.where(found.known, np.nan_to_num(level), -1).astype(int)
    for k in range(TONES):
        rings = []
        for j, row in enumerate(tone):
            edges = np.flatnonzero(np.diff(np.concatenate([[0], (row == k).astype(int), [0]])))
            y0, y1 = max(0.0, y[j] * scale - step[1]), min(high, y[j] * scale + step[1])
            for a, b in zip(edges[::2], edges[1::2], strict=True):
                x0, x1 = max(0.0, x[a] * scale - step[0]), min(wide, x[b - 1] * scale + step[0])
                rings.append([(left + p, top + q) for p, q in ((x0, y0), (x1, y0), (x1, y1), (x0, y1))])
        if rings:
            grey = DARK + (LIGHT - DARK) * k / (TONES - 1)
            level_of = round(255 * grey)
            picture.polygon(rings, None, f"#{level_of:02x}{level_of:02x}{level_of:02x}")
    corners = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    picture.polygon([[(left + p, top + q) for p, q in corners]], EDGE)


def _difference(picture: Picture, found: SurfaceResult, at: tuple[float, float], bottom: float) -> None:
    """Measured less predicted heights, as numbers at their places, where there is room for them."""
    wide, high = float(np.ptp(found.x_mm)), float(np.ptp(found.y_mm))
    scale = min((WIDTH - MARGIN - at[0]) / wide, (bottom - at[1]) / high)
    if scale * wide < LEAST_MAP or found.predicted_mm is None:
        return
    picture.text((at[0], at[1] - 2.5), "measured less computed, mm", 2.8)
    corners = ((0.0, 0.0), (wide, 0.0), (wide, high), (0.0, high))
    picture.polygon([[(at[0] + p * scale, at[1] + q * scale) for p, q in corners]], EDGE)
    _numbers(picture, found, (*at, scale), found.z_mm - found.predicted_mm, "{:+.2f}")


def _numbers(
    picture: Picture, found: SurfaceResult, at: tuple[float, float, float], values: F64, form: str
) -> None:
    left, top, scale = at
    rows = np.linspace(0, len(found.y_mm) - 1, NUMBERS + 2).round().astype(int)[1:-1]
    cols = np.linspace(0, len(found.x_mm) - 1, NUMBERS + 2).round().astype(int)[1:-1]
    size = min(2.6, float(np.ptp(found.x_mm)) * scale / NUMBERS / 3.4)
    for j in rows:
        for i in cols:
            if not found.known[j, i]:
                continue
            place = (
                left + float(found.x_mm[i] - found.x_mm[0]) * scale,
                top + float(found.y_mm[j] - found.y_mm[0]) * scale + size / 3,
            )
            picture.text(place, form.format(values[j, i]), size, "middle", halo=True)


def _words(picture: Picture, found: SurfaceResult, at: tuple[float, float]) -> float:
    """What is known in lines; where they end."""
    sag = found.sag_mm
    lines = [f"ledge at {found.ledge_mm:.2f} mm" + ("" if found.ledge_known else " (assumed)")]
    if sag is not None:
        lines += [
            f"lowest {sag[0]:.2f} mm below it",
            f"average {abs(sag[1]):.2f} mm {'below' if sag[1] >= 0 else 'above'} it",
            f"highest {float(np.nanmax(found.z_mm)):.2f} mm",
            f"uncertainty {float(np.sqrt(np.nanmean(found.sigma_mm**2))):.2f} mm",
        ]
    if found.in_band_fraction is not None:
        lines.append(f"{100 * found.in_band_fraction:.0f} % of it is sharp")
    beside = found.beside_prediction_mm
    if beside is not None:
        lines.append(f"{beside[0]:+.2f} mm beside what was computed")
    lines += [f"moved {abs(found.shift_mm):.2f} mm across", f"lens at {found.lens_distance_mm:.0f} mm"]
    for k, words in enumerate(lines):
        picture.text((at[0], at[1] + 4 + 6 * k), words, 3)
    return at[1] + 4 + 6 * len(lines)


def _section(
    picture: Picture, found: SurfaceResult, box: tuple[float, float, float, float], span: tuple[float, float], *,
    across: bool,
) -> None:  # fmt: skip
    """Heights along the middle, with twice their uncertainty, over ledge and sharp band; heights are drawn larger."""
    left, top, wide, high = box
    place = found.x_mm if across else found.y_mm
    middle = (len(found.y_mm) if across else len(found.x_mm)) // 2
    z = found.z_mm[middle] if across else found.z_mm[:, middle]
    sigma = found.sigma_mm[middle] if across else found.sigma_mm[:, middle]
    view = View(
        left, top + high, float(place[0]), span[0], wide / float(np.ptp(place)), high / (span[1] - span[0])
    )
    picture.text(
        (left, top - 2.5), "middle, from left to right" if across else "middle, from top to bottom", 2.8
    )
    ends = (float(place[0]), float(place[-1]))
    picture.line(view.at(ends[0], found.ledge_mm), view.at(ends[1], found.ledge_mm), AXIS)
    picture.text((left + wide + 2, view.at(0, found.ledge_mm)[1] + 1), "ledge", 2.5)
    for height in found.band_mm or ():
        if span[0] < height < span[1]:
            picture.line(view.at(ends[0], height), view.at(ends[1], height), GHOST)
            picture.text((left + wide + 2, view.at(0, height)[1] + 1), "sharp to here", 2.5)
    known = np.isfinite(z)
    for part in np.split(np.arange(len(z)), np.flatnonzero(np.diff(known.astype(int))) + 1):
        if len(part) < 2 or not known[part[0]]:
            continue
        up = [view.at(float(place[i]), float(z[i] + 2 * sigma[i])) for i in part]
        down = [view.at(float(place[i]), float(z[i] - 2 * sigma[i])) for i in part[::-1]]
        picture.polygon([up + down], None, "#ddd")
        picture.strokes([[view.at(float(place[i]), float(z[i])) for i in part]], BAND)
    if found.predicted_mm is not None:
        other = found.predicted_mm[middle] if across else found.predicted_mm[:, middle]
        inside = [np.clip(h, *span) for h in other]
        picture.strokes([[view.at(float(p), float(h)) for p, h in zip(place, inside, strict=True)]], HIDDEN)
        picture.text((left + wide, top - 2.5), "dashed: as computed", 2.8, "end")
    for height in (span[0], span[1]):
        picture.text((left - 2, view.at(ends[0], height)[1] + 1), f"{height:.2f}", 2.3, "end")
    picture.line((left, top), (left, top + high), FINE)
