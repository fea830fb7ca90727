"""The glass cover: its fit, what keeps it, whether it is heavy and stiff enough, and which face lies on the film."""

from __future__ import annotations

import math
from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from holders.checks.base import TRIED, Rule, at_least, at_most
from holders.core.findings import CONTRAST, Finding
from holders.design.model import Design, Rect, Window
from holders.design.parts.roles import frame_parts
from holders.facts.habits import habit
from holders.facts.models import FilmBase, Material
from holders.fittings.cover.pane import Pane, plate_weight_n
from holders.fittings.cover.plate import HELD_TIMES
from holders.fittings.cover.spring import Spring
from holders.fittings.cover.table import Cover
from holders.fittings.cover.words import SAID
from holders.fittings.on_glass import touching_contrast
from holders.preset.tables.plain import table_of

if TYPE_CHECKING:
    from holders.preset.resolve import Job

CUT_MM = 0.5  # a glazier's cut, either way
THICK_MM = 0.2  # float glass of 2 to 6 mm, either way
LOOSE_MM = 1.5
ON_LIP_MM = 1.0
HELD_MM = 0.5  # a nose over the plate's edge
SLACK_MM = 0.8  # room over the plate in which it may lift or rattle
FLAT = 0.1  # share of the band's half width that the plate's own sag may take
FLOOR_MM = 0.8
PIN_SHARE = 2 / 3  # of its diameter that a pin goes in at least


