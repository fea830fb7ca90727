"""Film on cellulose nitrate is not scanned at home."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule
from holders.core.findings import Finding
from holders.design.model import Design
from holders.facts.tables import hazard

if TYPE_CHECKING:
    from holders.preset.resolve import Job


class Nitrate(Rule):
    """Cellulose nitrate film under a warm lamp."""

    code = "nitrate"
    per_film = True
    title = "film that burns"
    why = "nitrate film catches fire very easily, cannot be put out once alight, and its smoke is toxic"
    source = "Health and Safety Executive leaflet INDG469 (read); BS ISO 10356 and NFPA 40 (named there)"

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002 - every rule is asked alike
        """Stops where the base is nitrate."""
        yield self.found(
            "stop" if job.own_base.nitrate else "pass",
            measured=job.own_base.name,
            limit="" if not job.own_base.nitrate else "safety film",
            unit="",
            where=hazard("nitrate").words if job.own_base.nitrate else "",
            advice="have it copied by a film archive; a base that is not nitrate is set in [base] name"
            if job.own_base.nitrate
            else "",
            field="base.name",
        )
