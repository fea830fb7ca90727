"""The frame of a holder as beams: where its members run and how stiff each stretch of them is."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from holders.core.errors import InputError
from holders.design.model import Design, Part, Rect
from holders.design.parts.grillage import Beam
from holders.design.parts.sections import area_of
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.models import Material, Printer
from holders.facts.printing import usual_settings

STATIONS = 5
SPLIT = 4  # elements a stretch
LEAST_WIDTH_MM = 0.5
NEAR_MM = 1e-3  # places nearer to one another count as one: no beam is shorter


@dataclass(frozen=True, slots=True)
class Layer:
    """A rectangle of a beam's section: width and the heights between which it stands, mm."""

    width: float
    z0: float
    z1: float


@dataclass(frozen=True, slots=True)
class Fill:
    """How a printer fills a part: solid walls and skins so thick (mm), and within them this share of plastic.

    The share counts in full for weight and for stiffness alike, the most that a filling can do (rule of mixtures, from
    memory); it lies near the middle of the section, where it counts for little.
    """

    wall_mm: float
    skin_mm: float
    share: float


@dataclass(frozen=True, slots=True)
class Section:
    """A beam's section, its layers joined: area (mm²), second moment about its own axis and torsion constant (mm⁴).

    Where the inside is filled to a share only, they are those of the solid section that weighs and bends as much.
    """

    area: float
    bending: float
    torsion: float


@dataclass(frozen=True, slots=True)
class SectionMaterial:
    """What the beams are made of: modulus (MPa), Poisson's ratio, density (kg/m³); how it is filled (None: solid).

    ``across_mpa`` is the modulus across the grain of the faces; None where there is no grain.
    """

    modulus_mpa: float
    poisson: float
    density_kg_m3: float
    fill: Fill | None = None
    across_mpa: float | None = None

    @property
    def softest_mpa(self) -> float:
        """The modulus whichever way the grain runs."""
        return self.modulus_mpa if self.across_mpa is None else min(self.modulus_mpa, self.across_mpa)


@dataclass(frozen=True, slots=True)
class Member:
    """A member between two crossings: its ends and the layers of its mean section."""

    start: tuple[float, float]
    end: tuple[float, float]
    layers: tuple[Layer, ...]


def section_of(layers: Sequence[Layer], fill: Fill | None = None) -> Section:
    """Section values of layers glued or fused into one.

    Bending by the parallel axis theorem; torsion of the column where all layers lie on one another, w h³/3 less what
    its ends lose, 0.21 h⁴ (1 - h⁴/12 w⁴) (Roark's Formulas for Stress and Strain, torsion of a rectangle, from
    memory), and h³/3 over the width of what stands out beside it. A filling weakens torsion as it does bending.
    """
    solid = [layer for layer in layers if layer.width > 0 and layer.z1 > layer.z0]
    if not solid:
        return Section(0.0, 0.0, 0.0)
    area, bending = _bending([(layer, 1.0) for layer in solid])
    torsion = _torsion(solid)
    if fill is None:
        return Section(area, bending, torsion)
    hollow = [(layer, fill.share - 1.0) for layer in core_of(solid, fill)]
    light, soft = _bending([*((layer, 1.0) for layer in solid), *hollow])
    return Section(light, soft, torsion * soft / bending)


def _bending(weighed: Sequence[tuple[Layer, float]]) -> tuple[float, float]:
    """Area and second moment about their common axis, each layer counted so many times."""
    parts = [(p.width * (p.z1 - p.z0) * share, (p.z0 + p.z1) / 2, p.z1 - p.z0) for p, share in weighed]
    area = sum(a for a, _, _ in parts)
    axis = sum(a * middle for a, middle, _ in parts) / area
    return area, sum(a * (high**2 / 12 + (middle - axis) ** 2) for a, middle, high in parts)


