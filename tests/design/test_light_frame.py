"""A light frame: as much less plastic as its trays are deep, everything else as it was."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path
from typing import Any

import pytest
import shapely

from holders.core.errors import InputError
from holders.design.model import Design
from holders.design.parts.sections import section
from holders.design.parts.volume import part_volume
from holders.design.resolve import design
from holders.facts.printing import usual_settings
from holders.preset.load import load, parse
from holders.preset.resolve import Job, resolve
from holders.preset.shipped import shipped_folder
from holders.preset.template import template
from holders.workshop.cost import PrintCost, print_costs, print_hours


def job(light: bool, **tables: Any) -> Job:
    values: dict[str, Any] = {
        "title": "light", "route": "print", "bed": {"name": "a4-wide"}, "film": {"format": "roll-6x17"},
        "material": {"name": "petg"}, "lid": {"thickness_mm": 6.0}, "feet": {"count": 4},
        "layout": {"light": light, "label": False, "turn": "never"}, **tables,
    }  # fmt: skip
    return resolve(parse(template(values), "light"))


@pytest.fixture(scope="module")
def both() -> tuple[Design, Design]:
    return design(job(True)), design(job(False))


@pytest.fixture(scope="module")
def shipped() -> tuple[tuple[Job, Design], tuple[Job, Design]]:
    """The shipped light frame, and the same with a plain one."""
    made = resolve(load(shipped_folder() / "6x17-light-frame.toml"))
    plain = made.preset.layout.model_copy(update={"light": False})
    full = replace(made, preset=made.preset.model_copy(update={"layout": plain}))
    return (made, design(made)), (full, design(full))


def costs_of(job: Job, made: Design) -> list[PrintCost]:
    assert job.printer is not None
    return print_costs(job.material, job.printer, made, usual_settings(job.printer))


def test_the_shipped_one_takes_two_fifths_less_plastic(
    shipped: tuple[tuple[Job, Design], tuple[Job, Design]],
) -> None:
    light, full = (sum(cost.laid_mm3 for cost in costs_of(*one)) for one in shipped)
    assert light <= 0.6 * full


def test_the_page_has_the_hours_of_both_frames(
    shipped: tuple[tuple[Job, Design], tuple[Job, Design]],
) -> None:
    """docs/reliability.md: printing time of the light and of the plain frame, lid and all."""
    light, full = (
        print_hours(job.printer, made, costs_of(job, made)) for job, made in shipped if job.printer
    )
    told = f"{light:.1f} hours of printing by our estimate, {full:.1f} without its trays"
    page = Path(__file__).parents[2] / "docs" / "reliability.md"
    assert told in page.read_text(encoding="utf-8"), told


def test_what_is_gone_is_the_trays(both: tuple[Design, Design]) -> None:
    """By hand: each tray's area less its four rounded corners, times the height above the floor of three layers."""
    light, full = (one.parts[0] for one in both)
    gone = section(full, light.z1 - 0.1).difference(section(light, light.z1 - 0.1))
    trays = shapely.get_parts(gone)
    area = sum(
        (r.bounds[2] - r.bounds[0]) * (r.bounds[3] - r.bounds[1]) - (4 - math.pi) * 2.0**2 for r in trays
    )
    assert len(trays) >= 4
    assert part_volume(full) - part_volume(light) == pytest.approx(
        area * (light.z1 - light.z0 - 0.6), rel=1e-4
    )


def test_the_film_lies_as_before_and_the_floor_keeps_the_light_off(both: tuple[Design, Design]) -> None:
    light, full = both
    assert light.windows == full.windows
    assert light.heights == full.heights
    assert light.feet == full.feet
    one, other = light.parts[0], full.parts[0]
    assert (one.z0, one.z1) == (other.z0, other.z1)
    low = one.z0 + 0.5
    assert section(one, low).symmetric_difference(section(other, low)).area == pytest.approx(0, abs=1e-6)


def test_a_rim_stays_round_everything(both: tuple[Design, Design]) -> None:
    light, full = both
    high = light.parts[0].z1 - 0.1
    gone = section(full.parts[0], high).difference(section(light.parts[0], high))
    outside = shapely.box(*section(light.parts[0], high).bounds).exterior
    assert gone.distance(outside) >= 4.0 - 1e-6
    for window in light.windows:
        p = window.pocket
        assert gone.distance(shapely.box(p.x, p.y, p.right, p.top)) >= 4.0 - 1e-6
    for foot in light.feet:
        assert gone.distance(shapely.Point(foot.x, foot.y)) >= foot.diameter_mm / 2 + 1.0
    for a in (pieces := shapely.get_parts(gone)):
        assert all(a is b or a.distance(b) >= 2.4 - 1e-6 for b in pieces)


def test_cut_holders_and_carriers_are_refused() -> None:
    cut = {"route": "laser", "material": {"name": "acrylic-cast"}, "lid": {}}
    insert = {
        "carrier": {"insert_width_mm": 150.0, "insert_length_mm": 200.0},
        "film": {"format": "roll-6x9"},
    }
    for more in (cut, insert):
        with pytest.raises(InputError, match=r"layout\.light"):
            design(job(True, feet={"count": 4, "thickness_mm": 0.5}, **more))
