"""A paper gauge of curl at 1:1: a fan of arcs that share their middle, labelled by curl per metre, and a proof bar
along and across the page. Film is stood on its edge on the fan and compared.
"""

from __future__ import annotations

import io
import math
from typing import Any

from holders.facts.models import Paper
from holders.output.formats import letters
from holders.output.formats.pdf import FINE_PEN, FONT, MM, proof_bar, wrapped, write

CURLS = (1, 2, 3, 4, 5, 6, 7, 8, 10, 12, 15, 20, 25, 30, 40)
STEEPEST = math.radians(85.0)
HIGHEST_MM = 118.0
ARC_PEN = 0.18
STEPS = (
    "1. Print at 100 %, never fitted to the page. Both bars must measure 100 mm; if not, change the print settings.",
    "2. Put the page on a table. Stand the film on its edge on the fan, its middle on the cross, hollow side toward "
    "these words. Tap the table so that the film comes to rest.",
    "3. The arc that both ends of the film's edge come to is its curl, in 1 per metre. Between two arcs, estimate.",
    "4. Long film is read more surely: with ends read to 1 mm, film 170 mm long is known to about 0.3 per m, 90 mm "
    "long to 1 per m, 35 mm long to 6 per m. A scan (holders curl SCAN) is much surer for short film.",
)


def gauge_pdf(paper: Paper) -> bytes:
    """The gauge on one upright page; the same paper gives the same bytes."""
    out = io.BytesIO()
    canvas = letters.canvas_for(out)
    canvas.setTitle("Curl gauge")
    canvas.setViewerPreference("PrintScaling", "None")
    width, height, margin = paper.width_mm, paper.height_mm, paper.printer_margin_mm + 5
    canvas.setPageSize((width * MM, height * MM))
    y = _words(canvas, width, height, margin)
    _fan(canvas, width / 2, margin + 16.0, width / 2 - margin - 6, min(HIGHEST_MM, y - margin - 30.0))
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def end_angle(curl_per_m: float, half_width_mm: float, height_mm: float) -> float:
    """Up to which angle from its middle an arc is drawn, rad: within the width, the height, and not past steep."""
    radius = 1000 / curl_per_m
    by_width = math.asin(min(1.0, half_width_mm / radius))
    by_height = math.acos(max(-1.0, 1 - height_mm / radius))
    return min(by_width, by_height, STEEPEST)


def _words(canvas: Any, width: float, height: float, margin: float) -> float:
    y = height - margin - 6
    write(canvas, margin, y, "Curl gauge, 1:1", 6.0, bold=True)
    y -= 9
    proof_bar(canvas, margin + 1, y)
    write(canvas, margin, y - 4.5, "100 mm, both bars", 2.8)
    proof_bar(canvas, width - margin - 4, y - 95, upright=True)
    y -= 12
    room = width - 2 * margin - 16
    for words in STEPS:
        for line in wrapped(words, room, 3.2, FONT):
            write(canvas, margin, y, line, 3.2)
            y -= 4.6
        y -= 1.4
    return y


def _fan(canvas: Any, x0: float, y0: float, half: float, height: float) -> None:
    """Arcs with their middles at (x0, y0), hollow side up, labelled at both ends; the straight line is curl 0."""
    canvas.setLineWidth(ARC_PEN * MM)
    canvas.line((x0 - half) * MM, y0 * MM, (x0 + half) * MM, y0 * MM)
    for curl in CURLS:
        radius, angle = 1000 / curl, end_angle(curl, half, height)
        _arc(canvas, x0, y0 + radius, radius, angle)
        for side in (-1, 1):
            x = x0 + side * radius * math.sin(angle)
            y = y0 + radius * (1 - math.cos(angle))
            at_side = angle < math.radians(70)
            x, y = (x + side * 3.0, y - 0.9) if at_side else (x, y + 1.6)
            write(canvas, x, y, f"{curl:g}", 2.5, middle=True)
    write(canvas, x0 - half - 3.0, y0 - 1.0, "0", 2.5, middle=True)
    canvas.setLineWidth(FINE_PEN * MM)
    canvas.line(x0 * MM, (y0 - 4) * MM, x0 * MM, (y0 + 4) * MM)
    write(canvas, x0, y0 - 8.0, "middle of the film here; curl in 1 per m", 3.0, middle=True)


def _arc(canvas: Any, cx: float, cy: float, radius: float, angle: float) -> None:
    """An arc about straight down, ``angle`` to either side, in cubics of at most an eighth turn."""
    pieces = 2 * max(1, math.ceil(angle / (math.pi / 4) - 1e-9))  # even: one of its points is the middle
    step = 2 * angle / pieces
    k = 4 / 3 * math.tan(step / 4) * radius
    path = canvas.beginPath()
    for n in range(pieces):
        t0, t1 = -math.pi / 2 - angle + n * step, -math.pi / 2 - angle + (n + 1) * step
        x0, y0 = cx + radius * math.cos(t0), cy + radius * math.sin(t0)
        x1, y1 = cx + radius * math.cos(t1), cy + radius * math.sin(t1)
        if n == 0:
            path.moveTo(x0 * MM, y0 * MM)
        path.curveTo(
            (x0 - k * math.sin(t0)) * MM, (y0 + k * math.cos(t0)) * MM,
            (x1 + k * math.sin(t1)) * MM, (y1 - k * math.cos(t1)) * MM, x1 * MM, y1 * MM,
        )  # fmt: skip
    canvas.drawPath(path)
