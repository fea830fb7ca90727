"""What the checks say would hold film flatter: never what the holder already does, nor what it cannot take."""

from __future__ import annotations

from holders.checks.focus.heights import hold_flatter
from tests.checks.make_design import job, make, with_lid


def test_play_is_not_made_less_than_none() -> None:
    lidded = job(preset={"lid": {"play_mm": 0.2}})
    assert "less play" in hold_flatter(lidded, with_lid(make(), play=0.2))
    assert "play" not in hold_flatter(lidded, with_lid(make(), play=0.0))


def test_a_cut_lid_has_no_play_whatever_the_preset_says() -> None:
    cut = job("laser", preset={"lid": {"play_mm": 0.2}})
    assert "play" not in hold_flatter(cut, with_lid(make("laser"), play=0.0))


def test_no_lid_frame_beside_a_cover() -> None:
    assert "a lid frame" in hold_flatter(job(), make())
    assert "lid" not in hold_flatter(job(preset={"cover": {}}), make())
