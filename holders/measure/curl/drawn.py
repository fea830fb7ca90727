"""The scan shown back: what was found in it, drawn over it, for the eye to judge."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np

from holders.measure.curl.result import Hollow, ScanCurl
from holders.measure.curl.scan import Progress, Reading, measure_scan

LONGEST_PX = 1400
LINE, ARC, CHORD, OTHER = (90, 150, 255), (255, 176, 32), (140, 140, 140), (255, 90, 90)


def picture_png(reading: Reading) -> bytes:
    """The scan as a PNG: the film's foot in blue, the fitted arc in amber, its chord grey, what is not counted red."""
    from PIL import Image, ImageDraw  # noqa: PLC0415 - only where a picture is wanted

    grid, result = reading.grid, reading.result
    light = np.clip(grid.light / max(float(np.quantile(grid.light, 0.999)), 1e-3), 0, 1) ** 0.7
    grey = Image.fromarray((255 * light).astype(np.uint8))
    wide, high = grid.light.shape[1] * grid.pitch_x, grid.light.shape[0] * grid.pitch_y  # mm
    scale = LONGEST_PX / max(wide, high)
    size = (max(1, round(wide * scale)), max(1, round(high * scale)))
    image = grey.resize(size, Image.Resampling.BILINEAR).convert("RGB")
    draw = ImageDraw.Draw(image)

    def at(points: tuple[tuple[float, float], ...]) -> list[tuple[float, float]]:
        return [((x - grid.left_mm) * scale, (y - grid.top_mm) * scale) for x, y in points]

    line = np.array(result.line)
    s = np.concatenate([[0.0], np.cumsum(np.hypot(*np.diff(line, axis=0).T))])
    draw.line(at(result.line), fill=LINE, width=1)
    for part in result.parts:
        if part.kind == "bent" or (part.kind == "straight" and result.chord_mm < 0.9 * result.length_mm):
            inside = [
                p for p, where in zip(result.line, s, strict=True) if part.start_mm <= where <= part.end_mm
            ]
            if len(inside) > 1:
                draw.line(at(tuple(inside)), fill=OTHER, width=2)
    draw.line(at((result.arc[0], result.arc[-1])), fill=CHORD, width=1)
    draw.line(at(result.arc), fill=ARC, width=2)
    out = io.BytesIO()
    image.save(out, "PNG")
    return out.getvalue()


def measured_and_drawn(
    path: str | Path,
    *,
    dpi: float | None = None,
    hollow: Hollow | None = None,
    base: str = "",
    progress: Progress | None = None,
) -> tuple[ScanCurl, bytes]:
    """Curl from one scan of stood film, and the scan shown back as a PNG with the fitted arc on it.

    Parameters and errors as of ``holders.measure.curl.scan.measure_scan``.
    """
    reading = measure_scan(path, dpi=dpi, hollow=hollow, base=base, progress=progress)
    return reading.result, picture_png(reading)
