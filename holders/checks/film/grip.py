"""Taking hold: of a lid by its tab, of film by its edge, of plates at two edges, of mounts by what stands out."""

from __future__ import annotations

import math
from collections.abc import Iterator, Sequence
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, at_most
from holders.core.findings import Finding
from holders.design.draft.notches import deep_enough, openings
from holders.design.model import Design, Role, Window
from holders.facts.habits import habit
from holders.geometry.grip import Grip

if TYPE_CHECKING:
    from holders.preset.resolve import Job

BY_TAPE = "fold strong tape over the tab so that an end stands up, and lift by that"


class Grips(Rule):
    """Room for gloved fingers."""

    code = "grip"
    per_film = True
    title = "finger room at the film"
    why = "what cannot be taken hold of is pried out with a blade or shaken out, and scratched"
    source = (
        "a fingertip in a thin glove is 16 to 20 mm wide and goes in 5 mm: common practice, no source; 1.2 mm of a "
        "plate's edge: our own choice"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The window that gives least room, for what has to be lifted there."""
        if any(part.role is Role.CORNER for part in design.parts) or design.pocket_depth <= 0:
            yield self.skipped("the film lies on top of a board: a folded card lifts it")
            return
        found = [(k, w.grips) for k, w in design.numbered if w.grips is not None]
        if not found:
            yield self.skipped("no notches to look at")
            return
        if job.film.kind == "mount":
            yield self._mounts(design)
            if job.preset.layout.finger_notches:
                yield self._notched(found)
        elif any(part.role is Role.LID for part in design.parts):
            if any(made.lifted_by for made in design.fitted):
                yield self._bars(design)
            else:
                yield self._tab(found)
                yield self._hold(design, found)
            yield self._thumb(design, found)
            if job.film.kind == "plate":
                yield self._plate(job.film.kind, design, found)
        elif job.film.kind == "plate" or any(one.plates for one in design.fitted):
            yield self._plate(job.film.kind, design, found)
            yield self._edge(job.film.kind, design, found)
        else:
            yield self._film(found)
            yield self._closed(design)

    def _tab(self, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        """The tab that leaves a finger least room: a lid is lifted at one end, then at the other."""
        tabs = [(grip, number) for number, grips in found for grip in grips if grip.tab]
        title, limit = "finger room beside the lid's tab", habit("gloved-finger")
        bare = next((number for number, grips in found if not any(grip.tab for grip in grips)), None)
        if bare is not None:
            room, where = 0.0, f"window {bare}, no notch takes a tab"
        else:
            grip, number = min(tabs, key=lambda pair: pair[0].beside_mm)
            room, where = grip.beside_mm, f"window {number}, on either side of the tab at the {grip.edge}"
            deep = {number for tab, number in tabs if deep_enough(tab)}
            # a lid without any deep notch before one that has another
            grip, number = min(tabs, key=lambda pair: (pair[1] in deep, pair[0].depth_mm))
            if room >= limit and not deep_enough(grip):
                return self._shallow(grip, number, number in deep)
        level = at_least(room, limit, -math.inf)
        return self.found(
            level,
            title=title,
            measured=room,
            limit=limit,
            where=where,
            advice="" if level == "pass" else BY_TAPE,
            field="lid.tabs",
        )

    def _shallow(self, grip: Grip, number: int, another: bool) -> Finding:
        """A notch less deep than a fingertip: no harm where the lid's other end is lifted first."""
        return self.found(
            "skip" if another else "warn",
            title="depth of the notch beside the lid's tab",
            measured=grip.depth_mm,
            limit=habit("finger-deep"),
            where=f"window {number}, at the {grip.edge}",
            advice="the other end has a deep one: lift the lid there first, then this end by strong tape folded over "
            "its tab"
            if another
            else BY_TAPE,
            field="lid.tabs",
        )

    def _hold(self, design: Design, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        """What a finger takes hold of at the tab: an undercut, a grip over the frame, or the height of its sides."""
        lids = [part for part in design.parts if part.role is Role.LID]
        under = min(min((g.undercut_mm for g in grips if g.tab), default=0.0) for _, grips in found)
        proud = max((made.proud_mm for made in design.fitted), default=0.0)
        sides = min(part.z1 - part.z0 for part in lids)
        limit, held = habit("tab-proud"), max(under, proud)
        where = (
            f"its sides stand {under:g} mm out over a fingertip"
            if under >= proud
            else "a grip above the frame"
        )
        if held < limit and sides >= habit("tab-sides"):
            held, limit, where = sides, habit("tab-sides"), "height of its sides, between thumb and finger"
        level = at_least(held, limit, -math.inf)
        return self.found(
            level,
            title="hold on the lid's tab",
            measured=held,
            limit=limit,
            where=where,
            advice="" if level == "pass" else BY_TAPE,
            field="lid.thickness_mm",
        )

    def _bars(self, design: Design) -> Finding:
        """How far what a hand takes the lid by stands above the frame."""
        proud, limit = max(made.proud_mm for made in design.fitted), habit("tab-sides")
        level = at_least(proud, limit, -math.inf)
        return self.found(
            level,
            title="hold on the bars on the lid",
            measured=proud,
            limit=limit,
            where="above the frame, by their outer faces at two opposite sides",
            advice=""
            if level == "pass"
            else "fold strong tape over two bars so that an end stands up, and lift by that",
            field="bars.sides",
        )

    def _thumb(self, design: Design, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        title = "thumb opening at the film's end"
        opened = [(max((g.through_mm for g in grips), default=0.0), number) for number, grips in found]
        room, number = min(opened)
        if room <= 0:
            return self._closed(design)
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

    def _closed(self, design: Design) -> Finding:
        """Why there is no opening below the film: what lies beside the picture is all that may cover it."""
        border = max(_border_mm(window) for window in design.mine)
        return self.skipped(
            f"the floor below the film is closed: beyond the picture its end is {border:.1f} mm, a fingertip needs "
            f"{habit('finger-deep'):g} mm, and nothing wide enough closes an opening against light; it is lifted "
            "by its edge at a notch, or by a strip of thin paper laid under its end",
            "thumb opening at the film's end",
        )

    def _film(self, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        room, number = min(
            (max((g.width_mm for g in grips if deep_enough(g)), default=0.0), number)
            for number, grips in found
        )
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

    def _plate(self, kind: str, design: Design, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        """Openings that let fingertips at two opposite edges, unless the plate stands out of its pocket all round."""
        own = design.in_pocket != "film"
        least, number = min((openings(grips), number) for number, grips in found)
        if least < 2 and (proud := _proud_mm(kind, design)) >= habit("plate-edge"):
            return self.found(
                "pass",
                title="plate above its wall",
                measured=proud,
                limit=habit("plate-edge"),
                where="all round: fingers take it by its edges without an opening",
            )
        level = at_least(least, 2, -math.inf)
        return self.found(
            level,
            title="openings to lift the plate",
            measured=least,
            limit=2,
            unit="",
            where=f"window {number}",
            advice=""
            if level == "pass"
            else "fold strong tape over the glass's bare rim, so that an end stands up, and lift by that"
            if own
            else "lift the plate with a suction lifter, away from the scanner",
            field="layout.finger_notches",
        )

    def _edge(self, kind: str, design: Design, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        """How much of the plate's edge is bare in the openings, which go down to the ledge, or above the wall."""
        low, high = _lifted_mm(kind, design)
        opened = all(openings(grips) == 2 for _, grips in found)
        bare, limit = high - low if opened else _proud_mm(kind, design), habit("plate-edge")
        title = "edge of the plate for fingertips"
        if bare <= 0:
            return self.skipped("no opening bares it at two opposite edges", title)
        level = at_least(bare, limit, -math.inf)
        return self.found(
            level,
            title=title,
            measured=bare,
            limit=limit,
            where="in openings at opposite edges, down to the ledge" if opened else "above the wall",
            advice="" if level == "pass" else "lift the plate with a suction lifter, away from the scanner",
            field="cover.thickness_mm" if kind != "plate" else "film.thickness_mm",
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

    def _notched(self, found: Sequence[tuple[int, tuple[Grip, ...]]]) -> Finding:
        """Pockets in which no notch lets a fingertip at the mount."""
        bare = [number for number, grips in found if not any(deep_enough(grip) for grip in grips)]
        level = at_most(len(bare), 0, math.inf)
        return self.found(
            level,
            title="pockets without a notch for a finger",
            measured=len(bare),
            limit=0,
            unit=f"of {len(found)} pockets",
            where=f"window{'s' * (len(bare) > 1)} {', '.join(map(str, bare))}" if bare else "all windows",
            advice="" if level == "pass" else "lift the mount there with a folded card under one edge",
            field="layout.finger_notches",
        )


def _lifted_mm(kind: str, design: Design) -> tuple[float, float]:
    """Lower and upper height of what is lifted out of the pocket: the plate itself, or the glass on the film."""
    ledge = design.heights.drawn_ledge
    if kind == "plate":
        return ledge, ledge + design.film_thickness
    glass = [plate for one in design.fitted for plate in one.plates if not plate.is_film]
    return min((plate.z0 for plate in glass), default=ledge), max(
        (plate.z1 for plate in glass), default=ledge
    )


def _proud_mm(kind: str, design: Design) -> float:
    """How far the plate stands above the wall round its pocket; negative below it."""
    return _lifted_mm(kind, design)[1] - design.heights.drawn_ledge - design.pocket_depth


def _border_mm(window: Window) -> float:
    """How far the film goes on beyond its picture at its short edges, the longer one."""
    film, picture = window.film, window.picture
    if film.width > film.height:
        return max(picture.x - film.x, film.right - picture.right)
    return max(picture.y - film.y, film.top - picture.top)
