"""A board without a pocket: the film lies on top of it, and only what is glued on keeps it in its place."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_most
from holders.core.findings import Finding
from holders.design.model import Design, Part, Role
from holders.geometry.outline import points

if TYPE_CHECKING:
    import shapely

    from holders.preset.resolve import Job

SNAG_MM2 = 0.001
CHORD_MM = 0.01


class OneBoard(Rule):
    """What keeps the film of a board without a pocket in its place."""

    code = "one-board"
    per_film = True
    title = "film kept in its place on the board"
    why = "film that only lies on a board is shifted by a draught, a sleeve or the lamp's lid, and slips off its lip"
    source = "common practice, no source"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Corner stops there, and none of them in the way of the largest film."""
        if design.pocket_depth > 0 or not design.windows:
            yield self.skipped("the film lies in a pocket")
            return
        stops = [part for part in design.parts if part.role is Role.CORNER]
        yield self.found(
            "pass" if stops else "warn",
            measured=sum(part.quantity for part in stops),
            limit=4 * len(design.windows),
            unit="corner stops",
            advice=""
            if stops
            else "set layout.corner_stops = true: they are cut from the board that falls out",
            field="layout.corner_stops",
        )
        if not stops:
            yield self.skipped("there are no corner stops", "corner stops off the largest film")
            return
        yield self._clear(job.film.tolerance_mm / 2, design, stops)

    def _clear(self, by: float, design: Design, stops: list[Part]) -> Finding:
        import shapely  # noqa: PLC0415 - the list of checks stays instant

        bodies = shapely.union_all([shape for part in stops for shape in _standing(part)])
        largest = shapely.union_all(
            [
                shapely.box(f.x - by, f.y - by, f.right + by, f.top + by)
                for f in (window.film for window in design.mine)
            ]
        )
        area = bodies.intersection(largest).area
        return self.found(
            "stop" if at_most(area, SNAG_MM2, SNAG_MM2) == "stop" else "pass",
            title="corner stops off the largest film",
            measured=area,
            limit=SNAG_MM2,
            unit="mm²",
            advice="" if area <= SNAG_MM2 else "more clearance round the film",
            field="layout.clearance_mm",
        )


def _standing(part: Part) -> list[shapely.Polygon]:
    import shapely  # noqa: PLC0415

    shape = shapely.Polygon(points(part.slabs[0].region.outer, CHORD_MM))
    return [shapely.affinity.translate(shape, dx, dy) for dx, dy in part.places]
