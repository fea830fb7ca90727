"""Does it keep its shape: on its feet, in the hand, as a lid; and is soft stock as thick as it was measured."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import FLAT, TRIED, Rule, at_most
from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.design.model import Design
from holders.facts.habits import habit
from holders.workshop.stiffness.warm import SESSION_HOURS

if TYPE_CHECKING:
    from holders.design.parts.members import SectionMaterial
    from holders.facts.models import Printer
    from holders.preset.resolve import Job
    from holders.preset.tables.plain import PlainPreset
    from holders.workshop.stiffness.foam import SoftLedge
    from holders.workshop.stiffness.loose import Loose
    from holders.workshop.stiffness.standing import Hanging
    from holders.workshop.stiffness.stiffer import Trials
    from holders.workshop.stiffness.stiffness import InHand


class OwnWeight(Rule):
    """Sag of the frame between its feet."""

    code = "frame-sag"
    title = "sag of the frame between its feet"
    why = "a thin frame on feet at its corners sags in the middle, and the film with it; warm plastic creeps further"
    source = (
        "grid of beams on feet and glass that only push; each side of a plain frame is then the beam of Roark's "
        "Formulas for Stress and Strain, 5 q L⁴ / (384 E I) (from memory; exact for a beam); walls and skins of a "
        "print solid, its fill as for its grams: common practice, no source; creep: Findley's power law (from memory)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The deepest place of the frame with its lid and film: after a day's session, and after 1000 hours."""
        from holders.workshop.stiffness.standing import hanging  # noqa: PLC0415 - shapely
        from holders.workshop.stiffness.stiffer import Trials  # noqa: PLC0415

        found = hanging(job, design)
        if found is None:
            yield self.skipped("the holder lies flat on the glass")
            return
        half = design.heights.half_band
        at_once = (
            f"{found.now_mm:.2f} mm at once, the rest by creep in {SESSION_HOURS:g} h under the lamp's warmth"
        )
        trials = Trials(job, design)
        yield self._sag(trials, found, "session_mm", FLAT * half, self.title, at_once)
        yield self._sag(
            trials,
            found,
            "later_mm",
            half,
            "sag of the frame left warm on its feet",
            "after 1000 h under the lamp's warmth",
        )

    def _sag(
        self, trials: Trials, found: Hanging, which: str, limit: float, title: str, when: str
    ) -> Finding:
        sag = float(getattr(found, which))
        lies = sag >= found.room_mm - 1e-6
        level = at_most(sag, limit, math.inf)
        ground = (
            f"; there it has come down on the glass, as its feet hold it only {found.room_mm:.2f} mm above it"
            if lies
            else ""
        )
        advice = ""
        if level != "pass":
            ways = trials.cures(lambda other: float(getattr(other, which)) <= limit)
            advice = (
                "; or ".join(ways) or "a thicker frame and a stiffer material: none of them alone will do"
            )
            if lies:
                advice += f"; {TRIED}, also without its [feet]"
        return self.found(
            level,
            title=title,
            measured=sag,
            limit=limit,
            where=(
                f"{found.span_mm:.0f} mm between feet, {found.thickness_mm:.2f} mm thick"
                f"{_filled(trials.job.printer)}; {when}{ground}"
            ),
            advice=advice,
            field="feet.count",
        )


def _filled(printer: Printer | None) -> str:
    """How a print is taken to be filled, in words."""
    if printer is None:
        return ""
    from holders.facts.printing import usual_settings  # noqa: PLC0415

    return f", {usual_settings(printer).words}"


