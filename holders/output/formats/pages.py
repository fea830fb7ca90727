"""Drawings as one PDF, a page each at its own size: the same lines and letters as in the SVG files."""

from __future__ import annotations

import io
from collections.abc import Sequence

from holders.output.formats import letters
from holders.output.sheet.replay import MM, replay, sized


def pages_pdf(title: str, drawings: Sequence[bytes]) -> bytes:
    """The drawings (SVG, mm) as pages; the same drawings give the same bytes."""
    out = io.BytesIO()
    canvas = letters.canvas_for(out)
    canvas.setTitle(title)
    canvas.setViewerPreference("PrintScaling", "None")
    for svg in drawings:
        width, height = sized(svg)
        canvas.setPageSize((width * MM, height * MM))
        replay(canvas, svg, 0.0, height * MM, 1.0)
        canvas.showPage()
    canvas.save()
    return out.getvalue()
