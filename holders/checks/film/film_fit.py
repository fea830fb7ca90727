"""The film in its pocket: it neither falls through nor jams, and the window shows what is wanted."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import pairwise
from typing import TYPE_CHECKING

from holders.checks.base import UNTRIED, Rule, at_least
from holders.core.findings import Finding
from holders.design.model import EDGES, Design, Edge, Rect, Window
from holders.design.parts.roles import frame_parts
from holders.facts.models import FilmFormat
from holders.facts.tables import process

if TYPE_CHECKING:
    from holders.preset.resolve import Job
    from holders.preset.tables.plain import PlainPreset

SNUG_MM = 0.1  # a side
SNAG_MM2 = 0.001
HIDES_MM = 0.05
HIDDEN = "lips within the film's clear border"
SEEN_GOOD, SEEN_POOR = 0.97, 0.5


class Lip(Rule):
    """Lip against the film's cutting tolerance."""

    code = "lip"
    per_film = True
    title = "film rests on its lip"
    why = (
        "film is cut a little large or small: the smallest must not fall through, the largest "
        "must not jam in its pocket"
    )
    source = (
        "arithmetic with the format's tolerance; at least 0.8 mm (1 mm in board) on the lip: "
        "common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Smallest film pushed to one side; largest film in the pocket; what the lips hide."""
        if not design.windows:
            yield self.skipped("no window")
            return
        yield self._rests(job.film, job.preset, design)
        yield self._enters(job.film, design)
        yield self._obstacles(job.film, design)
        yield self._hides(job.film, design)

    def _rests(self, film: FilmFormat, preset: PlainPreset, design: Design) -> Finding:
        least, number, edge = min(
            (rest_mm(window, edge, film.tolerance_mm), k, edge)
            for k, window in design.numbered
            for edge in EDGES
            if film.frame_pitch_mm is None or not _is_end(window, edge)  # a strip lies on its long edges
        )
        limit = process(design.route).least_lip_mm
        level = at_least(least, limit, 0.0) if least > 0 else "stop"
        return self.found(
            level,
            title="smallest film, pushed to one side, still rests on the other lip",
            measured=least,
            limit=limit,
            where=f"window {number}, {edge} edge",
            advice="" if level == "pass" else "a wider lip on that edge, or less clearance",
            field=_lip_field(preset, edge),
        )

    def _enters(self, film: FilmFormat, design: Design) -> Finding:
        tolerance = film.tolerance_mm
        free, number = min(
            (min(w.pocket.width - w.film.width, w.pocket.height - w.film.height) - tolerance, k)
            for k, w in design.numbered
        )
        level = at_least(free, 2 * SNUG_MM, 0.0) if free > 0 else "stop"
        return self.found(
            level,
            title="largest film enters its pocket",
            measured=free,
            limit=2 * SNUG_MM,
            where=f"window {number}, both sides together",
            advice="" if level == "pass" else "more clearance, or measure the film and narrow its tolerance",
            field="layout.clearance_mm",
        )

    def _obstacles(self, film: FilmFormat, design: Design) -> Finding:
        """The largest film laid into the real pocket: nothing of the frame may stand in its way."""
        from holders.design.parts import slices  # noqa: PLC0415

        frame = frame_parts(design)
        ledge = design.heights.drawn_ledge
        above = [z for z in slices.breaks(frame) if z >= ledge - slices.HAIR_MM]
        worst = 0.0, ""
        for low, high in pairwise(above):
            body = slices.covered_at(frame, (low + high) / 2)
            for k, window in design.numbered:
                sheet = slices.box(_largest(window, film.tolerance_mm))
                worst = max(
                    worst, (body.intersection(sheet).area, f"window {k}, {low:.2f} mm above the glass")
                )
        clear = worst[0] <= SNAG_MM2
        return self.found(
            "pass" if clear else "stop",
            title="nothing in the pocket in the way of the largest film",
            measured=worst[0],
            limit=SNAG_MM2,
            unit="mm²",
            where="" if clear else worst[1],
            advice="" if clear else "more clearance, so that corners and notches stay off the film",
            field="layout.clearance_mm",
        )

    def _hides(self, film: FilmFormat, design: Design) -> Finding:
        most, number, edge = most_hidden(design)
        window = design.windows[number - 1]
        seen = window.seen
        return self.found(
            "warn" if most > HIDES_MM else "pass",
            title=HIDDEN,
            measured=max(0.0, most),
            limit=HIDES_MM,
            where=f"window {number}: {_covered(window)}; {seen:.1%} of the picture shows",
            advice=""
            if most <= HIDES_MM
            else _narrower(window, edge, film, process(design.route).least_lip_mm),
            field=f"lip.{edge}_mm",
        )


def _covered(window: Window) -> str:
    """How much of the picture each lip covers, in words."""
    found = [(edge, hidden_mm(window, edge)) for edge in EDGES]
    words = ", ".join(f"{edge} {most:.2f} mm" for edge, most in found if most > HIDES_MM)
    return words or "nothing covered"


def most_hidden(design: Design) -> tuple[float, int, Edge]:
    """How much of a picture a lip covers at most, mm; the number of its window, and the edge."""
    return max((hidden_mm(window, edge), k, edge) for k, window in design.numbered for edge in EDGES)


def narrower_lips(window: Window, edge: Edge, film: FilmFormat, least_mm: float) -> dict[Edge, float]:
    """The lips that show the picture at this edge and the others that cover it, mm, where the smallest film, pushed
    away from one, still rests on it; none where it does not at this edge.
    """
    covers = [one for one in EDGES if one == edge or hidden_mm(window, one) > HIDES_MM]
    rests = [one for one in covers if _still_rests(window, one, film, least_mm)]
    return {one: window.lips.of(one) - hidden_mm(window, one) for one in rests} if edge in rests else {}


def _still_rests(window: Window, edge: Edge, film: FilmFormat, least_mm: float) -> bool:
    """Whether film rests on a lip that shows all of the picture; a strip's ends may be free."""
    free = film.frame_pitch_mm is not None and _is_end(window, edge)
    return free or rest_mm(window, edge, film.tolerance_mm) - hidden_mm(window, edge) >= least_mm


def _narrower(window: Window, edge: Edge, film: FilmFormat, least_mm: float) -> str:
    """What to do about a lip that covers the picture, before narrower ones are tried."""
    narrow = narrower_lips(window, edge, film, least_mm)
    if narrow:
        return f"{UNTRIED}narrower lips at the {' and '.join(narrow)}"
    rest = max(rest_mm(window, edge, film.tolerance_mm) - hidden_mm(window, edge), 0)
    return f"accept it, or crop: on a lip that shows all of the picture the smallest film has {rest:.2f} mm"


def rest_mm(window: Window, edge: Edge, tolerance_mm: float) -> float:
    """What stays on one lip when the smallest film lies against the opposite pocket wall, mm."""
    o, p, film = window.opening, window.pocket, window.film
    if edge in ("left", "right"):
        play = p.width - (film.width - tolerance_mm)
        return (o.x - p.x if edge == "left" else p.right - o.right) - play
    play = p.height - (film.height - tolerance_mm)
    return (o.y - p.y if edge == "foot" else p.top - o.top) - play


def _is_end(window: Window, edge: Edge) -> bool:
    """Whether a strip ends at that edge."""
    return (edge in ("left", "right")) == window.turned


def hidden_mm(window: Window, edge: Edge) -> float:
    """How far the ledge reaches over the picture at one edge, mm; negative: clear border that shows."""
    o, p = window.opening, window.picture
    return {"left": o.x - p.x, "right": p.right - o.right, "foot": o.y - p.y, "head": p.top - o.top}[edge]


def _largest(window: Window, tolerance_mm: float) -> Rect:
    """The largest film, lying in the middle of its pocket."""
    p = window.pocket
    width, height = window.film.width + tolerance_mm, window.film.height + tolerance_mm
    return Rect(p.x + (p.width - width) / 2, p.y + (p.height - height) / 2, width, height)


def _lip_field(preset: PlainPreset, edge: Edge) -> str:
    lip = preset.lip
    if lip.rebate_edge == edge:
        return "lip.rebate_mm"
    return "lip.all_mm" if getattr(lip, f"{edge}_mm") is None else f"lip.{edge}_mm"


class Rebate(Rule):
    """The clear film border that one edge was told to leave visible."""

    code = "rebate"
    per_film = True
    title = "clear film border shown for colour inversion"
    why = (
        "inverting a colour negative needs the colour of its clear base; without a visible border "
        "it is guessed"
    )
    source = "common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Width of border seen at the wished edge, less what the ledge shades."""
        edge, wish = job.preset.lip.rebate_edge, job.preset.lip.rebate_mm
        if edge is None:
            yield self.skipped("no edge was told to leave its border visible")
            return
        if not design.windows:
            yield self.skipped("no window")
            return
        shown, number = min((-hidden_mm(w, edge) - w.shaded.of(edge), k) for k, w in design.numbered)
        level = at_least(shown + HIDES_MM, wish, wish) if shown > 0 else "stop"
        level = "warn" if level == "stop" and shown > 0 else level
        yield self.found(
            level,
            measured=max(0.0, shown),
            limit=wish,
            where=(
                f"window {number}, {edge} edge; {design.windows[number - 1].shaded.of(edge):.2f} "
                "mm of it shaded"
            ),
            advice=""
            if level == "pass"
            else "ask for more border, choose another edge, or measure the picture on your film",
            field="lip.rebate_mm",
        )


def _shade_words(shade: tuple[float, float]) -> str:
    """What the frame under the window's edges keeps from the lens, left and right, in words."""
    if max(shade) <= HIDES_MM:
        return "covered by its lips, nothing lies in shade"
    return f"in the shade of its edges: left {shade[0]:.2f}, right {shade[1]:.2f} mm"


class Seen(Rule):
    """Share of the picture that the scan shows."""

    code = "seen"
    per_film = True
    title = "share of the picture shown"
    why = "what lip, ledge and lid hide or shade is not in the scan"
    source = "plane geometry; limits common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """The window that shows least."""
        if not design.windows:
            yield self.skipped("no window")
            return
        seen, number = min((window.seen, k) for k, window in design.numbered)
        shaded = design.windows[number - 1].shaded
        shade = (shaded.left, shaded.right)
        level = at_least(seen, SEEN_GOOD, SEEN_POOR)
        yield self.found(
            level,
            measured=seen,
            limit=SEEN_GOOD,
            unit="of the picture",
            where=f"window {number}; {_shade_words(shade)}",
            advice=""
            if level == "pass"
            else f'{UNTRIED}layout.relief = "auto", or lips with more room under them'
            if max(shade) > HIDES_MM
            else "narrower lips: what each covers stands beside",
            field="lip.all_mm",
        )
