"""Odd designs never crash a check, and every check answers each of them; the shipped presets raise no stop."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st
from pydantic import ValidationError

from holders.checks.rules import RULES
from holders.checks.runner import run
from holders.checks.safety.cautions import cautions
from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.design.model import Design, Edges, Foot, Rect
from holders.design.resolve import design
from holders.design.sag import Sag
from holders.fittings.lid.fitted import LidFrame
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset
from tests.checks.make_design import job, lid, make, window, with_heights
from tests.presets_made import SHIPPED, presets

CODES = {rule.code for rule in RULES}


def sound(findings: tuple[Finding, ...]) -> None:
    """Each rule answered, in numbers that can be written as JSON, and each complaint has a way out."""
    assert {f.code for f in findings} == CODES
    for f in findings:
        for number in (f.measured, f.limit):
            assert number is None or isinstance(number, str) or math.isfinite(number), f
        assert f.advice or f.level in ("pass", "skip"), f
        assert "\n" not in f.where + f.advice + f.title


rects = st.builds(Rect, st.floats(-20, 200), st.floats(-20, 250), st.floats(8, 150), st.floats(8, 200))
lips = st.builds(Edges, *(st.floats(0, 3.9) for _ in range(4)))
feet = st.lists(st.builds(Foot, st.floats(-10, 230), st.floats(-10, 310), st.floats(1, 30)), max_size=5)


@st.composite
def odd(draw: st.DrawFn) -> tuple[Job, Design]:
    route = draw(st.sampled_from(["print", "laser", "knife"]))
    at = draw(st.lists(st.tuples(rects, lips), max_size=3))
    made = make(route, tuple(window(rect, edges, seen=draw(st.floats(0, 1))) for rect, edges in at))
    made = with_heights(made, **{k: draw(st.floats(0, 8)) for k in ("ledge_wanted", "sharp_plane", "focus")})
    made = replace(
        made,
        outer=draw(rects),
        lamp=draw(rects),
        calibration=draw(st.none() | rects),
        feet=tuple(draw(feet)),
        foot_recess=draw(st.floats(0, 6)),
        foot_thickness=draw(st.floats(0, 6)),
        total_height=draw(st.floats(1, 40)),
        slide_gap=draw(st.floats(0, 5)),
        sag=draw(st.none() | st.builds(Sag, *(st.floats(-1, 3) for _ in range(3)), st.floats(0, 1))),
    )
    table: dict[str, Any] = {"lip": {"rebate_edge": draw(st.sampled_from([None, "left", "head"]))}}
    table["lip"] = {k: v for k, v in table["lip"].items() if v is not None}
    if made.windows and draw(st.booleans()):
        low = draw(st.floats(0, 6))
        made = replace(
            made,
            fitted=(LidFrame(draw(st.floats(0, 2))),),
            parts=(*made.parts, lid(made.windows[0], (low, low + 1), 0.3, route)),
        )
        table["lid"] = {"magnets": draw(st.integers(0, 4))}
    return job(route, preset=table), made


@given(made=odd())
@settings(max_examples=60, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_odd_designs_are_judged_not_crashed_on(made: tuple[Job, Design]) -> None:
    sound(run(*made))
    assert cautions(*made)


@given(data=presets())
@settings(max_examples=15, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_any_preset_that_gives_a_holder_is_judged(data: dict[str, Any]) -> None:
    _judge(data)


@pytest.mark.slow
@given(data=presets(wild=True))
@settings(max_examples=1000, deadline=None, suppress_health_check=[HealthCheck.too_slow])
def test_wild_presets_are_judged(data: dict[str, Any]) -> None:
    _judge(data)


def _judge(data: dict[str, Any]) -> None:
    try:
        wanted = resolve(Preset.model_validate(data))
        made = design(wanted)
    except (InputError, ValidationError):
        return  # refused before any check: that is tested where it is refused
    found = run(wanted, made)
    sound(found)
    for code in ("overlap", "lamp", "calibration"):  # what the layout promises, measured again on the parts
        assert all(f.level != "stop" for f in found if f.code == code), [f for f in found if f.code == code]


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_shipped_presets_raise_no_stop(path: Path) -> None:
    wanted = resolve(load(path))
    found = run(wanted, design(wanted))
    sound(found)
    assert [f for f in found if f.level == "stop"] == []


def test_a_chamfer_is_measured_where_it_is_widest() -> None:
    """Two windows 5 mm apart with chamfers of 1.8 mm over 1.8 mm leave 1.44 mm just above the underside."""
    two = (window(Rect(20, 86, 60, 80)), window(Rect(80, 86, 60, 80)))
    wall = next(f for f in run(job(), make(windows=two)) if f.code == "wall")
    assert wall.measured == pytest.approx(5.0 - 2 * (1.8 - 0.02), abs=0.01)
    assert "0.52 mm above the glass" in wall.where


def test_centre_of_mass_is_that_of_the_parts() -> None:
    from holders.checks.frame.feet import _centre_of_mass

    plain = make("knife", windows=())
    x, y = _centre_of_mass(plain)
    bite = 134 * 9.5
    whole = 215 * 296
    assert x == pytest.approx((whole * 108 - bite * 105) / (whole - bite), abs=1e-6)
    assert y == pytest.approx((whole * 148.5 - bite * 5.25) / (whole - bite), abs=1e-6)


def test_lettering_is_no_thin_wall() -> None:
    """Letters have small islands inside; they are shallow and no wall."""
    from holders.design.model import Groove
    from holders.design.parts.slices import plain, slices

    made = make()
    letters = Groove("8", (((30, 40), (32, 40), (32, 42), (30, 42), (30, 40)),), 0.6, 0.4, 5.1)
    lettered = replace(made, parts=(replace(made.parts[0], grooves=(letters,)),))
    assert plain(lettered.parts[0]).grooves == ()
    assert slices(lettered.parts[0])[-1].shape.equals(slices(made.parts[0])[-1].shape)
    one, two = (next(f for f in run(job(), d) if f.code == "wall") for d in (made, lettered))
    assert one == two
