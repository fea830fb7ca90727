"""Walls and ledges thick enough for the route, measured on the sections of the real parts."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING, NamedTuple

from holders.checks.base import Rule, at_least, gathered
from holders.core.findings import Finding
from holders.design.model import EDGES, Design, Edge, Part, Role, Window
from holders.design.parts.roles import frame_parts

if TYPE_CHECKING:
    from holders.facts.models import Material, Printer
    from holders.geometry.thickness import Thin
    from holders.preset.resolve import Job

FOUND_TO_MM = 0.01  # the search's step and the chords of arcs: a wall just at its limit passes
SEARCH = 3.0  # times the limit: walls beyond are reported as "at least"
CUT_WEB_MM = 0.5  # cut lines nearer than this burn the web between them away
KNIFE_WEB_MM = 3.0
BESIDE_MM = 0.02  # how far outside the window edge the lip is probed
PROBES = (0.2, 0.5, 0.8)  # along each edge


class Limits(NamedTuple):
    """Least wall of a part: below ``warn`` it is doubtful, below ``stop`` it will not be there."""

    warn: float
    stop: float


def wall_limits(material: Material, printer: Printer | None, part: Part) -> Limits:
    """The limits for a part by its route, mm."""
    if printer is not None:
        return Limits(2 * printer.nozzle_mm, printer.nozzle_mm)
    web = material.min_web_mm
    if part.process == "laser":
        return Limits(max(part.z1 - part.z0, web, CUT_WEB_MM), max(web, CUT_WEB_MM))
    least = web or KNIFE_WEB_MM
    return Limits(least, least / 2)


class Wall(Rule):
    """Least wall between any two faces of a part."""

    code = "wall"
    title = "thinnest wall"
    why = (
        "a printer drops a wall narrower than its line, and one line alone snaps; "
        "a cut web narrower than its sheet is thick breaks or burns through"
    )
    source = (
        "printed: two line widths, shop rule, from memory; laser: web as wide as the sheet is "
        "thick and cut lines "
        "0.5 mm apart, a cutting service's published advice on kerf; knife: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The thinnest wall of all sections of all parts, against the limit of its own part."""
        yield from gathered(self._of(job.material, job.printer, part) for part in design.parts)

    def _of(self, material: Material, printer: Printer | None, part: Part) -> tuple[float, str, Finding]:
        limits = wall_limits(material, printer, part)
        most = SEARCH * limits.warn
        worst, z = _thinnest(part, most)
        if worst is None:
            found = self.found("pass", measured=f"at least {most:.2f}", limit=limits.warn, where=part.name)
            return SEARCH, part.name, found
        level = at_least(worst.width + FOUND_TO_MM, limits.warn, limits.stop)
        found = self.found(
            level,
            measured=worst.width
            if level != "pass"
            else max(worst.width, limits.warn),  # as near as it is found
            limit=limits.warn,
            where=f"{part.name}, x {worst.x:.1f}, y {worst.y:.1f}, {z:.2f} mm above the glass",
            advice="" if level == "pass" else wider(part),
            field=width_key(part),
        )
        return worst.width / limits.warn, part.name, found


def width_key(part: Part) -> str:
    """The key that makes the walls of a part wider; a lid's have nothing to do with those between pockets."""
    return "lid.lip_mm" if part.role is Role.LID else "layout.wall_mm"


def wider(part: Part) -> str:
    """The same in words."""
    if part.role is Role.LID:
        return "the lid's rails are as wide as lid.lip_mm and the lip under the film, lip.all_mm, let them be"
    return "make layout.wall_mm larger, or ask for fewer films"


def _thinnest(part: Part, most: float) -> tuple[Thin | None, float]:
    """The thinnest place over all sections of the part, and its height."""
    from holders.design.parts.slices import slices  # noqa: PLC0415
    from holders.geometry.thickness import thinnest  # noqa: PLC0415

    worst, z, seen = None, part.z0, set()
    for item in slices(part):
        if item.shape.wkb in seen:
            continue
        seen.add(item.shape.wkb)
        here = thinnest(item.shape, worst.width if worst else most)
        if here is not None:
            worst, z = here, item.z
    return worst, z


class Ledge(Rule):
    """Vertical thickness of the ledge at the very edge of the window."""

    code = "ledge"
    per_film = True
    title = "thickness of the ledge at the window"
    why = (
        "the film hangs on it: a feather edge prints ragged, and dents let the film down where "
        "focus matters most"
    )
    source = "at least three printed layers, or one whole sheet: common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """The thinnest and emptiest place of all lips."""
        found = _lips(design)
        if not found:
            yield self.skipped("no window has a lip")
            return
        thickness, where, edge = min(found)
        warn, stop = self._limits(job.printer, design)
        level = at_least(thickness, warn, stop)
        yield self.found(
            level,
            measured=thickness,
            limit=warn,
            where=where,
            advice="" if level == "pass" else self._advice(job.printer, thickness),
            field=f"lip.{edge}_mm" if thickness <= 0 else "layout.relief",
        )

    @staticmethod
    def _limits(printer: Printer | None, design: Design) -> Limits:
        if printer is not None:
            return Limits(3 * printer.layer_mm, 2 * printer.layer_mm)
        sheets = [slab.z1 - slab.z0 for part in frame_parts(design) for slab in part.slabs]
        return Limits(min(sheets), min(sheets) / 2)

    @staticmethod
    def _advice(printer: Printer | None, thickness: float) -> str:
        if thickness <= 0:
            return "nothing lies under the film's edge there: make the lip wider"
        if printer is not None:
            return 'a higher ledge, thinner layers or layout.relief = "none" leave more under the film'
        return "take a thicker sheet for the ledge"


def _lips(design: Design) -> list[tuple[float, str, Edge]]:
    """For every edge with a lip: the most that lies under one of its probes, with place and edge.

    A probe may meet a finger notch's dip, so the median of the edge's probes counts, not its least.
    """
    from holders.design.parts.slices import solid_below  # noqa: PLC0415

    ledge = design.heights.drawn_ledge
    probes, names = [], []
    for number, window in design.numbered:
        for edge in EDGES:
            if window.lips.of(edge) > BESIDE_MM:
                probes += [_beside(window, edge, share) for share in PROBES]
                names.append((f"window {number}, {edge} edge", edge))
    deep = solid_below(frame_parts(design), ledge, probes)
    step = len(PROBES)
    return [(sorted(deep[k * step : (k + 1) * step])[step // 2], *name) for k, name in enumerate(names)]


def _beside(window: Window, edge: Edge, share: float) -> tuple[float, float]:
    """A point on the lip, just outside the window's opening."""
    o = window.opening
    if edge in ("left", "right"):
        return (o.x - BESIDE_MM if edge == "left" else o.right + BESIDE_MM), o.y + share * o.height
    return o.x + share * o.width, (o.y - BESIDE_MM if edge == "foot" else o.top + BESIDE_MM)
