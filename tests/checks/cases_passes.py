"""Ways in which the check on passes warns, stops or does not apply."""

from __future__ import annotations

from tests.checks.case import Case
from tests.checks.make_design import job, make
from tests.checks.make_passes import bare_glass, gap_between, holder, thin_overlap

PASSES = (
    Case("passes", "pass", holder, "overlap"),
    Case("passes", "warn", thin_overlap, "overlap", "passes.overlap_mm"),
    Case("passes", "stop", gap_between, "overlap", "passes.overlap_mm"),
    Case("passes", "warn", bare_glass, "bare", "layout.outer_width_mm"),
    Case("passes", "skip", lambda: (job(), make())),
)
