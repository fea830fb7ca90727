"""Sheets that swell in damp air: in the doubt about the ledge's height, in what is said of it."""

from __future__ import annotations

from typing import Any

import pytest

from holders.checks.focus.sharp import measuring
from holders.checks.frame.heat import Expansion
from holders.core.findings import Finding
from holders.design.height.stacks import sheets_at_hand
from holders.design.model import Design
from holders.design.resolve import design
from holders.facts.damp import swelling_mm
from holders.facts.tables import material
from holders.preset.resolve import Job
from holders.workshop.budget.contributors import contributors, sharpness, sheets_below
from holders.workshop.budget.tolerance import Cause
from tests.presets_made import job


def made(name: str, **more: Any) -> tuple[Job, Design]:
    wanted = job(route="laser", material={"name": name, **more.pop("material", {})}, **more)
    return wanted, design(wanted)


def said(wanted: Job, built: Design) -> list[Finding]:
    return [f for f in Expansion().check(wanted, built) if f.subject == "height of the ledge in damp air"]


def test_mdf_swells_as_published() -> None:
    """0.3 mm of 15 mm from 35 to 85 % relative humidity (mdf-info.eu, read): 50 %, so 0.12 mm for 20 %."""
    assert swelling_mm(material("mdf"), 15.0) == pytest.approx(0.3 * 20 / 50)
    assert swelling_mm(material("acrylic-cast"), 15.0) == 0.0


def test_it_is_in_the_doubt_about_the_ledge() -> None:
    wanted, built = made("mdf", material={"sheets_mm": [3.0]})
    (damp,) = [part for part in contributors(wanted, built) if part.cause is Cause.DAMP]
    thick = sum(sheets_below(built))
    assert damp.limit_mm == pytest.approx(4e-4 * 20 * thick)
    assert damp.limit_mm > 0.02
    found = sharpness(wanted, built)
    shares = dict(found.shares)
    others = sum(
        share
        for name, share in shares.items()
        if name not in (damp.name, "sag of the film", "frame's own sag")
    )
    assert shares[damp.name] > 0
    assert others > shares[damp.name]
    dry, same = made("acrylic-cast", material={"sheets_mm": [3.0]})
    assert not [part for part in contributors(dry, same) if part.cause is Cause.DAMP]
    assert measuring(wanted.bed, wanted.preset, found)


def test_stacks_are_chosen_with_it() -> None:
    wanted, _ = made("mdf", material={"sheets_mm": [3.0]})
    (sheet,) = sheets_at_hand(wanted.material, wanted.preset)
    assert sheet.swelling_mm == pytest.approx(0.024)


def test_it_is_said() -> None:
    (fine,) = said(*made("mdf", material={"sheets_mm": [3.0]}))
    assert fine.level == "pass"
    assert "MDF under the film: 0.0" in fine.where
    assert "counted in the chance" in fine.where
    (narrow,) = said(*made("mdf", material={"sheets_mm": [3.0]}, bed={"focus_band_mm": 0.1}))
    assert narrow.level == "warn"
    assert "as damp as" in narrow.advice
    (unknown,) = said(*made("plywood-birch"))
    assert unknown.level == "skip"
    assert "not published" in unknown.advice
    assert not said(*made("acrylic-cast"))
