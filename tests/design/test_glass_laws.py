"""Laws of film on its own glass and of open ends over random presets: kept, or the preset is refused in words."""

from __future__ import annotations

from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.model import Design
from holders.design.parts.sections import section
from holders.fittings.glasses.sandwich import Sandwich
from holders.fittings.roll.passed import OpenEnds
from holders.fittings.wet.mounted import Mounted
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset
from tests.design.test_laws import keep_laws
from tests.design.test_on_glass import traced_rise_mm
from tests.design.test_roll import box
from tests.presets_made import kept_or_refused, presets

COMMON: dict[str, Any] = {
    "deadline": None,
    "suppress_health_check": [HealthCheck.too_slow, HealthCheck.filter_too_much],
}


def _lengths(low: float, high: float) -> st.SearchStrategy[float]:
    return st.floats(low, high, allow_nan=False).map(lambda x: round(x, 3))


@st.composite
def on_glass(draw: st.DrawFn) -> dict[str, Any]:
    """A random preset without lid, its film on glass in one of the two ways."""
    made = {key: value for key, value in draw(presets()).items() if key != "lid"}
    made["layout"].pop("pocket_depth_mm", None)
    made["lip"] = {}
    made["bed"]["focus_height_mm"] = draw(_lengths(2.5, 6.0))
    if draw(st.booleans()):
        made["wet"] = {
            "side": draw(st.sampled_from(("over", "under"))),
            "thickness_mm": draw(_lengths(1.0, 3.0)),
            "rim_mm": draw(_lengths(4.0, 20.0)),
            "overlap_mm": draw(_lengths(1.0, 6.0)),
            "fluid_index": draw(_lengths(1.3, 1.7)),
            "flammable": "no",
        }
    else:
        made["glasses"] = {
            "below_mm": draw(_lengths(0.8, 3.0)),
            "above_mm": draw(_lengths(0.8, 5.0)),
            "rim_mm": draw(_lengths(0.0, 12.0)),
        }
    return made


@st.composite
def through(draw: st.DrawFn) -> dict[str, Any]:
    """A random preset of a strip, its ends open."""
    made = draw(presets())
    # a large plate: a printed lid in pieces has laws of its own
    made["route"], made["material"], made["printer"] = "print", {"name": "petg"}, {"name": "p300"}
    if (
        "lid" in made
    ):  # a flat lid, thinner than its rim, rests on its shoulder where film is thinner than a layer
        made["lid"] = {"thickness_mm": draw(_lengths(2.0, 8.0)), "tabs": draw(st.integers(0, 2))}
    made["film"]["format"] = draw(st.sampled_from(("35mm-strip-4", "35mm-strip-5", "roll-6x6", "roll-6x9")))
    made["roll"] = {
        "frames": draw(st.integers(6, 80)),
        "ends": draw(st.sampled_from(("both", "near", "far"))),
    }
    return made


def keep_glass_laws(wanted: Job, made: Design) -> None:
    """Film, overlay and upper glass lie on their glass and on one another; the image where rays put it."""
    borne = wanted.on_glass
    assert borne is not None
    assert made.heights.optics == pytest.approx(traced_rise_mm(borne), abs=1e-5)
    ledge = made.heights.drawn_ledge
    assert made.film_thickness == pytest.approx(borne.above_mm)
    wet, pair = made.find(Mounted), made.find(Sandwich)
    films = wet.films if wet is not None else pair.films if pair is not None else ()
    assert len(films) == len(made.windows)
    for window, film in zip(made.windows, films, strict=True):
        assert window.film.contains(film)
        assert film.contains(window.picture, slack=1e-6)
    if pair is not None:
        assert pair.film_z[0] == pytest.approx(ledge + pair.table.below_mm)
        assert pair.upper_z[1] == pytest.approx(ledge + borne.above_mm)
        assert made.total_height >= pair.upper_z[1] - 1e-9
        assert ledge + made.pocket_depth >= (pair.upper_z[0] + pair.upper_z[1]) / 2 - 1e-6
    if wet is not None:
        assert all(
            window.film.contains(rect) for window, rect in zip(made.windows, wet.overlays, strict=True)
        )
        assert made.pocket_depth >= borne.above_mm + 1.0 - 1e-6  # the wall keeps a drop in
        under, t = wet.table.side == "under", wet.table
        low = wet.overlay_z[0] if under else wet.film_z[0]
        assert low == pytest.approx(ledge - borne.hang_mm if under else ledge + t.thickness_mm + t.fluid_mm)


def keep_open_laws(wanted: Job, made: Design) -> None:
    """Every slot is free above the ledge and carried below it, and no slot meets another window."""
    ends = made.find(OpenEnds)
    assert ends is not None
    assert (ends.passes - 1) * ends.shown < ends.table.frames <= ends.passes * ends.shown
    frames = [part for part in made.parts if part.in_frame]
    ledge, top = made.heights.drawn_ledge, made.heights.drawn_ledge + made.pocket_depth
    for slot, tail in zip(ends.slots, ends.tails, strict=True):
        for part in frames:
            assert section(part, (ledge + top) / 2).intersection(box(slot)).area < 1e-6
        under = sum(section(part, ledge - 0.05).intersection(box(tail)).area for part in frames)
        hole = made.calibration is not None and any(way.overlaps(made.calibration) for way in ends.ways)
        if not made.seams and not hole:  # a seam's gap is no floor; film over the calibration zone is a stop
            assert under == pytest.approx(box(tail).area, rel=1e-3)  # less a rounded corner of the holder
        assert sum(window.pocket.overlaps(slot) for window in made.windows) == 0


@settings(max_examples=60, **COMMON)
@given(data=on_glass())
def test_glass_keeps_its_laws_or_is_refused(data: dict[str, Any]) -> None:
    kept_or_refused(data, keep_laws, keep_glass_laws)


@settings(max_examples=40, **COMMON)
@given(data=through())
def test_open_ends_keep_their_laws_or_are_refused(data: dict[str, Any]) -> None:
    kept_or_refused(data, keep_laws, keep_open_laws)


@pytest.mark.slow
@settings(max_examples=1500, **COMMON)
@given(data=on_glass())
def test_glass_keeps_its_laws_or_is_refused_long(data: dict[str, Any]) -> None:
    kept_or_refused(data, keep_laws, keep_glass_laws)


@pytest.mark.slow
@settings(max_examples=1500, **COMMON)
@given(data=through())
def test_open_ends_keep_their_laws_or_are_refused_long(data: dict[str, Any]) -> None:
    kept_or_refused(data, keep_laws, keep_open_laws)


def test_the_random_presets_are_mostly_designed() -> None:
    """So that the laws are looked at and not only refusals."""
    seen: list[bool] = []

    @settings(max_examples=40, database=None, **COMMON)
    @given(data=on_glass())
    def look(data: dict[str, Any]) -> None:
        try:
            resolve(Preset.model_validate(data))
        except InputError:
            seen.append(False)
            return
        seen.append(kept_or_refused(data))

    look()
    assert sum(seen) >= 8
