"""The dimensioned drawing as SVG in mm."""

from __future__ import annotations

from holders.design.model import Design
from holders.output.draw.sheet import drawing


def drawing_svg(design: Design) -> bytes:
    """Plan, section and parts of a design on one A3 sheet; the same design gives the same bytes."""
    return drawing(design)