def core_of(layers: Sequence[Layer], fill: Fill) -> list[Layer]:
    """What lies deeper than walls and skins: as wide as the narrowest section within a skin above and below."""
    heights = {
        z for p in layers for face in (p.z0, p.z1) for z in (face - fill.skin_mm, face, face + fill.skin_mm)
    }
    found = []
    known: dict[float, float] = {}  # many heights lie near many others
    for low, high in pairwise(sorted(heights)):
        middle = (low + high) / 2
        near = {middle, middle - fill.skin_mm, middle + fill.skin_mm}
        near |= {z for z in heights if abs(z - middle) < fill.skin_mm}
        known |= {z: _width_at(layers, z) for z in near if z not in known}
        width = min(known[z] for z in near) - 2 * fill.wall_mm
        if width > 0 and high - low > 1e-9:
            found.append(Layer(width, low, high))
    return found


def _width_at(layers: Sequence[Layer], z: float) -> float:
    """Least width of the section just above and below ``z``."""
    return min(sum(p.width for p in layers if p.z0 < at < p.z1) for at in (z - 1e-7, z + 1e-7))


def _torsion(layers: Sequence[Layer]) -> float:
    """The column of all layers as a rectangle, and what stands out beside it at its own height."""
    total, done = 0.0, 0.0
    for width in sorted({layer.width for layer in layers}):
        height = sum(p.z1 - p.z0 for p in layers if p.width >= width)
        total += _rectangle(height, width) if done == 0 else height**3 / 3 * (width - done)
        done = width
    return total


def _rectangle(height: float, width: float) -> float:
    low, long = sorted((height, width))
    return low**3 / 3 * long - 0.21 * low**4 * (1 - low**4 / (12 * long**4))


def beams_of(
    stretches: Sequence[Member], stuff: SectionMaterial
) -> tuple[tuple[tuple[float, float], ...], tuple[Beam, ...]]:
    """Nodes and elements of the grid, each stretch in several elements.

    Which way a sheet's grain will run is decided at the cutter: it is taken across the frame's long members, which hang
    farthest, and in shear.
    """
    softest = stuff.softest_mpa
    shear = softest / (2 * (1 + stuff.poisson))
    upright = _upright(stretches)
    nodes: dict[tuple[float, float], int] = {}
    beams = []
    for stretch in stretches:
        s = section_of(stretch.layers, stuff.fill)
        (ax, ay), (bx, by) = stretch.start, stretch.end
        path = [(ax + (bx - ax) * k / SPLIT, ay + (by - ay) * k / SPLIT) for k in range(SPLIT + 1)]
        ends = [nodes.setdefault((round(x, 6), round(y, 6)), len(nodes)) for x, y in path]
        weight = stuff.density_kg_m3 * GRAVITY_M_S2 * 1e-9 * s.area
        modulus = softest if (abs(by - ay) > abs(bx - ax)) == upright else stuff.modulus_mpa
        beams += [Beam(a, b, modulus * s.bending, shear * s.torsion, weight) for a, b in pairwise(ends)]
    return tuple(nodes), tuple(beams)


def _upright(stretches: Sequence[Member]) -> bool:
    """Whether a grid is longer than wide."""
    xs = [x for one in stretches for x, _ in (one.start, one.end)]
    ys = [y for one in stretches for _, y in (one.start, one.end)]
    return max(ys, default=0.0) - min(ys, default=0.0) >= max(xs, default=0.0) - min(xs, default=0.0)


