"""A printed lid lies on the film whatever its thickness: its rim stands back over the shoulder by whole layers."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
import shapely

from holders.design.model import Role
from holders.design.parts.sections import section
from holders.design.pieces.pose import print_pose
from holders.design.resolve import design
from holders.fittings.lid.check import LidFit
from holders.fittings.lid.fitted import LidFrame
from holders.preset.load import parse
from holders.preset.resolve import Job, resolve
from holders.preset.template import template


def made(thickness_mm: float = 0.2, layer_mm: float = 0.2, **lid: Any) -> Job:
    values: dict[str, Any] = {
        "title": "lidded", "route": "print", "bed": {"name": "a4-wide"}, "material": {"name": "petg"},
        "film": {"format": "4x5", "thickness_mm": thickness_mm}, "printer": {"name": "p300", "layer_mm": layer_mm},
        "lid": lid,
    }  # fmt: skip
    return resolve(parse(template(values), "lidded"))


@pytest.mark.parametrize("layer_mm", [0.1, 0.2, 0.28])
@pytest.mark.parametrize("thickness_mm", [0.155, 0.195, 0.2, 0.205, 0.25, 0.3])
def test_no_thickness_of_film_lifts_the_lid_off_it(thickness_mm: float, layer_mm: float) -> None:
    job = made(thickness_mm, layer_mm)
    assert job.printer is not None
    found = design(job)
    (lid,) = [part for part in found.parts if part.role is Role.LID]
    assert found.find(LidFrame).play == 0
    assert lid.z0 == pytest.approx(found.heights.drawn_ledge + thickness_mm, abs=1e-9)
    assert found.find(LidFrame).shoulder is not None
    # the base's thickness range and the printer's truth in height, the worst way round each time
    thin, thick = (
        thickness_mm + edge - job.base.thickness_mm
        for edge in (job.base.thickness_low_mm, job.base.thickness_high_mm)
    )
    true = job.printer.z_tolerance_mm
    assert thin + found.find(LidFrame).rim >= found.find(LidFrame).shoulder + true - 1e-9, (
        "the rim rests on the shoulder"
    )
    assert found.find(LidFrame).shoulder - true >= thick - 1e-9, "film slides over the shoulder"
    for height in (found.find(LidFrame).shoulder, found.find(LidFrame).rim):
        assert height / layer_mm == pytest.approx(round(height / layer_mm), abs=1e-6)
    (play,) = [f for f in LidFit().check(job, found) if f.subject == "lid's play over the film"]
    assert play.level == "pass"


def test_what_lies_on_the_film_stays_inside_the_shoulder_and_is_printed_upside_down() -> None:
    job = made(magnets=2, thickness_mm=6.0)
    found = design(job)
    (lid,) = [part for part in found.parts if part.role is Role.LID]
    (frame,) = [part for part in found.parts if part.role is Role.FRAME]
    shoulder = section(frame, found.heights.drawn_ledge + 0.1)
    tongue = section(lid, lid.z0 + 0.1)
    assert tongue.distance(shoulder) == pytest.approx(0.3, abs=1e-3)  # the lid's clearance
    bare = replace(
        lid, cuts=tuple(cut for cut in lid.cuts if not cut.bevel)
    )  # which leans over by 45 degrees at most
    whole = section(bare, lid.z1 - 0.1)
    assert shapely.difference(tongue, whole.buffer(1e-6)).area == pytest.approx(0, abs=1e-6)
    assert print_pose(lid).turned, "its rim would be printed in the air"


def test_with_play_asked_for_the_lid_rests_on_the_shoulder() -> None:
    found = design(made(play_mm=0.2))
    (lid,) = [part for part in found.parts if part.role is Role.LID]
    assert found.find(LidFrame).rim == 0
    assert found.find(LidFrame).play == pytest.approx(0.2, abs=1e-9)
    assert found.find(LidFrame).shoulder is not None
    assert lid.z0 == pytest.approx(found.heights.drawn_ledge + found.find(LidFrame).shoulder, abs=1e-9)
