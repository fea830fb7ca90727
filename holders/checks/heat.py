"""Warmth and damp: softening, growth against clearances, and the bow of a plate with one warm face."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_most
from holders.checks.formulas import bow_curvature_per_m, bow_mm, cantilever_sag_mm, growth_mm, strip_sag_mm
from holders.checks.heights import half_band
from holders.checks.hull import longest_side
from holders.checks.pieces import frame_thickness
from holders.design.model import Design
from holders.findings import Finding

if TYPE_CHECKING:
    from holders.preset.resolve import Job

MARGIN_K = 10.0
HUMIDITY_SWING = 20.0  # % relative humidity, up or down from the day the holder was made
FLAT = 0.5  # share of the focus band's half width that a bow may take unremarked


class Softening(Rule):
    """Softening margin near a warm lamp."""

    code = "softening"
    title = "warmest the holder gets"
    why = (
        "a holder that softens on a warm scanner creeps under its own weight and takes the film's "
        "flatness with it"
    )
    source = (
        "deflection and glass temperatures from the material's own row; 10 K of margin: common "
        "practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """Room temperature and the lamp's rise against the material's limit."""
        warmest = job.preset.room.ambient_c + job.bed.lamp_rise_k
        material = job.material
        level = at_most(warmest, material.limit_c - MARGIN_K, material.limit_c)
        softens = (
            "does not soften before it chars"
            if material.softening_c is None
            else f"softens at {material.softening_c:g} °C {material.softening_method}".rstrip()
        )
        yield self.found(
            level,
            measured=warmest,
            limit=material.limit_c - MARGIN_K,
            unit="°C",
            where=f"{material.name} {softens}; not above {material.limit_c:g} °C",
            advice=""
            if level == "pass"
            else "take a material that stands more heat, or let the scanner cool between scans",
            field="material.name",
        )


class Expansion(Rule):
    """Growth of the holder against the slide-in gap, and of the film against its pocket."""

    code = "expansion"
    title = "growth by warmth and damp"
    why = (
        "a holder that grows jams against the rim of the glass; film that grows more than its pocket buckles"
    )
    source = (
        "L (alpha dT + beta dRH), arithmetic; coefficients from the rows of material and base; "
        "a swing of 20 % relative humidity: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Each against the room it has."""
        yield self._outer(job, design)
        yield self._pocket(job, design)

    def _outer(self, job: Job, design: Design) -> Finding:
        material, bed = job.material, job.bed
        sides = (
            (bed.glass_width_mm - design.outer.width, design.outer.width, "across"),
            (bed.glass_length_mm - design.outer.height, design.outer.height, "along"),
        )
        room, size, way = min(
            sides,
            key=lambda s: s[0] - growth_mm(s[1], material.expansion_per_k, bed.lamp_rise_k, *_damp(job)),
        )
        grown = growth_mm(size, material.expansion_per_k, bed.lamp_rise_k, *_damp(job))
        level = at_most(grown, room / 2, room)
        return self.found(
            level,
            title="growth of the holder in the glass's rim",
            measured=grown,
            limit=room / 2,
            where=(
                f"{size:.1f} mm {way}, {bed.lamp_rise_k:g} K, {HUMIDITY_SWING:g} % humidity; the "
                f"gap is {room:.2f} mm"
            ),
            advice="" if level == "pass" else "leave a wider gap to the rim of the glass",
            field="layout.slide_gap_mm",
        )

    def _pocket(self, job: Job, design: Design) -> Finding:
        base, material = job.base, job.material
        if not design.windows:
            return self.skipped("no film", "growth of the film in its pocket")
        worst = 0.0, 0.0, 0.0, ""
        for number, window in enumerate(design.windows, 1):
            for size, pocket, way in (
                (window.film.width, window.pocket.width, "across"),
                (window.film.height, window.pocket.height, "along"),
            ):
                free = pocket - size - job.film.tolerance_mm
                differs = growth_mm(
                    size,
                    abs(base.expansion_per_k - material.expansion_per_k),
                    job.bed.lamp_rise_k,
                    abs(base.humidity_strain_per_rh - material.moisture_strain_per_rh),
                    HUMIDITY_SWING,
                )
                if not worst[3] or differs - free > worst[0]:
                    worst = differs - free, differs, free, f"window {number}, {way}"
        _, differs, free, where = worst
        level = at_most(differs, free, free + job.film.tolerance_mm)
        return self.found(
            level,
            title="growth of the film against its pocket",
            measured=differs,
            limit=free,
            where=where,
            advice="" if level == "pass" else "give the pocket more clearance",
            field="layout.clearance_mm",
        )


