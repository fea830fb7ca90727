"""Ways in which the check on film in its mount warns, stops, passes or does not apply."""

from __future__ import annotations

from holders.checks.film.mount import BOW, INSIDE, KNOWN, THICK
from holders.design.resolve import design
from tests.checks.case import Case, Made
from tests.checks.make_design import job as plain_job
from tests.checks.make_design import make
from tests.presets_made import job


def mounted(**film: float) -> Made:
    """A laser-cut holder for slides, whose mounts were measured so far as it says."""
    wanted = job(
        route="laser", film={"format": "mount-50", **film}, material={"name": "mdf"}, lip={"all_mm": 3.0}
    )
    return wanted, design(wanted)


MOUNT = (
    Case("mount", "pass", mounted, INSIDE),
    Case("mount", "pass", lambda: mounted(thickness_mm=1.2, plane_offset_mm=1.2), INSIDE),
    Case(
        "mount",
        "stop",
        lambda: mounted(thickness_mm=1.3, plane_offset_mm=1.35),
        INSIDE,
        "film.plane_offset_mm",
    ),
    Case("mount", "warn", mounted, KNOWN, "film.plane_offset_mm"),
    Case("mount", "pass", lambda: mounted(plane_offset_mm=1.0), KNOWN),
    Case("mount", "pass", lambda: mounted(thickness_mm=3.2), THICK),
    Case("mount", "warn", lambda: mounted(thickness_mm=3.3), THICK, "film.thickness_mm"),
    Case("mount", "skip", mounted, BOW),
    Case("mount", "skip", lambda: (plain_job(), make())),
)
