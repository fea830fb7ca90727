"""Film in a slide mount: how thick the mount is, where in it the film lies, and how far it may bow there."""

from __future__ import annotations

import math
from collections.abc import Iterator
from types import MappingProxyType
from typing import TYPE_CHECKING

from holders.checks.base import FLAT, Rule, at_least, at_most
from holders.checks.words import Said
from holders.core.findings import Finding
from holders.design.model import Design
from holders.facts.habits import habit

if TYPE_CHECKING:
    from holders.facts.models import FilmFormat
    from holders.preset.resolve import Job

INSIDE, KNOWN, THICK, BOW = (
    "film between the faces of its mount",
    "how well the film's height in its mount is known",
    "thickness of the mount",
    "bow of the film in its mount",
)


class Mount(Rule):
    """The film's place in its mount."""

    code = "mount"
    per_film = True
    title = "film in its mount"
    why = (
        "mounts are 1 to 3 mm thick and hold the film midway or nearer to one face: what is taken for granted there "
        "moves the picture as much as a wrong ledge does"
    )
    source = (
        "arithmetic; thickest mount 3.2 mm: ISO 1755, from memory; how far from midway, and how much mounts of one "
        "make differ: common practice, no source"
    )
    said = MappingProxyType(
        {
            INSIDE: Said(
                "The film lies between the faces of its mount",
                "The film would lie outside its mount",
                "to the nearer face",
            ),
            KNOWN: Said(
                "It is known well where in its mount the film lies",
                "Nobody has measured where in its mount the film lies",
                "higher or lower",
            ),
            THICK: Said(
                "The mount is as thick as mounts are", "The mount is thicker than slide mounts are", "thick"
            ),
        }
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """Place between the faces, how well that is known, thickness, and what bow is left for the film."""
        if job.film.kind != "mount":
            yield self.skipped("the film lies bare, in no mount")
            return
        yield self._inside(job.film)
        yield self._known(job.film, design)
        yield self._thick(job.film)
        h = design.heights
        room = min(h.band_high - h.sharp_plane, h.sharp_plane - h.band_low)
        yield self.skipped(
            "not judged, since each mount holds its film in its own way: the chance supposes film that lies flat in "
            f"it. Look along the film: a bow of more than {max(0.0, room):.1f} mm leaves the sharp heights; put such "
            "a film into another mount",
            BOW,
        )

    def _inside(self, film: FilmFormat) -> Finding:
        nearer = min(film.plane_offset_mm, film.thickness_mm - film.plane_offset_mm)
        level = at_least(nearer, 0.0, 0.0)
        return self.found(
            level, title=INSIDE, measured=nearer, limit=0.0,
            where=f"{film.plane_offset_mm:g} mm above the face on the ledge, of {film.thickness_mm:g} mm",
            advice="" if level == "pass" else "measure the mount's thickness and the film's depth in it again",
            field="film.plane_offset_mm",
        )  # fmt: skip

    def _known(self, film: FilmFormat, design: Design) -> Finding:
        from holders.workshop.budget.contributors import mount_measured, mount_off_mm  # noqa: PLC0415 - the stack-up

        off, limit = mount_off_mm(film), FLAT * design.heights.half_band
        level = at_most(off, limit, math.inf)
        return self.found(
            level, title=KNOWN, measured=off, limit=limit,
            where=f"{film.plane_offset_mm:g} mm is "
            + ("measured" if mount_measured(film) else "supposed, midway")
            + "; counted in the chance",
            advice=""
            if level == "pass"
            else "measure an empty mount of the same make with a caliper's depth rod, from the face that lies on the "
            "ledge to where the film lies, and set film.plane_offset_mm",
            field="film.plane_offset_mm",
        )  # fmt: skip

    def _thick(self, film: FilmFormat) -> Finding:
        level = at_most(film.thickness_mm, habit("mount-thickest"), math.inf)
        return self.found(
            level, title=THICK, measured=film.thickness_mm, limit=habit("mount-thickest"),
            advice="" if level == "pass" else "measure it again, with a caliper on three mounts",
            field="film.thickness_mm",
        )  # fmt: skip
