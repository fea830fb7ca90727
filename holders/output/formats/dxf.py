"""DXF R2010 in mm for a laser or a drag knife: closed polylines with true arcs.

One file a piece: layers are ENGRAVE, CUT_INNER and CUT_OUTER; entities stand in the file in that order, which is the
order to work in. One file a stock sheet with every piece in its place: pieces in the drop-outs of others are on
layers DROPOUT_INNER and DROPOUT_OUTER, which are cut before CUT_INNER lets the drop-out fall; entities stand in
the order of cutting. The outlines come set off for the kerf; nothing is computed here but the shift that puts a
piece's corner at the origin.
"""

from __future__ import annotations

import io
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import dataclass
from typing import Any

import ezdxf
from ezdxf._options import options

from holders.design.pieces.cutting import CutPart
from holders.geometry.outline import Outline, Point, bounds, moved

VERSION = "R2010"
MILLIMETRES = 4  # $INSUNITS
METRIC = 1  # $MEASUREMENT
INNER, OUTER, ENGRAVE = "CUT_INNER", "CUT_OUTER", "ENGRAVE"
# colour index: grey, blue, red; only so that layers differ on a screen
COLOURS = {ENGRAVE: 8, INNER: 5, OUTER: 1}
INSIDE_COLOURS = 4, 6  # cyan, magenta: pieces in the drop-outs of others, which are cut before them


@dataclass(frozen=True, slots=True)
class Path:
    """One thing to follow: a closed outline, or the strokes of a text; and its layer."""

    layer: str
    outline: Outline | None = None
    strokes: tuple[tuple[Point, ...], ...] = ()


def dxf_bytes(piece: CutPart) -> bytes:
    """The piece's paths as a DXF file; the same piece gives the same bytes."""
    x0, y0, x1, y1 = piece.box
    paths = [
        Path(ENGRAVE, strokes=tuple(_shifted(stroke, x0, y0) for stroke in lettering.strokes))
        for lettering in piece.lettering
    ]
    paths += [Path(INNER, moved(hole, -x0, -y0)) for hole in piece.inner]
    paths.append(Path(OUTER, moved(piece.outer, -x0, -y0)))
    return drawing_bytes(paths, x1 - x0, y1 - y0)


def drawing_bytes(paths: Sequence[Path], width_mm: float, height_mm: float) -> bytes:
    """Paths in the order given as a DXF file of that size (the drawing's limits), corner at the origin."""
    with _fixed_stamps():
        document = ezdxf.new(VERSION, setup=False)  # type: ignore[attr-defined]
        document.header["$INSUNITS"] = MILLIMETRES
        document.header["$MEASUREMENT"] = METRIC
        for name in _layers(paths):
            document.layers.add(name, color=COLOURS.get(name) or INSIDE_COLOURS["OUTER" in name])
        space = document.modelspace()
        for path in paths:
            _draw(space, path)
        space.reset_limits((0.0, 0.0), (width_mm, height_mm))
        document.header["$LIMMIN"], document.header["$LIMMAX"] = (0.0, 0.0), (width_mm, height_mm)
        # both places: the library copies one to the other, but not when a corner is all zero
        low, high = _extents(paths)
        space.reset_extents(low, high)
        document.header["$EXTMIN"], document.header["$EXTMAX"] = low, high
        _order_classes(document)
        out = io.StringIO()
        document.write(out)
    return out.getvalue().encode(document.output_encoding, errors="dxfreplace")


def inside_layer(kind: str, depth: int) -> str:
    """The layer of a cut (``INNER`` or ``OUTER``) of a piece that lies in ``depth`` drop-outs of others."""
    return kind if depth == 0 else f"{kind.replace('CUT', 'DROPOUT')}{'' if depth == 1 else f'_{depth}'}"


def _layers(paths: Sequence[Path]) -> list[str]:
    """The layers in the order to work through them: lettering, what lies in drop-outs (the deepest first), the rest."""
    more = {path.layer for path in paths} - set(COLOURS)
    return [ENGRAVE, *sorted(more, key=lambda name: (-_depth(name), name)), INNER, OUTER]


def _depth(layer: str) -> int:
    number = layer.rpartition("_")[2]
    return int(number) if number.isdigit() else 1


def _extents(paths: Sequence[Path]) -> tuple[tuple[float, float, float], tuple[float, float, float]]:
    boxes = [bounds(path.outline) for path in paths if path.outline is not None]
    low_x, low_y, high_x, high_y = zip(*boxes, strict=True)
    return (min(low_x), min(low_y), 0.0), (max(high_x), max(high_y), 0.0)


def _draw(space: Any, path: Path) -> None:
    for stroke in path.strokes:
        space.add_lwpolyline(stroke, format="xy", dxfattribs={"layer": path.layer})
    if path.outline is not None:
        space.add_lwpolyline(
            [(v.x, v.y, v.bulge) for v in path.outline.vertices],
            format="xyb",
            close=True,
            dxfattribs={"layer": path.layer},
        )


def _shifted(stroke: Sequence[Point], x0: float, y0: float) -> tuple[Point, ...]:
    return tuple((x - x0, y - y0) for x, y in stroke)


def _order_classes(document: Any) -> None:
    """Put the section of classes in a fixed order: the library fills it from a set, whose order differs by run."""
    document.classes.add_required_classes(document.dxfversion)
    document.classes.classes = dict(sorted(document.classes.classes.items()))


@contextmanager
def _fixed_stamps() -> Iterator[None]:
    """Fixed times and identifiers in place of the library's fresh ones, and the library's setting put back after."""
    before = options.write_fixed_meta_data_for_testing
    options.write_fixed_meta_data_for_testing = True
    try:
        yield
    finally:
        options.write_fixed_meta_data_for_testing = before