class InTheHand(Rule):
    """Whether the empty frame, and a lid, keeps its shape when it is held by one edge."""

    code = "in-hand"
    title = "sag of the frame held by one edge"
    why = "a frame or a lid that flops in the hand drops its film and ends up skewed; glued joints and thin walls crack"
    source = (
        "grid of beams under its own weight, checked against plates by finite elements; Roark's Formulas for Stress "
        "and Strain, torsion (from memory); steel on a lid bends and twists beside its rail; a print's fill as for its "
        "grams, a twentieth of the free length as limit: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The edge by which it sags least of what is allowed, as a hand can choose; what would cure it."""
        from holders.workshop.stiffness.stiffness import held_by_each_edge, in_hand, stuff_of  # noqa: PLC0415 - shapely, numpy

        try:
            held = held_by_each_edge(job, design)
            found = in_hand(job, design, held[-1][0])
        except InputError as error:
            yield self.skipped(f"not a frame that a hand can hold: {error.way_out}")
            return
        level = at_most(found.sag_mm, found.limit_mm, math.inf)
        bad = [edge for edge, sag, limit in held if sag > limit]
        shun = f"; not by its {' or '.join(bad)} edge" if bad and level == "pass" else ""
        yield self.found(
            level,
            measured=min(found.sag_mm, found.free_length_mm),
            limit=found.limit_mm,
            where=f"held by its {found.edge} edge, {job.material.name} {found.shape}{_hangs(found)}{shun}",
            advice="" if level == "pass" else _cure(found),
            field="layout.pocket_depth_mm" if job.printer is not None else "material.sheets_mm",
        )
        yield from self._loose(stuff_of(job), design)

    def _loose(self, stuff: SectionMaterial, design: Design) -> Iterator[Finding]:
        """The same of lids, inserts and a carrier without its insert: the worst of each."""
        from holders.workshop.stiffness.loose import held_loose, loose_parts  # noqa: PLC0415 - shapely

        worst: dict[str, tuple[InHand, Loose]] = {}
        for one in loose_parts(design):
            try:
                found = held_loose(stuff, one)
            except InputError:
                continue  # no frame: a hand holds a plate as it likes
            what = one.parts[0].role.value
            if (
                what not in worst
                or found.sag_mm / found.limit_mm > worst[what][0].sag_mm / worst[what][0].limit_mm
            ):
                worst[what] = found, one
        for what, (found, one) in worst.items():
            level = at_most(found.sag_mm, found.limit_mm, math.inf)
            steel = ", with the steel on it" if one.bars else ""
            yield self.found(
                level,
                title=f"sag of the {what} held by one edge",
                measured=min(found.sag_mm, found.free_length_mm),
                limit=found.limit_mm,
                where=f"the {one.name}{steel}, held by its {found.edge} edge: {found.shape}{_hangs(found)}",
                advice="" if level == "pass" else _cure_loose(stuff, one, found),
                field="lid.thickness_mm" if what == "lid" else "layout.pocket_depth_mm",
            )


def _cure_loose(stuff: SectionMaterial, one: Loose, found: InHand) -> str:
    """Both hands where that is enough, as it was tried on this part; else what else was."""
    from holders.workshop.stiffness.loose import by_two_edges  # noqa: PLC0415 - shapely

    ways = by_two_edges(stuff, one)
    if ways:
        sag = max(0.1, *(sag for _, sag in ways))
        by = "any two opposite edges" if len(ways) > 1 else f"its {ways[0][0]} edges"
        return f"lift it with both hands, by {by} at once: it then sags {sag:.1f} mm at most"
    return _cure(found)


def _hangs(found: InHand) -> str:
    if found.sag_mm > found.hangs_mm:
        return f"; it hangs, more than {found.hangs_mm:.0f} mm over {found.free_length_mm:.0f} mm"
    return f", {found.sag_mm:.1f} mm over {found.free_length_mm:.0f} mm"


def _cure(found: InHand) -> str:
    from holders.workshop.stiffness.stiffness import RIB_WIDTH_MM  # noqa: PLC0415

    ways = []
    if found.least_thickness_mm is not None:
        ways.append(f"make it {found.least_thickness_mm:.1f} mm thick in all")
    if found.rib_height_mm is not None:
        ways.append(
            f"glue ribs {RIB_WIDTH_MM:g} mm wide and {found.rib_height_mm:.1f} mm high along both outer rails"
        )
    return ", or ".join(ways) if ways else "a stiffer material: no thickness up to tenfold would do"


class SoftStock(Rule):
    """Soft sheets below the film: thicker than a caliper says, thinner under load."""

    code = "soft-stock"
    title = "height of soft sheets under their load"
    why = "the jaws of a caliper squeeze foam, and so does what lies on it: the ledge is not where the sheets add up to"
    source = (
        "strain p/E up to 5 %, where cell walls buckle: Gibson and Ashby, Cellular Solids (from memory); modulus good "
        "to a factor of two, caliper 0.03 MPa: common practice, no source; creep: Findley's power law (from memory)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The sheets below the film against what was counted, over the range of the modulus."""
        from holders.workshop.stiffness.foam import soft_ledge  # noqa: PLC0415

        limit = FLAT * design.heights.half_band
        try:
            found = soft_ledge(job, design)
        except InputError as error:
            yield self.found(
                "warn", limit=limit, where=job.material.name, advice=error.way_out, field=error.field
            )
            return
        if found is None:
            yield self.skipped("no soft sheets below the film")
            return
        worst = max(abs(found.low_mm), abs(found.high_mm))
        level = at_most(worst, limit, math.inf) if found.holds else "warn"
        yield self.found(
            level,
            measured=worst,
            limit=limit if found.holds else None,  # what does not hold is wrong however little it gives
            where=_soft_words(job.preset, found),
            advice="" if level == "pass" else "measure the finished ledge under a glass plate",
            field="material.name",
        )


def _soft_words(preset: PlainPreset, found: SoftLedge) -> str:
    how = (
        f"measured at {habit('caliper-pressure'):g} MPa of the caliper's jaws, "
        if preset.material.sheets_mm
        else ""
    )
    later = (
        "gone soft when warm"
        if found.later_mm is None
        else f"{found.counted_mm + found.later_mm:.2f} mm after 1000 h"
    )
    squeezed = "" if found.holds else "; it is squeezed past what it springs back from"
    return (
        f"{found.counted_mm:.2f} mm {how}is {found.counted_mm + found.off_mm:.2f} mm "
        f"({found.counted_mm + found.low_mm:.2f} to {found.counted_mm + found.high_mm:.2f}) under "
        f"{1000 * found.pressure_mpa:.2f} kPa, {later}{squeezed}"
    )
