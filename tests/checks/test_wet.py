"""The checks of wet mounting, each seen to pass and to fail."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest

from holders.checks.film.grip import Grips
from holders.checks.safety.cautions import hazards
from holders.core.errors import CheckStops
from holders.core.findings import Finding
from holders.design.held.film_in_holder import designed
from holders.film.rings import fresnel_reflectance, two_face_contrast
from holders.fittings.wet.check import WetRule
from holders.output.bundle.produce import produce
from holders.output.sheet.loading import section
from holders.preset.schema import Preset
from holders.study import study
from tests.presets_made import changed, job

SMALL: dict[str, Any] = {"film": {"format": "4x5"}}


def findings(**keys: Any) -> dict[str, Finding]:
    wanted = job(**(SMALL | keys))
    made, _ = designed(wanted)
    return {finding.subject: finding for finding in WetRule().check(wanted, made)}


@pytest.mark.parametrize(("stated", "level"), [("no", "pass"), ("yes", "stop"), ("unknown", "stop")])
def test_only_a_fluid_stated_not_to_burn_is_taken(stated: str, level: str) -> None:
    assert findings(wet={"flammable": stated})["fluid that does not burn"].level == level


def test_nothing_said_is_a_stop() -> None:
    assert findings(wet={})["fluid that does not burn"].level == "stop"


@pytest.mark.parametrize("stated", ["yes", "unknown"])
def test_no_reason_lifts_that_stop(stated: str, tmp_path: Path) -> None:
    found = study(Preset.model_validate(changed(**SMALL, wet={"flammable": stated})))
    with pytest.raises(CheckStops, match="anyway does not lift"):
        produce(found, tmp_path, anyway="a dummy for the shelf")
    assert not list(tmp_path.iterdir())


def test_acrylic_is_a_stop() -> None:
    acrylic = {"name": "acrylic-cast", "sheets_mm": [1.5, 2.0, 3.0, 5.0]}
    stop = findings(route="laser", material=acrylic, wet={"flammable": "no", "thickness_mm": 2.0})
    assert stop["no acrylic at the fluid"].level == "stop"
    assert findings(wet={"flammable": "no"})["no acrylic at the fluid"].level == "pass"


def test_an_index_that_matches_gives_no_rings_and_air_does() -> None:
    """Fresnel at right angles: 4 % at glass of 1.5 in air (any optics text), none where the indices are equal."""
    assert fresnel_reflectance(1.5) == pytest.approx(0.04, abs=1e-12)
    assert two_face_contrast(1.53, 1.52, 1.53) == 0.0
    # both faces 4 %: (I_max - I_min) / (I_max + I_min) of 1 / (1 - r)^2 and 1 / (1 + r)^2, the first two beams
    assert two_face_contrast(1.5, 1.5) == pytest.approx(2 * 0.04 / (1 + 0.04**2), abs=1e-12)
    seen = findings(wet={"fluid_index": 1.50})["rings across the fluid"]
    assert seen.level == "pass"
    assert "bubble" in seen.where
    # a fluid nearly as thin as air optically: rings would show
    assert two_face_contrast(1.64, 1.64, 1.3) > 0.02
    assert findings(wet={"fluid_index": 1.3})["rings across the fluid"].level == "warn"


@pytest.mark.parametrize(
    ("keys", "level"),
    [
        ({}, "pass"),
        ({"rim_mm": 7.0}, "warn"),
        ({"rim_mm": 6.0}, "stop"),
        ({"side": "under", "rim_mm": 9.0}, "stop"),
    ],
)
def test_dry_glass_around_the_overlay(keys: dict[str, Any], level: str) -> None:
    assert findings(wet=keys)["dry glass around the overlay"].level == level


def test_light_past_the_film() -> None:
    title = "light past the mounted film"
    assert findings(wet={"side": "under", "mask": False})[title].level == "warn"
    assert findings(wet={"side": "under", "mask": True})[title].level == "pass"
    assert findings(wet={"side": "over", "mask": False})[title].level == "pass"  # the ledge hides the rim


def test_wet_glass_is_lifted_by_a_tab_of_tape() -> None:
    """A suction lifter on the overlay would pull it off."""
    wanted = job(film={"format": "4x5"}, wet={"flammable": "no"}, layout={"finger_notches": False})
    made, _ = designed(wanted)
    bare = replace(made, windows=tuple(replace(window, grips=()) for window in made.windows))
    found, edge = Grips().check(wanted, bare)
    assert edge.level == "skip"  # no edge of it is bare
    assert found.level == "warn"
    assert "tape" in found.advice
    assert "suction" not in found.advice


def test_the_sheet_says_where_and_how() -> None:
    wanted = job(**SMALL, wet={"flammable": "no"})
    made, _ = designed(wanted)
    steps = " ".join(next(iter(section(wanted, made).blocks)).rows)
    for words in (
        "away from the scanner",
        "until nothing drips",
        "no vapour is left",
        "is the lamp switched on",
        "acrylic",
    ):
        assert words in steps
    keys = [one.key for one in hazards(wanted, made)]
    assert {"mounting-fluid", "wet-fluid", "nitrate"} <= set(keys)
