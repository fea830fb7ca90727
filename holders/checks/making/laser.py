"""Laser cutting: what must not be burnt, and webs and slots against the beam's width."""

from __future__ import annotations

from collections.abc import Iterator
from itertools import combinations
from typing import TYPE_CHECKING

from holders.checks.base import Rule, at_least, gathered
from holders.checks.frame.walls import CUT_WEB_MM, FOUND_TO_MM, wider, width_key
from holders.core.findings import Finding, Level
from holders.design.model import Design, Part

if TYPE_CHECKING:
    from shapely.geometry.base import BaseGeometry

    from holders.facts.models import Material
    from holders.preset.resolve import Job

WATCH = (
    "fumes and fire: extraction on, never leave a running laser alone; the operator and local rules decide"
)


class LaserMaterial(Rule):
    """Material allowed in a laser."""

    code = "laser-material"
    title = "material in a laser cutter"
    why = (
        "plastics with chlorine give off hydrogen chloride, which poisons people and eats the "
        "machine; others burn or melt"
    )
    source = (
        "approved and prohibited lists of two universities' workshops (Illinois Chicago; Texas at Austin)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Stops on a forbidden material, warns where the operator must be asked."""
        if design.route != "laser":
            yield self.skipped("not cut by laser")
            return
        levels: dict[str, Level] = {"allowed": "pass", "ask the operator": "warn"}
        level = levels.get(job.material.laser, "stop")
        advice = {
            "pass": WATCH,
            "warn": f"ask the operator of the laser before you bring it; {WATCH}",
            "stop": (
                "do not put it in a laser: take an allowed material (cast acrylic, plywood, "
                "board) or another route"
            ),
        }[level]
        yield self.found(
            level,
            measured=job.material.laser,
            limit="allowed",
            unit="",
            where=f"{job.material.name}: {job.material.laser_reason}".rstrip(": "),
            advice=advice,
            field="material.name",
        )


class Bridges(Rule):
    """Webs between neighbouring cuts, and slots wider than the beam."""

    code = "bridges"
    title = "bridge between two laser cuts"
    why = (
        "a bridge between two cuts chars, bends or falls out when it is narrow, and a slot "
        "narrower than the beam cannot be cut"
    )
    source = (
        "cut lines at least 0.5 mm apart, bridge as wide as the sheet is thick: "
        "a cutting service's published advice on kerf (read)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Per sheet: the least distance between two cut lines; then openings against the kerf."""
        if design.route != "laser":
            yield self.skipped("not cut by laser")
            return
        yield from gathered(self._bridge(job.material, part) for part in design.parts)
        yield self._slot(job.material, design)

    def _bridge(self, material: Material, part: Part) -> tuple[float, str, Finding]:
        from holders.design.parts.slices import slices  # noqa: PLC0415

        found = [bridge for item in slices(part) for bridge in _nearest_cuts(item.shape)]
        if not found:
            return 0.0, part.name, self.skipped(f"{part.name}: one cut line only")
        width, x, y = min(found)
        thick = part.z1 - part.z0
        limit = max(CUT_WEB_MM, thick, material.min_web_mm)
        level = at_least(width + FOUND_TO_MM, limit, CUT_WEB_MM)
        finding = self.found(
            level,
            measured=width,
            limit=limit,
            where=f"{part.name}, x {x:.1f}, y {y:.1f}",
            advice="" if level == "pass" else wider(part),
            field=width_key(part),
        )
        return width / limit, part.name, finding

    def _slot(self, material: Material, design: Design) -> Finding:
        from holders.design.parts.slices import slices  # noqa: PLC0415

        kerf = material.kerf_mm
        if kerf <= 0:
            return self.found(
                "warn",
                title="kerf",
                measured=kerf,
                limit=0.0,
                advice=(
                    "measure the kerf on a coupon: without it every opening comes out larger and "
                    "every part smaller"
                ),
                field="material.kerf_mm",
            )
        lost = [
            (part.name, *hole.representative_point().coords[0])
            for part in design.parts
            for item in slices(part)
            for hole in _holes(item.shape)
            if hole.buffer(-kerf / 2).is_empty
        ]
        return self.found(
            "stop" if lost else "pass",
            title="openings wider than the kerf",
            measured=float(len(lost)),
            limit=0.0,
            unit="lost openings",
            where=f"{lost[0][0]}, x {lost[0][1]:.1f}, y {lost[0][2]:.1f}" if lost else f"kerf {kerf:g} mm",
            advice="the beam is wider than this opening: make it wider or leave it out" if lost else "",
            field="material.kerf_mm",
        )


def _holes(shape: BaseGeometry) -> list[BaseGeometry]:
    import shapely  # noqa: PLC0415

    from holders.geometry.thickness import polygons  # noqa: PLC0415

    return [shapely.Polygon(ring) for piece in polygons(shape) for ring in piece.interiors]


def _nearest_cuts(shape: BaseGeometry) -> list[tuple[float, float, float]]:
    """Distance of each two cut lines of a sheet, and the middle of the web there."""
    import shapely  # noqa: PLC0415

    from holders.geometry.thickness import polygons  # noqa: PLC0415

    found = []
    for piece in polygons(shape):
        rings = [piece.exterior, *piece.interiors]
        for one, two in combinations(rings, 2):
            web = shapely.shortest_line(one, two)
            (ax, ay), (bx, by) = web.coords[0], web.coords[-1]
            found.append((float(web.length), (ax + bx) / 2, (ay + by) / 2))
    return found
