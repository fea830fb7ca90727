"""The strip channel's check: the sagitta formula, and each way in which it warns or stops."""

from __future__ import annotations

import math

import pytest

from holders.core.findings import Finding
from holders.design.model import Design
from holders.fittings.channel.check import ChannelRule, sagitta_mm
from holders.preset.resolve import Job
from tests.checks.judged import Wrong, expect, named, one
from tests.checks.make_channel import changed, channelled
from tests.checks.make_design import job, make


def found(made: tuple[Job, Design], words: str) -> Finding:
    return one(ChannelRule(), made, words)


def test_a_good_channel_passes_everything() -> None:
    assert [f.level for f in ChannelRule().check(*channelled())] == [*["pass"] * 5, "skip"]


def test_no_channel_no_check() -> None:
    (only,) = ChannelRule().check(job(), make())
    assert only.level == "skip"


CASES: tuple[Wrong, ...] = (
    ("against the focus band", "warn", lambda: channelled(channel={"radius_mm": 100.0}), "channel.radius_mm"),
    ("against the focus band", "stop", lambda: changed(radius=50.0), "channel.radius_mm"),
    ("of every curl", "warn", lambda: channelled(lid={"play_mm": 0.4}), "lid.play_mm"),
    ("of every curl", "stop", lambda: channelled(bed={"focus_band_mm": 0.2}), "lid.play_mm"),
    ("clear of the picture", "warn", lambda: channelled(lip={"all_mm": 5.4}), "lip.left_mm"),
    ("clear of the picture", "stop", lambda: channelled(lip={"all_mm": 6.0}), "lip.left_mm"),
    ("on the arc", "warn", lambda: changed(low=(13.49, 15.2, 16.178934, 17.367119, 18.478521)), "printer.layer_mm"),
    ("on the arc", "stop", lambda: changed(radius=120.0), "printer.layer_mm"),
    ("by itself", "warn", lambda: channelled(base={"curl_per_m": 2.0}), "channel.radius_mm"),
    ("curl along", "warn", lambda: channelled(film={"curl_along_per_m": 6.0}), "film.curl_along_per_m"),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=named)
def test_it_finds_what_is_wrong(case: Wrong) -> None:
    expect(ChannelRule(), case)


@pytest.mark.parametrize(("chord", "radius"), [(24.0, 200.0), (24.0, 60.0), (56.0, 300.0)])
def test_sagitta_is_the_handbooks(chord: float, radius: float) -> None:
    """s = c²/(8 R) against the exact R - sqrt(R² - c²/4) = s (1 + q + 2 q² + 5 q³ ...), q = (c / 4 R)²."""
    exact, q = radius - math.sqrt(radius**2 - chord**2 / 4), (chord / (4 * radius)) ** 2
    assert sagitta_mm(chord, radius) * (1 + q + 2 * q**2) == pytest.approx(exact, rel=10 * q**3)


def test_the_picture_of_35_mm_rises_by_a_third_of_a_millimetre() -> None:
    """24² / (8 x 200) = 0.36 mm."""
    assert found(channelled(), "against the focus band").measured == pytest.approx(0.36)
