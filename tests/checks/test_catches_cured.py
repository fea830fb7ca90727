"""One catch leaves a glass cover free at the other edge; two, tried on that holder, do not."""

from __future__ import annotations

from holders.checks.cures import with_cures
from holders.core.findings import Finding
from holders.design.resolve import design
from holders.fittings.cover.check import CoverRule
from tests.presets_made import job

SUBJECT = "opposite edges of the plate with catches"


def found(catches: int) -> Finding:
    wanted = job(film={"format": "4x5"}, cover={"catches": catches})
    made, rule = design(wanted), CoverRule()
    (one,) = [
        one for one in with_cures(wanted, made, rule, rule.check(wanted, made)) if one.subject == SUBJECT
    ]
    return one


def test_one_catch_warns_with_a_number_that_was_tried() -> None:
    one = found(1)
    assert (one.level, one.measured) == ("warn", 1)
    assert one.advice == "set cover.catches = 2: tried on this holder, it cures this"


def test_two_catches_stand_at_opposite_edges() -> None:
    assert (found(2).level, found(2).measured) == ("pass", 2)
