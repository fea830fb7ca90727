"""What a part looks like cut through at a height: plane areas from its slabs, cuts and grooves.

These are polygons: arcs become chords within ``chord_error_mm``, which is what erosion and dilation need. The
lettering's area is decided here once, so that sections, volume and solid agree on it.
"""

from __future__ import annotations

from collections.abc import Sequence
from functools import lru_cache, partial

import numpy as np
import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.model import Cut, Groove, Part
from holders.geometry.offset import grown
from holders.geometry.outline import Outline, Region, points

CHORD_MM = 0.005
DIGITS = 9  # of a stroke's place in its text, mm
MARGIN_SEGMENTS = 4  # of a quarter circle around lettering
LETTER_THIN_MM = 0.03  # strokes lose points nearer than this to a straight line: far below a nozzle's width


@lru_cache(maxsize=1024)
def polygon(outline: Outline, chord_error_mm: float = CHORD_MM) -> shapely.Polygon:
    """An outline as a polygon; its chords stay within ``chord_error_mm`` of the arcs."""
    # an array is read far quicker than a list
    return shapely.Polygon(np.array(points(outline, chord_error_mm)))


# the same slabs are asked for by drawings, checks and exports; a channel of thin layers has a thousand
@lru_cache(maxsize=2048)
def area_of(region: Region, chord_error_mm: float = CHORD_MM) -> BaseGeometry:
    """A region as polygons: outer less holes."""
    shape: BaseGeometry = polygon(region.outer, chord_error_mm)
    if region.holes:
        shape = shape.difference(shapely.union_all([polygon(hole, chord_error_mm) for hole in region.holes]))
    return shape


@lru_cache(maxsize=64)
def groove_area(groove: Groove, margin_mm: float = 0.0) -> BaseGeometry:
    """What a groove takes away in plan: its strokes widened, with blunt round ends of few corners.

    With ``margin_mm``, what lies nearer to it than that as well.
    """
    if not any(groove.strokes) or groove.width_mm <= 0:
        return shapely.Polygon()
    drawn = [stroke for stroke in groove.strokes if stroke]
    at = np.array(drawn[0][0])
    places = np.round(np.array([point for stroke in drawn for point in stroke]) - at, DIGITS) + 0.0
    written = _written(places.tobytes(), tuple(map(len, drawn)), groove.width_mm, margin_mm)
    return shapely.transform(written, partial(np.add, at))


@lru_cache(maxsize=128)  # the same words stand elsewhere on the next holder, and are moved about on this one
def _written(places: bytes, lengths: tuple[int, ...], width_mm: float, margin_mm: float) -> BaseGeometry:
    """Strokes of so many points each, known by their bytes as arrays have no hash."""
    if margin_mm:
        return _written(places, lengths, width_mm, 0.0).buffer(margin_mm, quad_segs=MARGIN_SEGMENTS)
    xy, of = np.frombuffer(places).reshape(-1, 2), np.repeat(np.arange(len(lengths)), lengths)
    lines = shapely.simplify(shapely.linestrings(xy, indices=of), LETTER_THIN_MM)
    wide = shapely.buffer(lines, width_mm / 2, quad_segs=1)
    return shapely.simplify(shapely.union_all(wide), LETTER_THIN_MM)


def outline_at(cut: Cut, z: float) -> Outline:
    """A cut's outline at height ``z`` between its bottom and top: flares shrink evenly toward the top.

    Raises ``ValueError`` when the flare is larger than the outline allows.
    """
    if not cut.flare_mm:
        return cut.outline
    return grown(cut.outline, cut.flare_mm * (cut.z1 - z) / (cut.z1 - cut.z0))


def section(part: Part, z: float, chord_error_mm: float = CHORD_MM) -> BaseGeometry:
    """The part's material at height ``z`` above the glass, as polygons in bed coordinates (mm).

    At a height where a slab or cut begins, what lies above it counts. Empty above and below the part.
    """
    slabs = [area_of(slab.region, chord_error_mm) for slab in part.slabs if slab.z0 <= z < slab.z1]
    away = [polygon(outline_at(cut, z), chord_error_mm) for cut in part.cuts if cut.z0 <= z < cut.z1]
    away += [groove_area(g) for g in part.grooves if g.z_top - g.depth_mm <= z < g.z_top]
    shape = united(slabs)
    return shape.difference(united(away)) if away else shape


def united(shapes: Sequence[BaseGeometry]) -> BaseGeometry:
    """The union of polygons; a single one as it is, which is most of them."""
    return shapes[0] if len(shapes) == 1 else shapely.union_all(shapes)


def breaks(part: Part) -> tuple[float, ...]:
    """The heights at which the section may jump, from the lowest up."""
    found = {z for slab in part.slabs for z in (slab.z0, slab.z1)}
    found |= {z for cut in part.cuts for z in (cut.z0, cut.z1) if part.z0 <= z <= part.z1}
    found |= {g.z_top - g.depth_mm for g in part.grooves if g.depth_mm > 0}
    ordered = sorted(found)
    kept = ordered[:1]
    for z in ordered[1:]:
        if z - kept[-1] > 1e-6:
            kept.append(z)
    return tuple(kept)
