"""The lid frame: room under the lamp's lid, clearance in its pocket, play over the film, magnets."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import TRIED, Rule, at_least
from holders.checks.pieces import frame_parts, lid_parts
from holders.core.findings import Finding, Level
from holders.design.height.levels import thinnest_film_mm
from holders.design.model import Design

if TYPE_CHECKING:
    from holders.preset.resolve import Job

SPARE_MM = 0.5
SNUG_MM, LOOSE_MM = 0.1, 1.0
BUCKLE_MM = 0.5
COVER_MM = 0.6
MAGNET_CARE = (
    "magnets: keep them from children, pacemakers and cards; two that are swallowed are an emergency"
)


class LidRoom(Rule):
    """Height of the holder under the closed lamp lid."""

    code = "lid-room"
    title = "height under the lamp's lid"
    why = "a holder taller than the room keeps the lid open: stray light, and the lamp at the wrong distance"
    source = "the bed's own row; half a millimetre to spare: common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Room left above the assembled holder."""
        left = job.bed.lid_room_mm - design.total_height
        level = at_least(left, SPARE_MM, 0.0)
        yield self.found(
            level,
            measured=design.total_height,
            limit=job.bed.lid_room_mm - SPARE_MM,
            where=f"the lid leaves {job.bed.lid_room_mm:g} mm",
            advice=""
            if level == "pass"
            else "a thinner lid, a shallower pocket or lower feet; some lids lift on their hinge",
            field="lid.thickness_mm" if job.preset.lid is not None else "layout.pocket_depth_mm",
        )


class LidFit(Rule):
    """Lid in its pocket and over the film."""

    code = "lid-fit"
    title = "lid frame in its pocket"
    why = (
        "a lid that jams cannot be lifted off the film, a loose one scratches it, too much "
        "play lets film curl; one that weighs less than curled film pushes with is lifted"
    )
    source = (
        "common practice, no source; the film's push: plate theory with one-sided contact; the lid's weight: its own "
        "geometry and the printer's fill; magnets: charged-disc model"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Side clearance on the real sections, play over the thickest and thinnest film, weight, magnets."""
        if job.preset.lid is None or design.lid_play is None:
            yield self.skipped("the holder has no lid")
            return
        yield self._clearance(design)
        yield self._play(job, design, design.lid_play)
        yield self._weight(job, design)
        yield self._magnets(job, design)

    def _clearance(self, design: Design) -> Finding:
        from holders.checks import slices  # noqa: PLC0415

        gap, where = None, ""
        for lid, body, place in slices.facing(lid_parts(design), frame_parts(design)):
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

    def _play(self, job: Job, design: Design, play: float) -> Finding:
        thick = job.base.thickness_high_mm - design.film_thickness
        thin = design.film_thickness - job.base.thickness_low_mm
        if play <= 0 and design.lid_shoulder is not None and job.printer is not None:
            clear = design.lid_shoulder + job.printer.z_tolerance_mm - thinnest_film_mm(job)
            where = f"it lies on the film; the shoulder beside it is drawn {design.lid_shoulder:.2f} mm high"
            if clear > 1e-6:
                where += f", so thin film under a high shoulder leaves up to {clear:.2f} mm below the lid"
            return self.found(
                "warn" if clear > 1e-6 else "pass",
                title="lid's play over the film",
                measured=max(0.0, clear),
                limit=0.0,
                where=where,
                advice="measure the printed shoulder: where it is higher than the film, sand it down below it"
                if clear > 1e-6
                else "",
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
        from holders.checks.fittings.held_down import held_down  # noqa: PLC0415

        held = held_down(job, design, "lid")
        if held is None:
            why = "the strip's channel holds it between rails" if design.channel is not None else ""
            return self.skipped(
                design.no_sag_because or why or "film surface not computed", "lid heavy enough"
            )
        return self.found(
            held.level,
            title=held.title,
            measured=held.measured,
            limit=held.limit,
            unit="N",
            where=held.where,
            advice="" if held.level == "pass" else f"press the lid down all round and look; {TRIED}",
            field="lid.thickness_mm",
        )

    def _magnets(self, job: Job, design: Design) -> Finding:
        lid = job.preset.lid
        if lid is None or lid.magnets == 0:
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


def _cover(z0: float, z1: float, cut0: float, cut1: float, floors: list[float]) -> float:
    """What is left of a part behind a magnet pocket that is open at one face.

    The pocket of a lid opens downward; that of the frame opens at the ledge, so what lies below it counts.
    """
    if cut0 <= min(floors) + 1e-6:
        return z1 - cut1
    return cut0 - z0
