"""A strip channel of 35 mm film, and the ways in which one can be wrong."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

from holders.design.model import Design
from holders.design.resolve import design
from holders.fittings.channel.arc import Channel
from holders.preset.resolve import Job
from tests.presets_made import job
from tests.refit import refitted

STRIP: dict[str, Any] = {
    "film": {"format": "35mm-strip"},
    "base": {"curl_low_per_m": 1.0, "curl_per_m": 5.0, "curl_high_per_m": 9.0},
    "printer": {"name": "p300", "layer_mm": 0.1},
    "lip": {"all_mm": 5.0, "head_mm": 2.0, "foot_mm": 2.0},
    "lid": {"lip_mm": 4.5, "play_mm": 0.1},
    "layout": {"turn": "never"},
}


def channelled(**changes: Any) -> tuple[Job, Design]:
    """A channel with tables changed."""
    tables = {key: {**STRIP.get(key, {}), **changes.get(key, {})} for key in {*STRIP, *changes}}
    wanted = job(**{"channel": {}, **tables})
    return wanted, design(wanted)


def changed(**over: Any) -> tuple[Job, Design]:
    """A channel that is told otherwise than it was built."""
    wanted, made = channelled()
    assert made.find(Channel) is not None
    return wanted, refitted(made, replace(made.find(Channel), **over))
