"""The lid frame: clearance in its pocket, play over the film, weight, magnets, and whether it lies flat."""

from __future__ import annotations

import math
from collections.abc import Callable, Iterator
from typing import TYPE_CHECKING

from holders.checks.base import FLAT, TRIED, Rule, at_least, at_most
from holders.core.findings import Finding, Level
from holders.design.draft.levels import thinnest_film_mm
from holders.design.model import Design
from holders.design.parts.roles import frame_parts, lid_parts, own_lids
from holders.design.parts.steel import bars_of
from holders.facts.rise_names import RAIL_BOW
from holders.fittings.lid.bend import free_rise_mm, rail_bow_mm
from holders.fittings.lid.fitted import LidFrame
from holders.fittings.lid.table import Lid
from holders.fittings.lid.words import SAID
from holders.preset.tables.plain import table_of

if TYPE_CHECKING:
    from holders.film.models import Sheet
    from holders.preset.resolve import Job

SNUG_MM, LOOSE_MM = 0.1, 1.0
BUCKLE_MM = 0.5
COVER_MM = 0.6
EVEN = 1e-6
MAGNET_CARE = (
    "magnets: keep them from children, pacemakers and cards; two that are swallowed are an emergency"
)


class LidFit(Rule):
    """Lid in its pocket and over the film."""

    code = "lid-fit"
    per_film = True
    title = "lid frame in its pocket"
    why = (
        "a lid that jams cannot be lifted off the film, a loose one scratches it, too much "
        "play lets film curl; one that weighs less than curled film pushes with is lifted"
    )
    source = (
        "common practice, no source; the film's push: plate theory with one-sided contact; the lid's weight: its own "
        "geometry and the printer's fill; magnets: charged-disc model"
    )

    said = SAID

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Side clearance on the real sections, play over the thickest and thinnest film, weight, magnets."""
        table, lid = table_of(job.preset, Lid), design.find(LidFrame)
        if table is None or lid is None:
            yield self.skipped("the holder has no lid")
            return
        yield self._clearance(design)
        yield self._play(job, design, lid)
        yield self._weight(job, design)
        if lid.extra_n > 0:
            yield self._laid(design, flush=job.printer is not None)
        yield self._magnets(table, design)

    def _clearance(self, design: Design) -> Finding:
        from holders.design.parts import slices  # noqa: PLC0415

        gap, where = None, ""
        for lid, body, place in slices.facing(own_lids(design), frame_parts(design)):
            if lid.is_empty or body.is_empty:  # no distance can be told; other checks name an empty part
                continue
            here = lid.distance(body)
            if gap is None or here < gap:
                gap, where = here, place
        if gap is None:
            return self.skipped(
                "the lid lies above the frame, with nothing beside it", "lid's side clearance"
            )
        level: Level = "stop" if gap <= 0 else "pass" if SNUG_MM - 1e-3 <= gap <= LOOSE_MM else "warn"
        return self.found(
            level,
            title="lid's side clearance",
            measured=gap,
            limit=SNUG_MM if gap < LOOSE_MM else LOOSE_MM,
            where=where,
            advice=""
            if level == "pass"
            else "a clearance of 0.2 to 0.4 mm lets a lid drop in without rattling",
            field="lid.clearance_mm",
        )

    def _play(self, job: Job, design: Design, lid: LidFrame) -> Finding:
        play = lid.play
        thick = job.base.thickness_high_mm - design.film_thickness
        thin = design.film_thickness - job.base.thickness_low_mm
        if play <= 0 and lid.shoulder is not None and job.printer is not None:
            clear = lid.shoulder - lid.rim + job.printer.z_tolerance_mm - thinnest_film_mm(job.film, job.base)
            where = f"it lies on the film; the shoulder beside it is drawn {lid.shoulder:.2f} mm high"
            if lid.rim > 0:
                where += f", the lid's rim stands back {lid.rim:.2f} mm over it"
            if clear > 1e-6:
                where += f", so thin film under a high shoulder leaves up to {clear:.2f} mm below the lid"
            level = at_most(clear, BUCKLE_MM, math.inf)
            return self.found(
                level,
                title="lid's play over the film",
                measured=max(0.0, clear),
                limit=BUCKLE_MM,
                where=where,
                advice=""
                if level == "pass"
                else "measure the printed shoulder: where it is higher than the film, sand it down below it",
                field="printer.layer_mm",
            )
        if play <= 0:
            return self.found(
                "pass",
                title="lid's play over the film",
                measured=play,
                limit=BUCKLE_MM,
                where="the lid lies on the film and holds it whatever its thickness",
            )
        tight, loose = play < thick - 1e-6, play + max(0.0, thin) > BUCKLE_MM + 1e-6
        advice = ""
        if tight:
            advice = (
                f"the thickest film of this base stands {thick - play:.2f} mm proud and lifts the "
                "lid off its shoulder"
            )
        elif loose:
            advice = "thin film has room to curl under the lid: less play, or measure base.thickness_mm"
        return self.found(
            "warn" if advice else "pass",
            title="lid's play over the film",
            measured=play,
            limit=thick if tight else BUCKLE_MM,
            where=f"film {job.base.thickness_low_mm:g} to {job.base.thickness_high_mm:g} mm",
            advice=advice,
            field="lid.play_mm",
        )

    def _weight(self, job: Job, design: Design) -> Finding:
        from holders.design.held.held_film import sheet_of  # noqa: PLC0415 - numpy
        from holders.design.parts.members import material_of  # noqa: PLC0415 - shapely
        from holders.fittings.held_down import held_down  # noqa: PLC0415

        advice = f"press the lid down all round and look; {TRIED}"
        more = _bowing(
            design, material_of(job.material, job.printer).softest_mpa, lambda: sheet_of(job, design.mine[0])
        )
        held = held_down(self, job, design, "lid", field="lid.thickness_mm", advice=advice, more=more)
        if held is not None:
            return held
        others = [made for made in design.fitted if made.holds_film and made is not design.on_film]
        why = "the strip's channel holds it between rails" if others else ""
        return self.skipped(design.no_sag_because or why or "film surface not computed", "lid heavy enough")

    def _laid(self, design: Design, *, flush: bool) -> Finding:
        """Whether what is laid on the lid lies on it; it is wider than a sheet lid's rails, and may be ``flush`` where
        the ends are wide.
        """
        over = min(part.z1 for part in own_lids(design)) - max(part.z1 for part in frame_parts(design))
        good = over >= -EVEN if flush else over > EVEN
        return self.found(
            "pass" if good else "warn",
            title="lid's height over the frame, for a weight",
            measured=over,
            limit=0.0,
            where="lay it on the lid's ends, clear of the frame"
            if flush
            else "a bar is wider than the lid's rails: it lies on whichever stands higher",
            advice="" if good else "make the wall as low as the lid's sheet is thick, or the lid thicker",
            field="layout.pocket_depth_mm",
        )

    def _magnets(self, lid: Lid, design: Design) -> Finding:
        if lid.magnets == 0:
            return self.skipped("no magnets", "material above magnets")
        covers = [
            (_cover(part.z0, part.z1, cut.z0, cut.z1, [s.z0 for s in part.slabs]), part.name)
            for part in design.parts
            for cut in part.cuts
            if cut.magnet
        ]
        if not covers:
            return self.found(
                "warn",
                title="material above magnets",
                measured="no magnet pockets",
                advice="magnets are glued on by hand on this route; or set lid.magnets = 0",
                field="lid.magnets",
            )
        cover, name = min(covers)
        level = at_least(cover, COVER_MM, 0.0) if cover > 0 else "stop"
        return self.found(
            level,
            title="material above magnets",
            measured=cover,
            limit=COVER_MM,
            where=name,
            advice=MAGNET_CARE if level == "pass" else f"thinner magnets or a thicker part; {MAGNET_CARE}",
            field="lid.magnet_thickness_mm",
        )


class LidFlat(Rule):
    """Whether a lid lies flat by its own weight."""

    code = "lid-flat"
    title = "warp of the lid that its weight leaves"
    said = SAID
    why = "a warped lid that its own weight does not press flat lets the film's edge rise under it"
    source = (
        "a side that is bowed by 5 q L⁴ / (384 E I) is just pressed flat: Roark's Formulas for Stress and Strain (from "
        "memory; exact for a beam); usual warp over 300 mm by kind of material: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The usual warp over the lid's longest side less what its weight takes out."""
        from holders.fittings.lid.flat import lid_flatness  # noqa: PLC0415 - shapely

        found = lid_flatness(job, design)
        if found is None:
            lid = bool(lid_parts(design))
            yield self.skipped("the lid's sides are cut through" if lid else "the holder has no lid")
            return
        limit = FLAT * design.heights.half_band
        level = at_most(found.left_mm, limit, math.inf)
        yield self.found(
            level,
            measured=found.left_mm,
            limit=limit,
            where=(
                f"side of {found.side_mm:.0f} mm, usual warp {found.warp_mm:.2f} mm, "
                f"of which its weight settles {min(found.settles_mm, found.warp_mm):.2f} mm"
            ),
            advice=""
            if level == "pass"
            else f"lay the finished lid on a flat table and look under its edges; {TRIED}",
            field="lid.thickness_mm",
        )


def _bowing(design: Design, modulus_mpa: float, sheet: Callable[[], Sheet]) -> str:
    """In words: how far the lid's rails can bow up at most under film of the usual curl."""
    if design.sag is None or design.sag.lid is None:
        return ""
    bow = rail_bow_mm(own_lids(design), modulus_mpa, design.sag.lid.needed_n, bars_of(design))
    if bow is None:
        return ""
    free = free_rise_mm(sheet(), design)
    if free is not None:
        bow = min(bow, free)
    if bow < 0.005:
        return ""
    words = f"{RAIL_BOW} {bow:.2f} mm, which the chance does not count"
    lid = design.find(LidFrame)
    if lid is not None and lid.extra_n > 0:
        return f"; lay its weight along the rails: on their ends alone, {words}"
    return f"; {words}"


def _cover(z0: float, z1: float, cut0: float, cut1: float, floors: list[float]) -> float:
    """What is left of a part behind a magnet pocket that is open at one face.

    The pocket of a lid opens downward; that of the frame opens at the ledge, so what lies below it counts.
    """
    if cut0 <= min(floors) + 1e-6:
        return z1 - cut1
    return cut0 - z0
