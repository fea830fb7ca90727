"""Stray light: edges under the film that shine into the picture, and holes in the film that let the lamp through."""

from __future__ import annotations

import math
from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_most
from holders.checks.light import film_scatter, veil
from holders.core.findings import Finding
from holders.design.model import EDGES, Design, Edge, Window
from holders.facts.tables import finish
from holders.film.stray import strip_view_factor, veil_limit

if TYPE_CHECKING:
    from holders.preset.resolve import Job

TINY_MM = 0.05


class Flare(Rule):
    """Stray light beside and through the film."""

    code = "flare"
    per_film = True
    title = "stray light from the edges of the window"
    why = "light that reaches the lens beside the picture's own lifts its dark parts and steals contrast"
    source = (
        "view factor of a small face and a long strip at right angles (Siegel and Howell, Thermal Radiation Heat "
        "Transfer: from memory); reflectances by the finish's row; perforations: ISO 1007, from memory"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """What the walls under the window throw at the picture's edge, and perforations past the lip."""
        if not design.windows:
            yield self.skipped("no window")
            return
        yield self._walls(job.preset.material.finish, job.base.refractive_index, design)
        yield self._holes(job.film.perforation_width_mm, design)

    def _walls(self, blackened: str, refractive_index: float, design: Design) -> Finding:
        row = finish(blackened)
        factor, number, edge = max(
            (wall_view(design, window, e), k, e) for k, window in design.numbered for e in EDGES
        )
        share = veil(row.reflectance, factor, film_scatter(refractive_index))
        level = at_most(share, veil_limit(), math.inf)
        density = "" if share <= 0 else f": no part of it looks denser than {-math.log10(share):.1f}"
        return self.found(
            level,
            measured=100 * share,
            limit=100 * veil_limit(),
            unit="% of white",
            where=f"at most, window {number}, {edge} edge: a wall of {design.heights.ledge_height:.1f} mm, {row.name}, "
            f"{_away(design.windows[number - 1], edge):.1f} mm from the picture{density}",
            advice=""
            if level == "pass"
            else "blacken every edge of the window and the ledge with matt black paint or ink, let it dry, and set "
            'material.finish = "matt-black"',
            field="material.finish",
        )

    def _holes(self, width: float, design: Design) -> Finding:
        if width <= 0:
            return self.skipped("the film has no perforations", "perforations lit")
        lit, number, edge = max(
            (window.holes_lit.of(e), k, e) for k, window in design.numbered for e in EDGES
        )
        level = at_most(lit, TINY_MM, math.inf)
        hides = design.windows[number - 1].lips.of(edge) + lit
        return self.found(
            level,
            title="perforations lit",
            measured=lit,
            limit=TINY_MM,
            where=f"of {width:g} mm, window {number}, {edge} edge, where the film lies farthest from it in its pocket",
            advice="" if level == "pass" else f"a lip of {hides:.2f} mm on that edge hides them",
            field=f"lip.{edge}_mm",
        )


def _away(window: Window, edge: Edge) -> float:
    """From the picture's edge, or the first of it that shows, to the wall, mm."""
    o, p = window.opening, window.picture
    inset = {"left": p.x - o.x, "right": o.right - p.right, "foot": p.y - o.y, "head": o.top - p.top}[edge]
    return max(0.0, inset)


def wall_view(design: Design, window: Window, edge: Edge) -> float:
    """View factor of the wall under one window edge, as the nearest part of the picture sees it."""
    h, away = design.heights, _away(window, edge)
    wall = window.wall or ((h.ledge_height, 0.0),)
    return strip_view_factor([(away + back, down) for down, back in wall])
