"""One cause is one finding, and a finding says what is wrong."""

from __future__ import annotations

import pytest

from holders.checks.base import Rule
from holders.checks.joined import COUNTED, is_counted, joined
from holders.checks.rules import RULES
from holders.core.findings import (
    Finding,
    Level,
    consequence_words,
    is_outside,
    number_words,
    with_consequences,
)
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


HIGH = finding("stock", "stop", "ledge made of whole sheets", 2.4, 0.15)
PLANE = finding("focus-error", "stop", "film plane inside the focus band", -2.1, 0.2)
HOPELESS = finding("sharpness", "stop", "chance", 0.2, 90.0)
TOUCHING = finding("sag", "stop", "least gap between film and glass", 0.0, 0.2)


def named(one: Finding, title: str) -> Finding:
    return one.model_copy(update={"title": title})


def test_stops_of_one_cause_follow_from_it_and_others_stand_alone() -> None:
    """A sheet of the wrong thickness: its stop is the cause, three more are only what comes of it."""
    most = finding("sag", "stop", "share of the film surface in focus", 0.0)
    every = [named(HIGH, "cause"), named(PLANE, "plane"), named(most, "soft"), named(HOPELESS, "chance")]
    found = joined((*reversed(every), named(TOUCHING, "rings")))
    assert {f.title: f.follows_from for f in found} == {
        "cause": "", "plane": "cause", "soft": "cause", "chance": "cause", "rings": "",
    }  # fmt: skip
    assert all(f.level == "stop" for f in found)  # none is lifted
    groups = {cause.title: [f.title for f in more] for cause, more in with_consequences(found)}
    assert groups == {"rings": [], "cause": ["chance", "soft", "plane"]}


def test_without_a_stop_on_the_height_nothing_follows() -> None:
    found = joined((HIGH.model_copy(update={"level": "warn"}), HOPELESS, TOUCHING))
    assert not any(f.follows_from for f in found)


def test_what_follows_from_a_finding_that_is_not_there_stands_by_itself() -> None:
    alone = PLANE.model_copy(update={"follows_from": "a cause left out"})
    assert with_consequences([alone]) == ((alone, ()),)


def test_consequences_are_one_line_with_their_numbers() -> None:
    soft = named(
        SOFT.model_copy(update={"unit": "of the picture", "measured": 0.0}), "Most of it will be soft"
    )
    low = named(
        HOPELESS.model_copy(update={"number": "good scans of 100", "unit": "%"}), "Hardly any will be sharp"
    )
    assert (
        consequence_words([soft, low])
        == "so also: most of it will be soft (0 % of the picture); hardly any will be sharp (under 1 good scans of 100)"
    )
    assert consequence_words([]) == ""


def test_what_is_outside_its_limit_without_a_warning_applies_and_is_counted_or_not() -> None:
    chance = finding("sharpness", "pass", "chance of a good scan", 96)
    bow = finding("bow", "warn", "bow of the holder with one warm face", 0.37, 0.3)
    damp = finding("bow", "warn", "bow of the holder with one damp face", 0.66, 0.3)
    away = damp.model_copy(update={"level": "skip", "measured": None, "limit": None})
    found = joined((chance, bow, damp, away))
    assert [one.level for one in found] == ["pass", "skip", "skip", "skip"]
    assert [is_outside(one) for one in found] == [False, True, True, False]
    assert [is_counted(one) for one in found] == [False, True, False, False]
