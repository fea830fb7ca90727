"""Wet mounting: the fluid, what it touches, the rings that it takes away, and where it may run."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import FittedRule, at_least, at_most
from holders.core.findings import CONTRAST, Finding
from holders.design.model import EDGES, Design, Edge, Rect, Window
from holders.facts.habits import habit
from holders.fittings.wet.mounted import Mounted
from holders.fittings.wet.words import SAID

if TYPE_CHECKING:
    from holders.fittings.wet.table import Wet
    from holders.preset.resolve import Job

STATED = {"no": "stated non-flammable", "yes": "stated flammable", "unknown": "not known"}


class WetRule(FittedRule[Mounted]):
    """Fluid between film, glass and overlay."""

    code = "wet-mount"
    title = "wet mounting"
    why = (
        "vapour that burns has no place under a lamp, fluid that leaves the glass runs into the scanner, and a fluid "
        "whose index is far from film and glass leaves rings"
    )
    source = (
        "flammable fluids: the hazards' rows; ring contrast: Fresnel's reflectance at normal incidence and two-beam "
        "interference (holders/film/rings); rim and wall: common practice, no source"
    )
    said = SAID
    fitted = Mounted
    absent = "the film is mounted dry"

    def look(self, job: Job, design: Design, made: Mounted) -> Iterator[Finding]:
        """Fluid, holder's material, rings, overlay, wall and mask."""
        yield self._fluid(made.table)
        yield self._acrylic(job.material.family)
        from holders.design.held.held_film import facing_index  # noqa: PLC0415 - numpy
        from holders.facts.tables import lamp  # noqa: PLC0415

        faces = [facing_index(job.own_base, job.preset, up=up) for up in (False, True)]
        yield self._rings(made.table, (faces[0], faces[1]), float(lamp(job.bed.lamp).ring_contrast))
        yield self._overlay(job.film.tolerance_mm / 2, design, made)
        yield self._wall(job.film.thickness_mm, design)
        yield self._mask(made)

    def _fluid(self, table: Wet) -> Finding:
        safe = table.flammable == "no"
        return self.found(
            "pass" if safe else "stop",
            title="fluid that does not burn",
            measured=STATED[table.flammable],
            limit=STATED["no"],
            unit="",
            where="by its maker, in the safety data sheet",
            advice=""
            if safe
            else 'take a fluid whose maker states that it is not flammable, and set wet.flammable = "no" when you have '
            "read it; no reason lifts this stop",
            field="wet.flammable",
        )

    def _acrylic(self, family: str) -> Finding:
        acrylic = family == "acrylic"
        return self.found(
            "stop" if acrylic else "pass",
            title="no acrylic at the fluid",
            measured=family,
            limit="no acrylic",
            unit="",
            where="mounting fluids craze stressed acrylic: from memory; try a drop on an offcut of any other plastic",
            advice="print the holder, or cut it from plywood or board" if acrylic else "",
            field="material.name",
        )

    def _rings(self, table: Wet, faces: tuple[float, float], limit: float) -> Finding:
        seen, dry, where = ring_contrasts(table, faces)
        level = at_most(seen, limit, math.inf)
        return self.found(
            level,
            title="rings across the fluid",
            measured=seen,
            limit=limit,
            unit=CONTRAST,
            where=f"{where}; the same faces with air between them (a bubble): {dry:.3f}",
            advice="" if level == "pass" else "a fluid whose refractive index is nearer to film and glass",
            field="wet.fluid_index",
        )

    def _overlay(self, off: float, design: Design, made: Mounted) -> Finding:
        """Dry glass between the overlay and what carries the glass, or the glass's own edge, at the worst."""
        under = made.table.side == "under"
        free, number = min(
            (_free(window, rect, under) - (off if not under else window.film.x - window.pocket.x + off), k)
            for k, (window, rect) in enumerate(zip(design.windows, made.overlays, strict=True), 1)
        )
        limit = habit("spill-rim")
        level = at_least(free, limit, 0.0) if free > 0 else "stop"
        rim = math.ceil(made.table.rim_mm + limit - free)
        side = "ledge" if under else "edge of the glass"
        return self.found(
            level,
            title="dry glass around the overlay",
            measured=free,
            limit=limit,
            where=f"window {number}, to the {side}, glass cut and laid worst for it",
            advice="" if level == "pass" else f"wet.rim_mm = {rim} or larger glass, or less overlap",
            field="wet.rim_mm",
        )

    def _wall(self, stack_mm: float, design: Design) -> Finding:
        above, limit = design.pocket_depth - stack_mm, habit("spill-wall")
        return self.found(
            at_least(above, limit, 0.0),
            title="wall above the mounted glass",
            measured=above,
            limit=limit,
            advice="" if above >= limit - 1e-6 else "a deeper pocket: layout.pocket_depth_mm",
            field="layout.pocket_depth_mm",
        )

    def _mask(self, made: Mounted) -> Finding:
        lit = 0.0 if made.table.mask else made.bare_mm
        return self.found(
            "pass" if lit <= 0 else "warn",
            title="light past the mounted film",
            measured=lit,
            limit=0.0,
            where=f"{made.bare_mm:.1f} mm of bare glass beside the film{', masked' if made.masked else ''}",
            advice="" if lit <= 0 else "a mask of black card on the glass: set wet.mask = true",
            field="wet.mask",
        )


def _beside(outer: Rect, inner: Rect, edge: Edge) -> float:
    """How far an edge of the inner rectangle lies inside the outer one, mm."""
    return {
        "left": inner.x - outer.x,
        "right": outer.right - inner.right,
        "foot": inner.y - outer.y,
        "head": outer.top - inner.top,
    }[edge]


def _free(window: Window, overlay: Rect, under: bool) -> float:
    """From the overlay to the window's edge below the glass, or to the edge of the glass above it, mm."""
    return min(_beside(window.opening if under else window.film, overlay, edge) for edge in EDGES)


def ring_contrasts(table: Wet, faces: tuple[float, float]) -> tuple[float, float, str]:
    """The strongest rings that two faces with fluid between them can give, the same with air, and which faces.

    ``faces`` are the refractive indices of the film's lower and upper side. Both faces reflect ((a - b) / (a + b))^2
    at right angles (Fresnel); light reflected by both beats with light that goes straight through. Coherence is taken
    as full: the layer is thin.
    """
    from holders.facts.tables import film_base  # noqa: PLC0415
    from holders.film.rings import two_face_contrast  # noqa: PLC0415 - numpy
    from holders.fittings.wet.table import OVERLAY_BASE  # noqa: PLC0415

    glass, overlay = (film_base(key).refractive_index for key in ("glass", OVERLAY_BASE))
    glass_face, other = faces[::-1] if table.side == "under" else faces
    pairs = {"film and glass": (glass_face, glass), "film and overlay": (other, overlay)}
    name = max(pairs, key=lambda key: two_face_contrast(*pairs[key], table.fluid_index))
    dry = max(two_face_contrast(*pair, 1.0) for pair in pairs.values())
    a, b = pairs[name]
    return (
        two_face_contrast(a, b, table.fluid_index),
        dry,
        f"between {name}, indices {a:.2f} and {b:.2f}, fluid {table.fluid_index:.2f}",
    )
