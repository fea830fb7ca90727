"""Whether a lid lies flat: its own weight against the usual warp of its material."""

from __future__ import annotations

from dataclasses import dataclass

from holders.design.model import Design, Part, Role
from holders.design.parts.members import Layer, Section, SectionMaterial, material_of, section_of
from holders.design.parts.steel import bars_of, bars_on
from holders.facts.constants import GRAVITY_M_S2
from holders.facts.habits import habit
from holders.fittings.lid.bevel import leaning
from holders.geometry.outline import bounds
from holders.preset.resolve import Job

STEPS = 8  # of a bevelled slab's height, each taken as wide as in its middle


@dataclass(frozen=True, slots=True)
class LidFlatness:
    """A lid's own weight against its warp, mm.

    ``settles_mm`` is the bow of its longest side that its weight presses flat, ``warp_mm`` the usual warp of that
    material over that length, ``left_mm`` what stays, ``sag_mm`` what it sags if only its corners rest.
    """

    side_mm: float
    settles_mm: float
    warp_mm: float
    left_mm: float
    sag_mm: float


def lid_flatness(job: Job, design: Design) -> LidFlatness | None:
    """The longest side of the largest lid; None without a lid.

    A side of length L that is bowed by 5 q L⁴ / (384 E I) is just pressed flat by its own weight q (beam on simple
    supports, Roark's Formulas for Stress and Strain, from memory; exact for a beam). Straight steel bars along the side
    draw it straight as two beams that are glued do: of its warp E I of the lid over that of both stays.
    """
    lids = [part for part in design.parts if part.role is Role.LID]
    if not lids:
        return None
    stuff, bars = material_of(job.material, job.printer), bars_of(design)
    best: LidFlatness | None = None
    for lid in lids:
        x0, y0, x1, y1 = lid.box
        side = max(x1 - x0, y1 - y0)
        upright = y1 - y0 >= x1 - x0
        q, plain = _side_of(lid, stuff, upright=upright)
        if plain <= 0:
            continue  # no sides at all: another check says so
        along = [bar for bar in bars_on(lid, bars) if bar.upright == upright]
        q += sum(bar.weight_n for bar in along) / side
        stiff = plain + sum(bar.stiffness_nmm2 for bar in along)
        sag = 5 * q * side**4 / (384 * stiff)
        warp = habit(f"flatness-{job.material.family}") * (side / 300.0) ** 2 * plain / stiff
        found = LidFlatness(side, sag, warp, max(0.0, warp - sag), sag)
        if best is None or found.side_mm > best.side_mm:
            best = found
    return best


def _side_of(lid: Part, stuff: SectionMaterial, upright: bool) -> tuple[float, float]:
    """Weight per length (N/mm) and bending stiffness (N mm²) of a lid's long sides together, at its weakest window."""
    along, across = (1, 0) if upright else (0, 1)
    holes = [bounds(hole) for slab in lid.slabs for hole in slab.region.holes]
    longest = max((h[along + 2] - h[along] for h in holes), default=0.0)
    # a hole for a magnet or a screw weakens no side over its length
    windows = [h for h in holes if h[along + 2] - h[along] >= longest / 2]
    middles = {(h[along] + h[along + 2]) / 2 for h in windows} or {0.0}
    sections = [section_of(_layers_at(lid, at, along, across), stuff.fill) for at in sorted(middles)]
    section: Section = min(sections, key=lambda s: s.bending)
    return stuff.density_kg_m3 * GRAVITY_M_S2 * 1e-9 * section.area, stuff.softest_mpa * section.bending


def _layers_at(lid: Part, at: float, along: int, across: int) -> list[Layer]:
    """What a cut across the lid shows of each slab."""
    layers, any_bevel = [], any(cut.bevel for cut in lid.cuts)
    for slab in lid.slabs:
        outer = bounds(slab.region.outer)
        cut = [h for h in map(bounds, slab.region.holes) if h[along] < at < h[along + 2]]
        open_ = sum(h[across + 2] - h[across] for h in cut)
        wide, steps = outer[across + 2] - outer[across] - open_, STEPS if any_bevel else 1
        for k in range(steps):
            low, high = (slab.z0 + (slab.z1 - slab.z0) * share / steps for share in (k, k + 1))
            layers.append(Layer(wide - 2 * len(cut) * leaning(lid, (low + high) / 2), low, high))
    return layers
