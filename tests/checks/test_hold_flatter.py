"""Advice on holding the film flatter names only what can still be done to this holder."""

from __future__ import annotations

from holders.checks.heights import hold_flatter
from tests.checks.make_design import job


def test_play_is_not_made_less_than_none() -> None:
    assert "less play" in hold_flatter(job(preset={"lid": {"play_mm": 0.2}}))
    assert "play" not in hold_flatter(job(preset={"lid": {"play_mm": 0.0}}))


def test_no_lid_frame_beside_a_cover() -> None:
    assert "a lid frame" in hold_flatter(job())
    assert "lid" not in hold_flatter(job(preset={"cover": {}}))
