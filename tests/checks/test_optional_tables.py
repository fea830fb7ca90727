"""Glass cover, carrier and channel mixed into any preset: designed and judged, or refused in words; never a crash."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from holders.checks.runner import run
from holders.core.errors import InputError
from holders.design.resolve import design
from holders.preset.resolve import resolve
from holders.preset.schema import Preset
from tests.checks.test_any_design import sound
from tests.presets_made import presets


def _length(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high).map(lambda value: round(value, 3))


COVER = st.fixed_dictionaries(
    {},
    optional={
        "thickness_mm": _length(0.7, 10),
        "width_mm": _length(20, 300),
        "length_mm": _length(20, 400),
        "clearance_mm": _length(0, 5),
        "gap_mm": _length(0, 5),
        "face": st.sampled_from(("etched", "coated", "plain")),
        "catches": st.integers(0, 8),
        "catch_thickness_mm": _length(0.8, 6),
    },
)
CARRIER = st.fixed_dictionaries(
    {"insert_width_mm": _length(40, 320), "insert_length_mm": _length(40, 450)},
    optional={
        "clearance_mm": _length(0.05, 2),
        "ledge_mm": _length(2, 20),
        "floor_mm": _length(0.4, 10),
        "key_mm": _length(2, 20),
    },
)
CHANNEL = st.fixed_dictionaries({}, optional={"radius_mm": _length(60, 2000), "rail_mm": _length(0.4, 5)})


@st.composite
def mixed(draw: st.DrawFn) -> dict[str, Any]:
    made = draw(presets(wild=draw(st.booleans())))
    for name, table in (("cover", COVER), ("carrier", CARRIER), ("channel", CHANNEL)):
        if draw(st.booleans()):
            made[name] = draw(table)
    if "cover" in made and draw(st.booleans()):
        made.pop("lid", None)
    if "channel" in made and draw(st.booleans()):
        made |= {"route": "print", "material": {"name": "petg"}, "lid": {}}
        made.pop("cover", None)
        made["film"] = {"format": draw(st.sampled_from(("35mm-strip", "roll-6x6", "roll-6x9")))}
        made["layout"] = {**made.get("layout", {}), "turn": "never"}
        made["lip"] = {"all_mm": draw(_length(2, 5.5))}
    return made


def judge(data: dict[str, Any]) -> None:
    try:
        wanted = resolve(Preset.model_validate(data))
        made = design(wanted)
    except ValidationError:
        return
    except InputError as refusal:
        assert refusal.field
        assert refusal.way_out
        return
    sound(run(wanted, made))


COMMON = {"deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.filter_too_much]}


@settings(max_examples=40, **COMMON)
@given(mixed())
def test_any_mixture_is_judged_or_refused(data: dict[str, Any]) -> None:
    judge(data)


@pytest.mark.slow
@settings(max_examples=2000, **COMMON)
@given(mixed())
def test_many_mixtures(data: dict[str, Any]) -> None:
    judge(data)
