"""How much of a printed part is filled to a share only, and what a part weighs.

Walls of so many lines and skins of so much height are solid, what lies deeper is filled to a share. A place is deeper
when it is farther from every wall than the lines and from every top or underside than the skin, both measured on the
part's own sections.
"""

from __future__ import annotations

from bisect import bisect_right
from dataclasses import replace
from itertools import pairwise

import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.model import Part
from holders.design.parts.sections import breaks, section
from holders.design.parts.volume import part_volume
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.models import Material, Printer
from holders.facts.printing import PrintSettings, usual_settings

CHORD_MM = 0.05


def part_weight_n(material: Material, printer: Printer | None, part: Part) -> float:
    """Weight of one piece of a part without its lettering, N: printed with the usual fill, or solid sheet."""
    plain = replace(part, grooves=())
    volume = part_volume(plain)
    if printer is not None:
        settings = usual_settings(printer)
        volume -= min(volume, inside_volume(plain, settings)) * (1 - settings.infill)
    return volume * 1e-9 * material.density_kg_m3 * GRAVITY_M_S2


def inside_volume(part: Part, settings: PrintSettings) -> float:
    """Volume (mm³) deeper than the walls and the skins; integrated over the heights at which anything changes.

    Between those heights a section changes evenly (a chamfer), so the middle of each stretch stands for it.
    """
    sections = _Sections(part)
    at = sections.at
    skin = settings.skin_mm
    heights = sorted({z for b in at for z in (b, b - skin, b + skin) if at[0] <= z <= at[-1]})
    total = 0.0
    for low, high in pairwise(heights):
        z = (low + high) / 2
        if high - low < 1e-9 or z - skin < at[0] or z + skin > at[-1]:
            continue
        deep = shapely.buffer(sections.throughout(z - skin, z, z + skin), -settings.wall_mm, quad_segs=4)
        total += (high - low) * deep.area
    return total


def walls_volume(part: Part, settings: PrintSettings) -> float:
    """Volume (mm³) of the lines along the outlines of every layer."""
    total, at = 0.0, breaks(part)
    for low, high in pairwise(at):
        area = section(part, (low + high) / 2, CHORD_MM)
        total += (high - low) * (area.area - shapely.buffer(area, -settings.wall_mm, quad_segs=4).area)
    return total


class _Sections:
    """A part's sections, one for each stretch between its breaks, and what many of them have in common."""

    def __init__(self, part: Part) -> None:
        self.part, self.at = part, breaks(part)
        self._runs: dict[tuple[int, int], BaseGeometry] = {}

    def throughout(self, low: float, middle: float, high: float) -> BaseGeometry:
        """What is solid at the three heights and in the middle of every stretch that they reach."""
        first, last = (self._stretch(z) for z in (low, high))
        shape = self._common(first, last)
        for z in (low, middle, high):
            if any(cut.flare_mm and cut.z0 <= z < cut.z1 for cut in self.part.cuts):
                shape = shape.intersection(section(self.part, z, CHORD_MM))
        return shape

    def _stretch(self, z: float) -> int:
        return min(max(bisect_right(self.at, z) - 1, 0), len(self.at) - 2)

    def _common(self, first: int, last: int) -> BaseGeometry:
        """What the stretches from first to last share, from two runs of 1, 2, 4, ... that others ask for too."""
        found = self._runs.get((first, last))
        if found is None:
            count = last - first + 1
            if count == 1:
                found = section(self.part, (self.at[first] + self.at[last + 1]) / 2, CHORD_MM)
            else:
                run = 1 << (count - 1).bit_length() - 1  # at least half of them
                found = self._common(first, first + run - 1).intersection(self._common(last - run + 1, last))
            self._runs[first, last] = found
        return found