def _damp(job: Job) -> tuple[float, float]:
    return job.material.moisture_strain_per_rh, HUMIDITY_SWING


class Bow(Rule):
    """Bow of the holder with one face warmer than the other."""

    code = "bow"
    title = "bow of the holder with one warm face"
    why = (
        "the lit face grows more than the other and the holder bows like a bimetal, lifting film "
        "out of the focus band"
    )
    source = (
        "curvature alpha dT / t, height kappa L²/8: Timoshenko and Woinowsky-Krieger, Theory "
        "of Plates and Shells; "
        "Roark's Formulas for Stress and Strain (from memory; exact for a linear gradient); "
        "own weight: cantilever q L⁴/(8 E I)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The free bow over the longer side, less what the holder's own weight presses back.

        A bowl that rests on its middle is pressed back least (its halves hang as cantilevers), so it
        counts. It warns but never stops: real lamps warm a holder slowly and nearly through.
        """
        thickness = frame_thickness(design)
        span = max(design.outer.width, design.outer.height)
        material = job.material
        free = bow_mm(
            bow_curvature_per_m(material.expansion_per_k, job.bed.face_difference_k, thickness), span
        )
        pressed = cantilever_sag_mm(material.density_kg_m3, material.modulus_mpa, thickness, span / 2)
        left = max(0.0, free - pressed)
        limit = FLAT * half_band(design.heights)
        level = at_most(left, limit, math.inf)
        yield self.found(
            level,
            measured=left,
            limit=limit,
            where=(
                f"{job.bed.face_difference_k:g} K between faces, {thickness:.2f} mm thick, "
                f"{span:.0f} mm long: free bow {free:.2f} mm, "
                f"of which its weight presses back {min(free, pressed):.2f} mm"
            ),
            advice=""
            if level == "pass"
            else "a thicker frame or a material that grows less; let the lamp warm up first",
            field="material.name",
        )


class OwnWeight(Rule):
    """Sag of the frame between its feet."""

    code = "frame-sag"
    title = "sag of the frame between its feet"
    why = "a thin frame on feet at its corners hangs in the middle, and the film with it"
    source = (
        "beam on two supports, 5 q L⁴ / (384 E I): Roark's Formulas for Stress and Strain (from "
        "memory; exact for a beam)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The longest side between feet as a beam that carries frame and lid; creep is not counted."""
        protrusion = design.heights.foot_protrusion
        if len(design.feet) < 2 or protrusion <= 0:
            yield self.skipped("the holder lies flat on the glass")
            return
        span = longest_side([(foot.x, foot.y) for foot in design.feet])
        thickness = frame_thickness(design)
        total = design.total_height - protrusion
        sag = strip_sag_mm(
            job.material.density_kg_m3, job.material.modulus_mpa, thickness, span, max(1.0, total / thickness)
        )
        limit = FLAT * half_band(design.heights)
        level = at_most(min(sag, protrusion), limit, math.inf)
        yield self.found(
            level,
            measured=min(sag, protrusion),
            limit=limit,
            where=f"{span:.0f} mm between feet, {thickness:.2f} mm thick"
            + ("; it rests on the glass in between" if sag > protrusion else ""),
            advice="" if level == "pass" else "more feet, a thicker frame or a stiffer material",
            field="feet.count",
        )
