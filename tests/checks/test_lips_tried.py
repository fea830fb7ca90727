"""Narrower lips are named only after they were tried on that very holder and brought no other warning."""

from __future__ import annotations

import re
from typing import Any

import pytest

from holders.checks.base import UNTRIED
from holders.checks.film.film_fit import HIDDEN
from holders.checks.frame.walls import Wall
from holders.checks.runner import run
from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.design.resolve import design
from tests.presets_made import job

STRIPS: dict[str, Any] = {
    "film": {"format": "35mm-strip", "frames": 6},
    "layout": {"count": 2, "turn": "never", "pocket_depth_mm": 3.8},
    "cover": {"thickness_mm": 3.0, "clearance_mm": 0.4},
}
NARROW = {"all_mm": 5.25, "head_mm": 2.0, "foot_mm": 2.0}
SERIOUS = ("warn", "stop")


def looked_at(lip: dict[str, float], cures: bool = False, **more: Any) -> tuple[Finding, ...]:
    wanted = job(**{**STRIPS, **more}, lip=lip)
    return run(wanted, design(wanted), cures=cures)


def warns(found: tuple[Finding, ...]) -> set[str]:
    return {one.subject for one in found if one.level in SERIOUS}


def advice(lip: dict[str, float], **more: Any) -> str:
    (one,) = [one for one in looked_at(lip, cures=True, **more) if one.subject == HIDDEN]
    assert one.level == "warn"
    return one.advice


def lips_of(words: str) -> dict[str, float]:
    return {key: float(value) for key, value in re.findall(r"lip\.(\w+) = ([\d.]+)", words)}


def test_lips_that_a_cover_glass_needs_are_not_narrowed() -> None:
    """With 1 mm lips a glass 0.5 mm too small, pushed aside by 2 x 0.4 mm less 0.15, has 0.15 mm left to lie on."""
    words = advice(NARROW)
    assert lips_of(words) == {}
    assert UNTRIED not in words
    narrower = looked_at(NARROW | {"head_mm": 1.0, "foot_mm": 1.0})
    new = [one for one in narrower if one.subject in warns(narrower) - warns(looked_at(NARROW))]
    assert {one.code for one in new} == {"cover", "wall"}
    for one in new:
        assert one.title[1:] in words
    assert "1.00 mm at the head and 1.00 mm at the foot" in words


@pytest.mark.parametrize(
    ("lip", "more", "most"),
    [
        (NARROW, {"cover": None, "layout": {"count": 1}}, 0.05),
        (
            NARROW | {"head_mm": 4.0, "foot_mm": 4.0},
            {},
            1.5,
        ),  # by half: all of the picture would harm the glass
    ],
    ids=["no glass", "halfway"],
)
def test_lips_that_are_named_show_more_and_harm_nothing(
    lip: dict[str, float], more: dict[str, Any], most: float
) -> None:
    words = advice(lip, **more)
    named = lips_of(words)
    assert named
    assert "tried on this holder" in words
    changed = looked_at(lip | named, **more)
    (hidden,) = [one for one in changed if one.subject == HIDDEN]
    assert isinstance(hidden.measured, float)
    assert hidden.measured <= most + 1e-9
    assert warns(changed) <= warns(looked_at(lip, **more))


def test_no_number_is_named_before_it_was_tried() -> None:
    (one,) = [one for one in looked_at(NARROW) if one.subject == HIDDEN]
    assert one.advice.startswith(f"{UNTRIED}narrower lips at the ")
    assert not re.search(r"\d", one.advice)


def test_what_a_check_cannot_look_at_is_not_taken_for_clean(monkeypatch: pytest.MonkeyPatch) -> None:
    """Lips that would cure it, tried where another check breaks down on them: nothing is named."""
    plain: dict[str, Any] = {"cover": None, "layout": {"count": 1}}
    assert lips_of(advice(NARROW, **plain))
    look = Wall.check

    def breaks(self: Wall, one: Any, made: Any) -> Any:
        if min(made.windows[0].lips.head, made.windows[0].lips.foot) < 2.0:
            raise InputError("wall", 0, "not to be had")
        return look(self, one, made)

    monkeypatch.setattr(Wall, "check", breaks)
    words = advice(NARROW, **plain)
    assert lips_of(words) == {}
    assert words.startswith(UNTRIED)  # nor is it said to harm
