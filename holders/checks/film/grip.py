"""Taking hold: of a lid by its tab, of film by its edge, of plates at two edges, of mounts by what stands out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.core.findings import Finding
from holders.design.model import Design, Role
from holders.facts.habits import habit
from holders.geometry.grip import Grip

if TYPE_CHECKING:
    from holders.preset.resolve import Job

OPPOSITE = {"left": "right", "right": "left", "head": "foot", "foot": "head"}


class Grips(Rule):
    """Room for gloved fingers."""

    code = "grip"
    title = "finger room at the film"
    why = "what cannot be taken hold of is pried out with a blade or shaken out, and scratched"
    source = "a fingertip in a thin glove is 16 to 20 mm wide: common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The window that gives least room, for what has to be lifted there."""
        if any(part.role is Role.CORNER for part in design.parts) or design.pocket_depth <= 0:
            yield self.skipped("the film lies on top of a board: a folded card lifts it")
            return
        found = [(k, w.grips) for k, w in enumerate(design.windows, 1) if w.grips is not None]
        if not found:
            yield self.skipped("no notches to look at")
            return
        if job.film.kind == "mount":
            yield self._mounts(design)
        elif any(part.role is Role.LID for part in design.parts):
            yield self._tab(found)
            yield self._thumb(found)
        elif job.film.kind == "plate" or any(one.plates for one in design.fitted):
            yield self._plate(found)
        else:
            yield self._film(found)

    def _tab(self, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        room, number = min(
            (max((g.beside_mm for g in grips if g.tab), default=0.0), number) for number, grips in found
        )
        level = at_least(room, habit("gloved-finger"), -math.inf)
        return self.found(
            level,
            title="finger room beside the lid's tab",
            measured=room,
            limit=habit("gloved-finger"),
            where=f"window {number}, on either side",
            advice=""
            if level == "pass"
            else "fold strong tape over the tab so that an end stands up, and lift by that",
            field="lid.tabs",
        )

    def _thumb(self, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        title = "thumb opening at the film's end"
        opened = [(max((g.through_mm for g in grips), default=0.0), number) for number, grips in found]
        room, number = min(opened)
        if room <= 0:
            return self.skipped(
                "the floor below the film is closed: it is lifted by its edge at a notch", title
            )
        level = at_least(room, habit("gloved-finger"), -math.inf)
        return self.found(
            level,
            title=title,
            measured=room,
            limit=habit("gloved-finger"),
            where=f"window {number}, through ledge and floor; the lid's tab closes it against light",
            advice=""
            if level == "pass"
            else "lay a strip of thin paper under the film's end and lift by that",
            field="lid.tabs",
        )

    def _film(self, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        room, number = min((max((g.width_mm for g in grips), default=0.0), number) for number, grips in found)
        level = at_least(room, habit("gloved-finger"), -math.inf)
        return self.found(
            level,
            measured=room,
            limit=habit("gloved-finger"),
            where=f"window {number}",
            advice=""
            if level == "pass"
            else "lay a strip of thin paper under the film's end and lift by that",
            field="layout.finger_notches",
        )

    def _plate(self, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        least, number = min((_openings(grips), number) for number, grips in found)
        level = at_least(least, 2, -math.inf)
        return self.found(
            level,
            title="openings to lift the plate",
            measured=least,
            limit=2,
            unit="at opposite edges",
            where=f"window {number}",
            advice="" if level == "pass" else "lift the plate with a suction lifter, away from the scanner",
            field="layout.finger_notches",
        )

    def _mounts(self, design: Design) -> Finding:
        share, limit = design.pocket_depth / design.film_thickness, habit("mount-sunk-share")
        level = at_most(share, limit, math.inf)
        return self.found(
            level,
            title="mounts sunk in their pocket",
            measured=share,
            limit=limit,
            unit="of its thickness",
            where=f"a wall of {design.pocket_depth:.2f} mm round mounts of {design.film_thickness:g} mm",
            advice="" if level == "pass" else "lift them at a notch, or with tape pressed on the mount",
            field="layout.pocket_depth_mm",
        )


def _openings(grips: Sequence[Grip]) -> int:
    """How many openings wide enough for a finger: 2 where two lie at opposite edges, else 1 or 0."""
    edges = {g.edge for g in grips if g.width_mm >= habit("gloved-finger")}
    return 2 if any(OPPOSITE[edge] in edges for edge in edges) else min(1, len(edges))
