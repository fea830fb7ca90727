"""The sheet speaks of rings at every glass that the film touches, and of the grain of catches."""

from __future__ import annotations

from dataclasses import replace

import pytest

from holders.fittings.cover.pane import CATCHES, GRAIN, Pane
from holders.fittings.on_glass import RingFace, ring_face
from holders.output.sheet.numbers import _rings
from holders.study import Study
from tests.kept import SHIPPED, shipped_study


def shipped(name: str) -> Study:
    return shipped_study(SHIPPED / f"{name}.toml")


@pytest.mark.parametrize(
    ("name", "glasses"),
    [
        ("8x10-printed", ()),
        ("8x10-mat-board", ("glass cover",)),
        ("4x5-two-glasses", ("lower glass", "upper glass")),
    ],
)
def test_rings_are_spoken_of_at_every_glass(name: str, glasses: tuple[str, ...]) -> None:
    found = shipped(name)
    words = _rings(found.job, found.design, found.film)
    assert words.count("at the ") == 1 + len(glasses)
    assert words.startswith("Newton's rings: at the scanner's glass")
    for glass in glasses:
        assert f"at the {glass} its " in words


def test_the_side_of_the_film_that_a_cover_touches() -> None:
    """Emulsion down: glass on top lies on the base."""
    found = shipped("8x10-mat-board")
    assert found.job.preset.film.emulsion == "down"
    pane = found.design.find(Pane)
    assert pane is not None
    assert "its etched face lies on the film's base side: none" in pane.rings(found.job)[0]
    plain = ring_face("glass cover", "plain", found.job, up=True)
    assert plain.side == "base"
    assert replace(pane, face="plain").rings(found.job) == (plain.words,)
    # two smooth faces of 4.2 and 5.8 %: 2 sqrt(R1 R2) / (1 + R1 R2), about 10 %
    assert plain.contrast == pytest.approx(0.10, abs=0.015)
    assert "they can show" in plain.words


def test_fluid_leaves_no_air() -> None:
    found = shipped("8x10-wet-mount")
    assert "none: fluid leaves no air" in _rings(found.job, found.design, found.film)


def test_a_weak_face_is_said_to_be_weak() -> None:
    words = RingFace("upper glass", "coated", "base", 0.01, 0.02).words
    assert words.endswith("too faint to see (1.0 % contrast, seen from 2.0 %)")


def test_catches_of_a_grained_sheet_say_which_way_it_runs() -> None:
    found = shipped("5x7-glass-cover")
    pane = found.design.find(Pane)
    assert pane is not None
    assert pane.spring is not None
    assert not pane.grained
    assert pane.drawn() == ()
    grained = replace(pane, grained=True)
    assert grained.drawn() == (f"Catches: {GRAIN}.",)
    assert GRAIN in grained.making(found.design)[0]
    assert CATCHES in pane.cautions(found.job)
    assert CATCHES not in replace(pane, spring=None).cautions(found.job)
