"""A holder smaller than the glass: one place for drawing, crop boxes, sheet and checks, and what holds it there."""

from __future__ import annotations

from typing import Any

import pytest

from holders.checks.frame.fit import GlassFit
from holders.core.errors import InputError
from holders.design.model import Role
from holders.design.plan.anchor import by_ruler, holding, placing_words, shift_mm
from holders.design.resolve import design
from holders.output.sheet.scanning import section
from holders.study import study
from tests.presets_made import job

SMALL: dict[str, Any] = {"outer_width_mm": 130.0, "outer_length_mm": 160.0}
GLASS = 216.0, 297.0  # the bed's row


def small(**layout: Any) -> Any:
    return job(film={"format": "4x5"}, layout={**SMALL, **layout})


@pytest.mark.parametrize(
    ("anchor", "corner"),
    [("middle", (43.0, 68.5)), ("head-corner", (0.5, 297.0 - 0.5 - 160.0))],
)
def test_place_by_hand(anchor: str, corner: tuple[float, float]) -> None:
    """Half of what the glass leaves, or the slide-in gap from two rims."""
    made = design(small(anchor=anchor))
    assert (made.outer.x, made.outer.y) == pytest.approx(corner)
    assert (made.glass.width, made.glass.height) == GLASS
    # the part itself lies there, and so do its windows
    x0, y0, x1, y1 = next(part for part in made.parts if part.in_frame).box
    assert (x0, y0, x1, y1) == pytest.approx((*corner, corner[0] + 130, corner[1] + 160))
    assert all(made.outer.contains(window.pocket) for window in made.windows)


def test_stops_bridge_the_way_to_a_rim_off_the_calibration_zone() -> None:
    made = design(small(anchor="middle"))
    stops = [part for part in made.parts if part.role is Role.STOP]
    assert len(stops) == 2
    assert made.calibration is not None
    for part in stops:
        x0, y0, x1, y1 = part.box
        # between rim and holder: one end on a rim of the glass, the other on the holder
        ends = {round(v, 6) for v in (x0, y0, 216 - x1, 297 - y1)}
        assert 0.0 in ends
        assert {round(x1 - x0, 6), round(y1 - y0, 6)} & {43.0, 68.5}
        zone = made.calibration
        assert x1 <= zone.x or x0 >= zone.right or y1 <= zone.y or y0 >= zone.top
        assert part.z0 == 0.0
        assert part.z1 >= min(p.z0 for p in made.parts if p.in_frame) + 1.0
    assert None not in holding(made)
    assert shift_mm(made) == (0.0, 0.0)


def test_a_holder_as_large_as_the_glass_has_none() -> None:
    made = design(job(film={"format": "4x5"}))
    assert not [part for part in made.parts if part.role is Role.STOP]
    assert None not in holding(made)
    assert "hollowed corner at the home corner" in placing_words(made)


def test_sheet_and_check_say_what_holds_it() -> None:
    wanted = small(anchor="middle")
    made = design(wanted)
    words = placing_words(made)
    assert '"stop left" against the left rim' in words
    assert "at the home corner" not in words  # it does not lie there
    assert "43.0 mm from the left rim and 68.5 mm from the rim at the home end" in str(
        section((wanted.film,), wanted.preset, made)
    )
    held = [f for f in GlassFit().check(wanted, made) if "held" in f.subject]
    assert [f.level for f in held] == ["pass"]


def test_without_its_stops_the_check_says_that_nothing_holds_it() -> None:
    from dataclasses import replace

    wanted = small(anchor="middle")
    made = design(wanted)
    bare = replace(made, parts=tuple(part for part in made.parts if part.role is not Role.STOP))
    assert holding(bare) == (None, None)
    found = next(f for f in GlassFit().check(wanted, bare) if "held" in f.subject)
    assert found.level == "warn"
    assert found.measured == pytest.approx(68.5)
    assert by_ruler(bare) == "43.0 mm from the left rim and 68.5 mm from the home rim"
    assert by_ruler(bare) in found.advice
    assert by_ruler(bare).split(" and ", maxsplit=1)[0] in placing_words(bare)
    # a stop too low to stand beside the holder holds nothing
    low = [part for part in made.parts if part.role is Role.STOP]
    sunk = [replace(p, slabs=tuple(replace(s, z1=0.5) for s in p.slabs)) for p in low]
    assert holding(replace(bare, parts=(*bare.parts, *sunk))) == (None, None)


def test_in_a_corner_two_rims_hold_it() -> None:
    made = design(small(anchor="head-corner"))
    assert not [part for part in made.parts if part.role is Role.STOP]
    assert holding(made) == ("left", "head")
    words = placing_words(made)
    assert "against the left rim and the rim at the head" in words


def test_the_home_corner_is_refused_where_the_calibration_zone_is_in_the_way() -> None:
    with pytest.raises(InputError) as caught:
        design(small(anchor="home-corner"))
    assert caught.value.field == "layout.anchor"
    assert 'layout.anchor = "head-corner"' in str(caught.value)
    assert design(small(anchor="head-corner")).outer.x == 0.5
    free = job(
        film={"format": "4x5"},
        bed={"calibration_width_mm": 0.001, "calibration_length_mm": 0.001, "calibration_x_mm": 210.0},
        layout={**SMALL, "anchor": "home-corner"},
    )
    made = design(free)
    assert (made.outer.x, made.outer.y) == (0.5, 0.5)
    assert holding(made) == ("left", "foot")


@pytest.mark.parametrize(
    "change",
    [
        {},
        {"route": "laser", "material": {"name": "acrylic-cast"}},
        {"route": "knife", "material": {"name": "mounting-board"}},
        {"feet": {}},
    ],
    ids=["print", "laser", "knife", "feet"],
)
def test_a_small_holder_passes_its_checks_on_every_route(change: dict[str, Any]) -> None:
    found = study(job(film={"format": "4x5"}, layout=SMALL, **change).preset)
    assert [f.level for f in found.findings if f.code == "glass-fit"] == ["pass", "pass"]
    stops = [(f.code, f.title, f.where) for f in found.findings if f.level == "stop"]
    assert not stops
    # the sheets of a stop are no sheets below the film
    bare = study(job(film={"format": "4x5"}, layout={**SMALL, "anchor": "head-corner"}, **change).preset)
    assert found.design.heights.ledge_height == bare.design.heights.ledge_height