class CoverRule(Rule):
    """The glass plate on the film and its catches."""

    code = "cover"
    title = "glass cover"
    why = (
        "a plate that jams cracks, one that slips drops on the film, a light one is lifted by curled film, and a "
        "plain face on film gives Newton's rings"
    )
    source = (
        "no rings under an etched face: common practice, no source; glass cut to 0.5 mm: common practice, no "
        "source; thickness 0.2 mm either way: EN 572-2, from memory; own sag: plate theory, as for glass plates; "
        "ring contrast: holders/film/rings, 0.5 % left by a coating from memory; catches: beams by Castigliano's "
        "theorem, ring by Winkler and Bach, as in Roark's Formulas for Stress and Strain, from memory; what strain "
        "they bear: the material's row; pin engaged by two thirds of its diameter: common practice, no source"
    )

    said = SAID

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Fit in the real pocket, rest on the lips, weight, own sag, face, catches and pins."""
        pane = design.find(Pane)
        if pane is None or table_of(job.preset, Cover) is None:
            yield self.skipped("the holder has no glass cover")
            return
        yield self._fit(design, pane)
        yield self._rest(design, pane)
        yield self._room(job.base, design, pane)
        yield self._weight(job, design)
        yield self._stiff(design, pane)
        yield self._face(job, pane)
        if pane.spring is not None:
            yield self._both(pane)
            yield self._nose(pane)
            yield self._spring(job.material, pane, pane.spring)
            yield self._hold(job.material, pane, pane.spring)
            yield self._pin(design, pane)

    def _fit(self, design: Design, pane: Pane) -> Finding:
        from holders.design.parts import slices  # noqa: PLC0415

        frame, gap, where = frame_parts(design), math.inf, ""
        heights = [z for z in slices.breaks(frame) if pane.z0 < z < pane.z1]
        ends = [pane.z0, *heights, pane.z1]
        for low, high in pairwise(ends):
            body = slices.covered_at(frame, (low + high) / 2)
            for k, rect in enumerate(pane.places, 1):
                plate = slices.box(rect)
                here = -1.0 if body.intersection(plate).area > 1e-3 else body.distance(plate)
                if here < gap:
                    gap, where = here, f"window {k}, {(low + high) / 2:.2f} mm above the glass"
        level = at_least(gap, CUT_MM / 2, 0.0) if gap > 0 else "stop"
        if level == "pass" and gap > LOOSE_MM:
            level = "warn"
        return self.found(
            level,
            title="plate in its pocket, gap each side",
            measured=gap,
            limit=LOOSE_MM if gap > LOOSE_MM else CUT_MM / 2,
            where=where,
            advice="" if level == "pass" else "0.5 mm takes what a glazier cuts too large or too small",
            field="cover.clearance_mm",
        )

    def _rest(self, design: Design, pane: Pane) -> Finding:
        least, k = min(
            (_rests(window, rect) - CUT_MM, k)
            for k, (window, rect) in enumerate(zip(design.windows, pane.places, strict=True), 1)
        )
        level = at_least(least, ON_LIP_MM, 0.0) if least > 0 else "stop"
        return self.found(
            level,
            title="plate cut short and pushed to one side still reaches over the other lip",
            measured=least,
            limit=ON_LIP_MM,
            where=f"window {k}",
            advice=""
            if level == "pass"
            else "wider lips, less clearance, or measure the plate and give its size",
            field="cover.clearance_mm",
        )

    def _room(self, base: FilmBase, design: Design, pane: Pane) -> Finding:
        top = design.heights.drawn_ledge + design.pocket_depth
        room = top - pane.z1
        proud = base.thickness_high_mm - design.film_thickness + THICK_MM
        if pane.spring is None:
            return self.found(
                "pass",
                title="wall above the plate",
                measured=room,
                limit=0.0,
                where="no catches: the plate lies by its own weight, and falls out when the holder is turned over",
            )
        tight, loose = room - proud < -1e-6, room > SLACK_MM + 1e-6
        advice = ""
        if room <= 0:
            advice = "a deeper pocket: the catches would press on the glass and crack it"
        elif tight:
            advice = (
                f"the thickest film and glass stand {proud - room:.2f} mm proud: more cover.gap_mm, or measure both; "
                "never force a catch over the plate"
            )
        elif loose:
            advice = f"line each nose with felt of about {room - 0.2:.1f} mm, so that the plate cannot lift or rattle"
        return self.found(
            "stop" if room <= 0 else "warn" if advice else "pass",
            title="room between plate and catches",
            measured=room,
            limit=SLACK_MM if loose else proud,
            where=f"film up to {base.thickness_high_mm:g} mm, glass {THICK_MM:g} mm over its thickness",
            advice=advice,
            field="cover.gap_mm",
        )

    def _weight(self, job: Job, design: Design) -> Finding:
        from holders.fittings.held_down import held_down  # noqa: PLC0415

        held = held_down(self, job, design, "glass", field="cover.thickness_mm")
        if held is not None:
            return held
        return self.skipped(design.no_sag_because or "film surface not computed", "plate heavy enough")

    def _stiff(self, design: Design, pane: Pane) -> Finding:
        sag = plate_sag_mm(pane)
        half = design.heights.half_band
        level = at_most(sag, FLAT * half, half)
        return self.found(
            level,
            title="plate's own sag between the lips",
            measured=sag,
            limit=FLAT * half,
            where=f"{pane.z1 - pane.z0:g} mm thick; the film surface is computed under a flat plate",
            advice="" if level == "pass" else TRIED,
            field="cover.thickness_mm",
        )

    def _face(self, job: Job, pane: Pane) -> Finding:
        seen, limit = ring_contrast(job, pane)
        level, etched = at_most(seen, limit, math.inf), pane.face == "etched"
        faces = {"etched": "etched face", "coated": "coated face", "plain": "plain face"}
        side = "base" if job.preset.film.emulsion == "down" else "emulsion"
        return self.found(
            level,
            title="rings between film and plate",
            measured=seen,
            limit=limit,
            unit=CONTRAST,
            where=f"{faces[pane.face]} on the film's {side} side"
            + (
                "; taken to give none: common practice, no source; its texture may show as grain"
                if etched
                else ""
            ),
            advice=""
            if level == "pass"
            else "lay an etched face on the film; film that touches plain or coated glass shows rings",
            field="cover.face",
        )

    def _both(self, pane: Pane) -> Finding:
        """Catches at one edge only leave the other free: upside down the plate turns about them and falls out."""
        edges = pane.held_edges
        return self.found(
            at_least(edges, 2, -math.inf),
            title="opposite edges of the plate with catches",
            measured=edges,
            limit=2,
            unit="",
            where=each_words(pane),
            advice="" if edges >= 2 else "take the plate out before the holder is turned over",
            field="cover.catches",
        )

    def _nose(self, pane: Pane) -> Finding:
        least = pane.reach - pane.clearance - CUT_MM  # all that it is cut short opens on one side
        level = at_least(least, HELD_MM, 0.0) if least > 0 else "stop"
        return self.found(
            level,
            title="catch over a plate cut short that lies at the far wall",
            measured=least,
            limit=HELD_MM,
            where=each_words(pane),
            advice=""
            if level == "pass"
            else "less clearance, or wider lips, which let the catches reach farther",
            field="cover.clearance_mm",
        )

    def _spring(self, material: Material, pane: Pane, spring: Spring) -> Finding:
        """Strain of a catch that is pushed back until its slot closes."""
        strain, most = 100 * spring.strain(spring.slot), 100 * material.spring_strain
        push = spring.force_n(pane.reach + pane.clearance, material.modulus_mpa)
        level = at_most(strain, most, 2 * most)
        return self.found(
            level,
            title="strain of the catches, pushed back to their stop",
            measured=strain,
            limit=most,
            unit="%",
            where=f"legs of {spring.leg:g} mm, {spring.slot:.1f} mm apart; {push:.1f} N push a nose off the glass",
            advice=""
            if level == "pass"
            else "another material, or less clearance, so that the nose need reach less far",
            field="cover.catches",
        )

    def _hold(self, material: Material, pane: Pane, spring: Spring) -> Finding:
        """The holder upside down and jolted: each catch bears its share of twice the plate."""
        weight = plate_weight_n(pane)
        lift = spring.lift_mm(HELD_TIMES * weight / pane.each, material.modulus_mpa, material.poisson)
        thick = pane.z1 - pane.z0
        level = at_most(lift, thick / 2, thick)
        return self.found(
            level,
            title="nose lifted by twice the plate's weight",
            measured=lift,
            limit=thick / 2,
            where=f"a plate of {weight:.2f} N, {each_words(pane)}; beyond half its thickness it leaves its pocket",
            advice="" if level == "pass" else "more or thicker catches",
            field="cover.catch_thickness_mm",
        )

    def _pin(self, design: Design, pane: Pane) -> Finding:
        """Solid frame left under the deepest hole, and how deep the pins go in."""
        from holders.design.parts import slices  # noqa: PLC0415

        top = design.heights.drawn_ledge + design.pocket_depth
        frame = frame_parts(design)
        floor = min(slices.solid_below(frame, top - pane.pin_depth, list(pane.pins)))
        least = habit("dowel") * PIN_SHARE
        thin, short = floor < FLOOR_MM - 1e-6, pane.pin_depth < least - 1e-6
        return self.found(
            "stop" if floor <= 0 else "warn" if thin or short else "pass",
            title="pins in the frame" if short and not thin else "frame left below the pins",
            measured=pane.pin_depth if short and not thin else floor,
            limit=least if short and not thin else FLOOR_MM,
            where=f"hole {pane.pin_depth:.1f} mm deep",
            advice="a deeper pocket"
            if short and not thin
            else "a pin that comes through scratches the scanner's glass: a smaller foot recess or a higher ledge"
            if thin
            else "",
            field="cover.catches",
        )


def each_words(pane: Pane) -> str:
    """How many catches a plate has."""
    return f"{pane.each:g} catch{'es' * (pane.each != 1)} a plate"


def _rests(window: Window, rect: Rect) -> float:
    """How far the plate reaches over a lip when it lies against the opposite wall of its pocket, mm."""
    p, o = window.pocket, window.opening
    across = min(o.x - p.x, p.right - o.right) - (p.width - rect.width)
    return min(across, min(o.y - p.y, p.top - o.top) - (p.height - rect.height))


def plate_sag_mm(pane: Pane) -> float:
    """Sag of the plate's middle on its four edges, mm (its whole size taken as the span)."""
    from holders.design.held.plate_glass import plate_sag_mm as grid  # noqa: PLC0415
    from holders.facts.tables import film_base  # noqa: PLC0415

    glass, rect = film_base("glass"), pane.places[0]
    _, _, sag = grid(
        rect.width,
        rect.height,
        pane.z1 - pane.z0,
        modulus_mpa=glass.modulus_mpa,
        poisson=glass.poisson,
        density_kg_m3=glass.density_kg_m3,
    )
    return float(sag.max())


def ring_contrast(job: Job, pane: Pane) -> tuple[float, float]:
    """Contrast of the rings where film touches the plate, and the weakest that is seen.

    An etched face is taken to give none (common practice, no source).
    """
    from holders.design.held.held_film import facing_index  # noqa: PLC0415
    from holders.facts.tables import lamp  # noqa: PLC0415

    index = facing_index(job.base, job.preset, up=True)
    return touching_contrast(index, pane.face), float(lamp(job.bed.lamp).ring_contrast)
