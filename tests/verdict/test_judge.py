"""The headline is never rosier than what stands below it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from holders.core.findings import Finding, per_hundred
from holders.preset.load import parse
from holders.preset.shipped import shipped_paths
from holders.study import Study, study
from holders.verdict.judge import judged
from holders.verdict.model import Step
from holders.workshop.budget.odds import RINGS, Odds, odds_of
from tests.kept import shipped_study

PRESETS = Path(__file__).parents[2] / "presets"


@pytest.fixture(scope="module")
def found() -> Study:
    text = (PRESETS / "8x10-mat-board.toml").read_text(encoding="utf-8")
    return study(parse(text, "board"), text)


@pytest.fixture(scope="module")
def odds(found: Study) -> Odds:
    return odds_of(found.job, found.design)


@pytest.mark.parametrize(
    ("chance", "words"),
    [
        (0.0, "under 1"),
        (0.0099, "under 1"),
        (0.01, "1"),
        (0.5799999, "57"),
        (0.58, "58"),
        (0.99, "99"),
        (0.991, "over 99"),
    ],
)
def test_a_chance_is_never_told_better_than_it_is(chance: float, words: str) -> None:
    assert per_hundred(chance) == words


def test_the_chance_is_the_same_number_everywhere(found: Study, odds: Odds) -> None:
    (finding,) = [f for f in found.findings if f.code == "sharpness"]
    assert isinstance(finding.measured, float)
    assert found.verdict.chance == odds.chance
    assert finding.measured == pytest.approx(100 * found.verdict.chance, abs=1e-3)
    assert f"{per_hundred(found.verdict.chance)} of 100" in found.verdict.text


def test_stops_and_warnings_stand_in_the_sentence(odds: Odds) -> None:
    stop = Finding(code="fit", level="stop", title="The holder is wider than the glass")
    warn = Finding(code="bow", level="warn", title="It bows")
    assert judged(odds, [stop, warn]).text.startswith(
        "Do not make it like this: The holder is wider than the glass."
    )
    assert "if the warning does no harm" in judged(odds, [warn]).text
    assert "if the 2 warnings do no harm" in judged(odds, [warn, warn]).text


def test_the_sentence_is_no_rosier_than_a_warning_of_rings_nor_counts_itself(odds: Odds) -> None:
    own = Finding(code="sharpness", level="warn", title="Too many scans will be soft")
    rings = Finding(
        code="cover", level="warn", title="Rings will show", measured=0.03, limit=0.02, unit="contrast"
    )
    bow = Finding(code="bow", level="warn", title="It bows")
    assert "no harm" not in judged(odds, [own]).text
    told = judged(odds, [own, rings]).text
    assert "free of rings" not in told
    assert "sharp, but rings may show on any of them (see the warning)." in told
    assert "if the other warning does no harm" in judged(odds, [rings, bow]).text
    assert "free of rings" in judged(odds, [rings.model_copy(update={"level": "pass"})]).text
    assert "harm" not in judged(odds, []).text


def test_the_largest_doubt_may_be_rings(odds: Odds) -> None:
    assert judged(replace(odds, ring_free=0.2), []).largest_doubt == RINGS
    assert judged(replace(odds, ring_free=0.2), []).chance == pytest.approx(0.2 * odds.sharp.most.value)


def test_film_on_the_glass_is_no_good_scan(found: Study) -> None:
    """The normal law: with the gap just at the limit of rings, one holder in two is free of them."""
    assert found.design.sag is not None
    from holders.facts.tables import lamp

    rings = found.design.sag.least_gap_mm - lamp(found.job.bed.lamp).keep_gap_mm
    cold = replace(found.design.sag, warm=None)
    at_limit = replace(found.design, sag=replace(cold, min_gap_mm=rings))
    assert odds_of(found.job, at_limit).ring_free == pytest.approx(0.5, abs=1e-9)
    touching = replace(found.design, sag=replace(cold, min_gap_mm=-1.0))
    assert odds_of(found.job, touching).ring_free < 1e-3


def test_film_that_comes_to_the_glass_as_it_warms_counts_as_often_as_it_is_warm(found: Study) -> None:
    sag = found.design.sag
    assert sag is not None
    assert sag.warm is not None
    assert sag.warm.shown is not None
    down = replace(sag.warm, span=(0.0, 1.0), bare_chance=1.0, shown=replace(sag.warm.shown, min_gap_mm=-1.0))
    warm = replace(found.design, sag=replace(sag, warm=down))
    assert odds_of(found.job, warm).ring_free == pytest.approx(0.5, abs=1e-3)  # half of the way, on average
    at_once = replace(found.design, sag=replace(sag, warm=replace(down, span=(0.0, 0.0))))
    assert odds_of(found.job, at_once).ring_free > 0.999


def test_a_hopeless_holder_is_a_stop() -> None:
    text = (PRESETS / "8x10-mat-board.toml").read_text(encoding="utf-8")
    assert "focus_height_mm = 3.1" in text
    far = text.replace("focus_height_mm = 3.1", "focus_height_mm = 6.2\nfocus_band_mm = 0.05")
    found = study(parse(far, "far"), far)
    assert found.verdict.chance < 0.10
    assert "sharpness" in {f.code for f in found.stops}
    assert found.verdict.text.startswith("Do not make it")


def test_a_second_stop_is_counted_once(odds: Odds) -> None:
    one, two, three = (Finding(code="fit", level="stop", title=f"Fault {k}") for k in "123")
    assert "Fault 1. (" in judged(odds, [one]).text
    assert "Fault 1 and 1 more. (" in judged(odds, [one, two]).text
    assert "Fault 1 and 2 more. (" in judged(odds, [one, two, three]).text


def test_what_may_hurt_someone_is_said_before_all_else(odds: Odds) -> None:
    thin = Finding(code="wall", level="stop", title="A wall is too thin")
    gas = Finding(code="laser-material", level="stop", title="It must not go in a laser")
    assert judged(odds, [thin, gas]).text.startswith(
        "Do not make it like this: It must not go in a laser and 1 more."
    )
    assert judged(odds, [thin, thin]).text.startswith("Do not make it like this: A wall is too thin and 1")


def test_a_step_costs_nothing_unless_it_says_so() -> None:
    step = Step("wider lips", 0.5, 0.1, {"lip.all_mm": 4.0}, "")
    assert (step.minutes, step.cost, step.hidden_mm2) == (0.0, None, 0.0)
    assert (step.by_hand, step.now, step.measure) == (False, None, False)


def test_rings_are_the_largest_doubt_only_where_they_take_more_than_blur(odds: Odds) -> None:
    blur = 1 - odds.sharp.most.value
    assert judged(replace(odds, ring_free=1 - blur - 1e-6), []).largest_doubt == RINGS
    assert judged(replace(odds, ring_free=1 - blur + 1e-6), []).largest_doubt != RINGS


def test_a_rigid_plate_has_no_doubt_about_curl() -> None:
    path = next(path for path in shipped_paths() if path.stem == "whole-plate-glass")
    assert "curl" not in shipped_study(path).verdict.largest_doubt
