"""Steel bars on a lid: whether their weight is on the film, and whether they stay on."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import FittedRule, at_least
from holders.core.findings import Finding
from holders.design.model import Design
from holders.fittings.bars.fitted import Steel
from holders.fittings.bars.seat import COVER_MM, OVER_MM
from holders.fittings.bars.words import SAID

if TYPE_CHECKING:
    from holders.preset.resolve import Job

GLUED_MM = 1.5
EVEN = 1e-6


class BarsRule(FittedRule[Steel]):
    """Steel bars: clear of the frame, covered or well glued."""

    code = "bars"
    per_film = True
    title = "steel bars on the lid"
    why = (
        "a bar that rests on the frame presses on nothing, and one that comes off breaks the scanner's glass"
    )
    source = (
        "common practice, no source; density of steel: EN 1991-1-1, Table A.4, from memory; the lid's weight and what "
        "the film needs are compared in lid-fit"
    )
    said = SAID
    fitted = Steel
    absent = "the holder has no steel bars"

    def look(self, job: Job, design: Design, made: Steel) -> Iterator[Finding]:
        """Room below bars over the frame with the thinnest film, what covers them, what they are glued to."""
        if made.over is None:
            yield self.skipped("no bar reaches out over the frame", "room between bars and frame")
        else:
            thin = max(0.0, design.film_thickness - job.base.thickness_low_mm)
            room = made.over - thin
            level = at_least(room, OVER_MM - EVEN, 0.0)
            yield self.found(
                level,
                title="room between bars and frame",
                measured=room,
                limit=OVER_MM,
                where=f"with the thinnest film of this base, {job.base.thickness_low_mm:g} mm",
                advice="" if level == "pass" else "make the frame's wall lower, or the lid thicker",
                field="layout.pocket_depth_mm",
            )
        if made.on:
            level = at_least(made.glued, GLUED_MM - EVEN, 0.0)
            yield self.found(
                level,
                title="strip that a bar is glued to",
                measured=made.glued,
                limit=GLUED_MM,
                advice="" if level == "pass" else "let the lid reach farther over the film",
                field="lid.lip_mm",
            )
            yield self.skipped("the bars lie on the lid", "lid above the bars")
        else:
            level = at_least(made.cover, COVER_MM - EVEN, 0.0)
            yield self.found(
                level,
                title="lid above the bars",
                measured=made.cover,
                limit=COVER_MM,
                advice="" if level == "pass" else "make the lid thicker, or take a lower bar",
                field="lid.thickness_mm",
            )
            yield self.skipped("the bars lie in the lid", "strip that a bar is glued to")
