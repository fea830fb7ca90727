"""One cause is one finding, and a finding says what is wrong."""

from __future__ import annotations

import pytest

from holders.checks.base import Rule
from holders.checks.joined import COUNTED, joined
from holders.checks.rules import RULES
from holders.core.findings import Finding, Level, number_words
from tests.checks.case import Case
from tests.checks.cases import CASES


def finding(code: str, level: Level, subject: str, measured: float = 0.3, limit: float = 0.9) -> Finding:
    return Finding(
        code=code, level=level, title="t", subject=subject, number="n", measured=measured, limit=limit
    )


LOW = finding("sharpness", "warn", "chance", 40.0, 90.0)
SURE = finding("sharpness", "pass", "chance", 95.0, 90.0)
SOFT = finding("sag", "warn", "share of the film surface in focus")


def test_a_soft_film_and_a_low_chance_are_one_finding() -> None:
    chance, soft = joined((LOW, SOFT))
    assert (chance.level, soft.level) == ("warn", "skip")
    assert soft.advice == COUNTED
    assert (soft.measured, soft.limit) == (0.3, 0.9)  # its numbers stay
    assert "n: 0.3" in chance.where


@pytest.mark.parametrize("chance", [SURE, finding("sharpness", "skip", "chance")])
def test_a_soft_film_warns_where_no_low_chance_says_it(chance: Finding) -> None:
    assert joined((chance, SOFT))[1] == SOFT


def test_a_stop_stays_a_stop() -> None:
    stop = finding("focus-error", "stop", "film plane inside the focus band")
    assert joined((LOW, stop))[1] == stop
    rim = finding("expansion", "stop", "growth of the holder in the glass's rim")
    assert joined((SURE, rim))[1] == rim


def test_what_the_chance_counts_on_every_holder_is_a_fact() -> None:
    bow = finding("bow", "warn", "bow of the holder with one warm face")
    assert joined((SURE, bow))[1].level == "skip"
    assert joined((bow,)) == (bow,)  # nothing counts it where the chance is not judged


@pytest.mark.parametrize("case", [c for c in CASES if c.level in ("warn", "stop")], ids=str)
def test_what_is_wrong_is_said_and_never_what_is_fine(case: Case) -> None:
    rule: Rule = next(rule for rule in RULES if rule.code == case.code)
    for found in (f for f in rule.check(*case.make()) if f.level == case.level and case.words in f.subject):
        assert found.title[0].isupper()
        assert found.title != found.subject
        if isinstance(found.measured, (int, float)):
            assert number_words(found)


def test_a_chance_has_one_name() -> None:
    told = number_words(
        LOW.model_copy(update={"number": "good scans of 100", "measured": 63.75, "unit": "%"})
    )
    assert told == "63 good scans of 100; good: 90 or more"


def test_a_share_is_written_in_percent_with_what_would_be_good() -> None:
    share = SOFT.model_copy(update={"measured": 0.369, "unit": "of the picture", "number": "in focus"})
    assert number_words(share) == "in focus: 36.9 % of the picture; good: at least 90 %"
