"""Numbers of findings can be read aloud, and a finding's cause is that of the headline."""

from __future__ import annotations

import pytest

from holders.checks.focus.sharp import CURL
from holders.core.errors import InputError
from holders.core.findings import Finding, number_words
from holders.design.resolve import design
from holders.preset.load import parse
from holders.study import study
from holders.verdict.judge import doubt_words
from holders.workshop.budget.odds import odds_of
from tests.presets_made import job

LOW = """holders_preset = 3
title = "low"
route = "print"
[bed]
name = "a4-wide"
focus_height_mm = 0.7
focus_sigma_mm = 0.05
[film]
format = "4x5"
[material]
name = "petg"
"""


def said(unit: str, number: str, measured: float, limit: float, level: str = "warn") -> str:
    return number_words(
        Finding(code="x", level=level, title="t", measured=measured, limit=limit, unit=unit, number=number)  # type: ignore[arg-type]
    )


def test_rings_are_in_percent() -> None:
    assert said("contrast", "rings differ by", 0.0296, 0.02) == "rings differ by: 2.96 %; good: at most 2 %"


def test_the_finding_on_the_chance_names_what_the_headline_names() -> None:
    """A film that curls much, held by nothing: no height of the ledge is to blame."""
    found_by = study(parse(LOW, "low.toml"))
    (found,) = [one for one in found_by.findings if one.code == "sharpness"]
    odds = odds_of(found_by.job, found_by.design)
    assert found.level == "warn"
    assert odds.sharp.spoiled_by == "curl"
    assert f"costs most good scans: {doubt_words(odds)}; " in found.where
    assert found.advice.startswith(CURL)
    assert found.advice.count(CURL) == 1


def test_bars_that_nobody_chose_are_not_blamed_by_a_key_that_is_not_there() -> None:
    thin = {"lid": {"thickness_mm": 1.0}, "bars": {}}
    with pytest.raises(InputError) as caught:
        design(job(film={"format": "4x5"}, **thin))
    assert caught.value.field == "bars"
    thin["bars"] = {"sides": "fit"}
    with pytest.raises(InputError) as caught:
        design(job(film={"format": "4x5"}, **thin))
    assert caught.value.field == "bars.sides"
