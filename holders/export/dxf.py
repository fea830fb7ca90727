"""DXF R2010 in mm for a laser or a drag knife: closed polylines with true arcs, one file a piece of sheet.

Layers are ENGRAVE, CUT_INNER and CUT_OUTER; entities stand in the file in that order, which is the order to work in.
The outlines come set off for the kerf from ``holders.design.cutting``; nothing is computed here but the shift that
puts the outer path's corner at the origin.
"""

from __future__ import annotations

import io
from collections.abc import Iterator
from contextlib import contextmanager

import ezdxf
from ezdxf._options import options
from ezdxf.document import Drawing

from holders.design.cutting import CutPart
from holders.design.outline import Outline

VERSION = "R2010"
MILLIMETRES = 4  # $INSUNITS
METRIC = 1  # $MEASUREMENT
INNER, OUTER, ENGRAVE = "CUT_INNER", "CUT_OUTER", "ENGRAVE"
# colour index: grey, blue, red; only so that layers differ on a screen
COLOURS = {ENGRAVE: 8, INNER: 5, OUTER: 1}


def dxf_bytes(piece: CutPart) -> bytes:
    """The piece's paths as a DXF file; the same piece gives the same bytes."""
    with _fixed_stamps():
        document = ezdxf.new(VERSION, setup=False)  # type: ignore[attr-defined]
        document.header["$INSUNITS"] = MILLIMETRES
        document.header["$MEASUREMENT"] = METRIC
        for name, colour in COLOURS.items():
            document.layers.add(name, color=colour)
        _draw(document, piece)
        out = io.StringIO()
        document.write(out)
    return out.getvalue().encode(document.output_encoding, errors="dxfreplace")


def _draw(document: Drawing, piece: CutPart) -> None:
    x0, y0, x1, y1 = piece.box
    space = document.modelspace()
    for lettering in piece.lettering:
        for stroke in lettering.strokes:
            space.add_lwpolyline(
                [(x - x0, y - y0) for x, y in stroke], format="xy", dxfattribs={"layer": ENGRAVE}
            )
    for layer, outlines in ((INNER, piece.inner), (OUTER, (piece.outer,))):
        for outline in outlines:
            space.add_lwpolyline(
                _vertices(outline, x0, y0), format="xyb", close=True, dxfattribs={"layer": layer}
            )
    # both places: the library copies one to the other, but not when a corner is all zero
    low, high = (0.0, 0.0, 0.0), (x1 - x0, y1 - y0, 0.0)
    space.reset_extents(low, high)
    document.header["$EXTMIN"], document.header["$EXTMAX"] = low, high


def _vertices(outline: Outline, x0: float, y0: float) -> list[tuple[float, float, float]]:
    return [(v.x - x0, v.y - y0, v.bulge) for v in outline.vertices]


@contextmanager
def _fixed_stamps() -> Iterator[None]:
    """Fixed times and identifiers in place of the library's fresh ones, and the library's setting put back after."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
