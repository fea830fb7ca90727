"""Presets as data for tests: a smallest valid one, changes to it, and a hypothesis strategy over all of them."""

from __future__ import annotations

from collections.abc import Callable
from pathlib import Path
from typing import Any

import pytest
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.model import Design
from holders.design.resolve import design
from holders.facts.tables import keys, table
from holders.preset.load import validate
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset

SHIPPED = sorted((Path(__file__).parent.parent / "presets").glob("*.toml"))

# one of each way of making and of most kinds; a test of all that takes seconds for each has the rest with --slow
QUICK = {
    "4x5-insert", "50mm-mounts", "5x7-glass-cover", "6x9-roll", "8x10-mat-board", "8x10-one-board", "8x10-printed",
    "8x10-small-printer", "mixed-formats",
}  # fmt: skip
FEW = {
    "5x7-printed",
    "6x9-roll",
    "8x10-mat-board",
}  # where solids of each are made and compared


def _others_slow(quick: set[str]) -> list[Any]:
    return [
        pytest.param(path, marks=[] if path.stem in quick else [pytest.mark.slow], id=path.stem)
        for path in SHIPPED
    ]


SHIPPED_QUICK, SHIPPED_FEW = _others_slow(QUICK), _others_slow(FEW)

SMALLEST: dict[str, Any] = {
    "holders_preset": 1,
    "title": "weir test",
    "route": "print",
    "bed": {"name": "a4-wide"},
    "film": {"format": "4x5"},
    "material": {"name": "petg"},
    "printer": {"name": "p300"},
}


def changed(**changes: Any) -> dict[str, Any]:
    """The smallest preset with tables merged in (``film={"format": "8x10"}``)."""
    made = {k: dict(v) if isinstance(v, dict) else v for k, v in SMALLEST.items()}
    for key, value in changes.items():
        made[key] = {**made.get(key, {}), **value} if isinstance(value, dict) else value
    return made


def job(**changes: Any) -> Job:
    """The same, validated and looked up."""
    return resolve(Preset.model_validate(changed(**changes)))


MATERIALS = {
    route: [row.key for row in table("materials") if route in row.routes]  # type: ignore[attr-defined]
    for route in ("print", "laser", "knife")
}


def _maybe(strategy: st.SearchStrategy[Any]) -> st.SearchStrategy[Any]:
    return st.none() | strategy


def _lengths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda x: round(x, 3))


def _table(**fields: st.SearchStrategy[Any]) -> st.SearchStrategy[dict[str, Any]]:
    return st.fixed_dictionaries({}, optional=fields)


@st.composite
def presets(draw: st.DrawFn, wild: bool = False) -> dict[str, Any]:
    """A preset that reads well; ``wild`` stretches lengths far past the sensible."""
    far = 6.0 if wild else 1.0
    low = 0.3 if wild else 1.0
    route = draw(st.sampled_from(("print", "laser", "knife")))
    made: dict[str, Any] = {
        "holders_preset": 1,
        "title": "a weir",
        "route": route,
        "bed": {"name": draw(st.sampled_from(keys("beds") if wild else ("a4-wide", "a3", "a4-narrow")))},
        "film": {
            "format": draw(st.sampled_from(keys("formats"))),
            "emulsion": draw(st.sampled_from(("down", "up"))),
        },
        "material": {"name": draw(st.sampled_from(MATERIALS[route]))},
        "printer": {"name": draw(st.sampled_from(keys("printers")))},
        "lip": draw(
            _table(
                all_mm=_lengths(low, 4 * far),
                left_mm=_lengths(low, 4 * far),
                head_mm=_lengths(low, 4 * far),
                rebate_edge=st.sampled_from(("left", "right", "head", "foot") if wild else ("right", "foot")),
                rebate_mm=_lengths(0.3, 1.5 * far),
            )
        ),
        "layout": draw(
            _table(
                count=st.just("fill") | st.integers(1, 6),
                turn=st.sampled_from(("auto", "never", "always")),
                slide_gap_mm=_lengths(0.1, 2 * far),
                clearance_mm=_lengths(0.05, far),
                pocket_depth_mm=_lengths(0.3, 3 * far),
                corner_radius_mm=_lengths(0, 8 * far),
                wall_mm=_lengths(0.8, 6 * far),
                relief=st.sampled_from(("auto", "none")),
                finger_notches=st.booleans(),
                label=st.booleans(),
            )
        ),
    }
    made["bed"] |= draw(
        _table(focus_height_mm=_lengths(0 if wild else 2.0, 5 * far), lid_room_mm=_lengths(2, 30))
    )
    if draw(st.booleans()):
        made["feet"] = draw(
            _table(
                count=st.integers(3, 8),
                diameter_mm=_lengths(3, 12 * far),
                thickness_mm=_lengths(0.5, 2 * far),
            )
        )
    if draw(st.booleans()):
        made["lid"] = draw(
            _table(
                thickness_mm=_lengths(0.5, 5 * far if not wild else 20),
                lip_mm=_lengths(0, 4 * far),
                play_mm=_lengths(0, far),
                clearance_mm=_lengths(0.05, far),
                tabs=st.integers(0, 2),
                magnets=st.integers(0, 4),
            )
        )
    return made


def kept_or_refused(data: dict[str, Any], *laws: Callable[[Job, Design], None]) -> bool:
    """Whether a preset becomes a design, which then keeps the laws; if not, the refusal names a field and a way out."""
    try:
        wanted = resolve(validate(data, "", "random"))
        made = design(wanted)
    except InputError as refusal:
        assert refusal.field
        assert refusal.way_out
        return False
    for keep in laws:
        keep(wanted, made)
    return True