def stretches_of(
    parts: Sequence[Part], openings: Sequence[Rect], extra_lines: tuple[Sequence[float], Sequence[float]]
) -> tuple[Member, ...]:
    """The members between openings of a frame, measured on its own slabs.

    Openings are projected on both axes; what is left between projections are members, from one outer edge to the
    other. ``extra_lines`` adds crossings at given x and y (the ends of a grip). Stretches where the frame is open
    (a notch for the calibration zone) are left out.

    Raises ``InputError`` when the frame has no opening, as then it is a plate and not a frame, or no rail that
    runs past all openings.
    """
    if not openings:
        raise InputError("design", "(no window)", "a frame has a window; a plain plate is no frame")
    shapes = [(s.z0, s.z1, area_of(s.region, 0.05)) for part in parts for s in part.slabs]
    x0, y0, x1, y1 = shapely.union_all([s for _, _, s in shapes]).bounds
    columns = _bands([(r.x, r.right) for r in openings], x0, x1)
    rows = _bands([(r.y, r.top) for r in openings], y0, y1)
    if not columns or not rows:
        raise InputError("design", "(no rail)", "the openings reach past the frame on both sides")
    xs, ys = [(a + b) / 2 for a, b in columns], [(a + b) / 2 for a, b in rows]
    along_x, along_y = _with_lines(xs, extra_lines[0]), _with_lines(ys, extra_lines[1])
    found = []
    for band, y in zip(rows, ys, strict=True):
        for a, b in pairwise(along_x):
            found.append(Member((a, y), (b, y), _layers(shapes, (a, b), band, across_y=True)))
    for band, x in zip(columns, xs, strict=True):
        for a, b in pairwise(along_y):
            found.append(Member((x, a), (x, b), _layers(shapes, (a, b), band, across_y=False)))
    return tuple(s for s in found if max((p.width for p in s.layers), default=0.0) >= LEAST_WIDTH_MM)


def _with_lines(middles: Sequence[float], more: Sequence[float]) -> list[float]:
    """The middles of the bands and what lies between the outer ones, but nothing beside what is there already."""
    found = list(middles)
    for at in more:
        if middles[0] < at < middles[-1] and min(abs(at - known) for known in found) > NEAR_MM:
            found.append(at)
    return sorted(found)


def _bands(spans: Sequence[tuple[float, float]], low: float, high: float) -> list[tuple[float, float]]:
    """What the spans leave between ``low`` and ``high``."""
    found, at = [], low
    for a, b in sorted(spans):
        if a > at + LEAST_WIDTH_MM:
            found.append((at, a))
        at = max(at, b)
    if high > at + LEAST_WIDTH_MM:
        found.append((at, high))
    return found


def _layers(
    shapes: Sequence[tuple[float, float, BaseGeometry]],
    along: tuple[float, float],
    band: tuple[float, float],
    across_y: bool,
) -> tuple[Layer, ...]:
    """Mean widths over a few stations of a stretch."""
    at = [along[0] + (along[1] - along[0]) * (k + 0.5) / STATIONS for k in range(STATIONS)]
    lines = shapely.MultiLineString(
        [[(s, band[0]), (s, band[1])] if across_y else [(band[0], s), (band[1], s)] for s in at]
    )
    # all stations in one call: the shape is looked through once
    wide = shapely.length(shapely.intersection([shape for _, _, shape in shapes], lines)) / STATIONS
    return tuple(Layer(float(w), z0, z1) for w, (z0, z1, _) in zip(wide, shapes, strict=True) if w > 0)


def openings_of(design: Design) -> tuple[Rect, ...]:
    """Windows of a holder and the hole for its calibration zone."""
    more = () if design.calibration is None else (design.calibration,)
    return (*(w.opening for w in design.windows), *more)


def material_of(material: Material, printer: Printer | None, modulus_share: float = 1.0) -> SectionMaterial:
    """The holder's material, printed with the usual filling; its modulus may be taken as a share of its own."""
    m = material
    across = None if m.modulus_across_mpa is None else m.modulus_across_mpa * modulus_share
    return SectionMaterial(
        m.modulus_mpa * modulus_share, m.poisson, m.density_kg_m3, fill_of(printer), across
    )


def fill_of(printer: Printer | None) -> Fill | None:
    """How the holder's inside is filled, as its grams are computed; None where it is cut from sheets."""
    if printer is None:
        return None
    usual = usual_settings(printer)
    return Fill(usual.wall_mm, usual.skin_mm, usual.infill)
