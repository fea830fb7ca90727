"""A lid without play lies on its film whatever the film's thickness in layers; the check says when it may not."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest

from holders.design.model import Design, Role
from holders.design.resolve import design
from holders.fittings.lid.check import LidFit
from holders.fittings.lid.fitted import LidFrame
from holders.preset.resolve import Job
from tests.design.test_laws import keep_laws
from tests.presets_made import job


def lidded(thickness_mm: float, layer_mm: float = 0.2, **more: float) -> Job:
    return job(
        film={"format": "8x10", "thickness_mm": thickness_mm},
        printer={"layer_mm": layer_mm, "first_layer_mm": layer_mm, **more},
        lid={"play_mm": 0.0},
    )


@pytest.mark.parametrize("thickness", [0.2, 0.205, 0.25, 0.39, 0.4])
def test_no_film_is_loose_for_a_few_microns(thickness: float) -> None:
    """At 0.2 mm a layer a film of 0.205 mm once lay 0.195 mm below its lid, one of 0.200 mm against it."""
    made = design(lidded(thickness))
    assert made.find(LidFrame).play == 0.0
    lid = next(part for part in made.parts if part.role is Role.LID)
    assert lid.z0 == pytest.approx(made.heights.drawn_ledge + thickness)
    assert made.find(LidFrame).shoulder is not None
    assert made.find(LidFrame).shoulder <= thickness + made.find(LidFrame).rim + 1e-9
    # the wall stands in whole layers and at least as high as the lid
    assert made.pocket_depth >= lid.z1 - made.heights.drawn_ledge - 1e-9


def test_play_that_is_asked_for_stays() -> None:
    made = design(job(film={"format": "8x10", "thickness_mm": 0.2}, lid={"play_mm": 0.2}))
    assert made.find(LidFrame).play == pytest.approx(0.2)


def test_the_check_says_when_the_shoulder_may_hold_the_lid_up() -> None:
    """By hand: polyester 0.18 (0.16 at least), so film of 0.20 may be 0.18; a shoulder of 0.40 and 0.05 of print."""
    wanted = lidded(0.2, z_tolerance_mm=0.05)
    made = design(wanted)
    lid = made.find(LidFrame)
    assert lid is not None
    assert lid.shoulder == pytest.approx(0.4)  # 0.20 thickened by 0.02, and 0.05 of print: two layers
    assert lid.rim == pytest.approx(0.4)  # 0.40 + 0.05 - 0.18 = 0.27: two layers
    assert measured(wanted, made) == ("pass", 0.0)
    least = wanted.film.thickness_mm - (wanted.base.thickness_mm - wanted.base.thickness_low_mm)
    low = replace(made, fitted=(replace(lid, rim=0.2),))
    # so little room no film buckles in; a shoulder that is half a millimetre too high leaves too much
    assert measured(wanted, low) == ("pass", pytest.approx(0.4 - 0.2 + 0.05 - least))
    high = replace(made, fitted=(replace(lid, shoulder=1.2),))
    assert measured(wanted, high) == ("warn", pytest.approx(1.2 - 0.4 + 0.05 - least))


def measured(wanted: Job, made: Design) -> tuple[str, object]:
    """Level and number of the finding on the lid's play."""
    found = next(f for f in LidFit().check(wanted, made) if "play" in f.subject)
    return found.level, found.measured


@pytest.mark.parametrize(
    "changes",
    [
        {"film": {"format": "35mm-strip"}, "lid": {"thickness_mm": 0.5}},  # too thin for a rim
        {
            "film": {"format": "35mm-strip"},
            "printer": {"name": "p180"},
            "lid": {},
        },  # in pieces, too narrow for one
    ],
)
def test_a_flat_lid_on_film_thinner_than_a_layer_rests_on_its_shoulder(changes: dict[str, Any]) -> None:
    """One layer of 0.2 mm is the lowest shoulder there is; drawn on the film, 0.15 mm thick, the lid would be in it."""
    wanted = job(**changes)
    made = design(wanted)
    keep_laws(wanted, made)
    lids = [part for part in made.parts if part.role is Role.LID]
    assert lids
    ledge = made.heights.drawn_ledge
    assert min(part.z0 for part in lids) == pytest.approx(ledge + 0.2)
    assert made.find(LidFrame).play == pytest.approx(0.2 - wanted.film.thickness_mm)
