"""Plates that are lifted out: openings that count are open in the solid, and what cures a lack is tried."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shapely

from holders.checks.cures import with_cures
from holders.checks.film.grip import Grips
from holders.core.findings import Finding
from holders.design.model import Design
from holders.design.parts import slices
from holders.design.parts.roles import frame_parts
from holders.design.resolve import design
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of
from tests.presets_made import job

PLATES = (
    "35mm-strips", "4x5-insert", "4x5-two-glasses", "5x7-glass-cover", "8x10-mat-board", "8x10-wet-mount",
    "whole-plate-glass",
)  # fmt: skip
FINGER_MM, DEEP_MM = 16.0, 5.0  # a thin glove's fingertip and how far it goes in: common practice, no source
STEP_MM = 0.25


def free_run_mm(made: Design, z: float, edge: str) -> float:
    """The longest free stretch along one edge of the first pocket, as deep as a fingertip, at a height."""
    body, pocket = slices.covered_at(frame_parts(made), z), made.windows[0].pocket
    x0, y0, x1, y1 = pocket.x, pocket.y, pocket.right, pocket.top
    beside = {
        "left": (x0 - DEEP_MM, y0, x0, y1), "right": (x1, y0, x1 + DEEP_MM, y1),
        "foot": (x0, y0 - DEEP_MM, x1, y0), "head": (x0, y1, x1, y1 + DEEP_MM),
    }[edge]  # fmt: skip
    upright = edge in ("left", "right")
    low, high = (beside[1], beside[3]) if upright else (beside[0], beside[2])
    best = run = 0.0
    shapely.prepare(body)
    for k in range(int((high - low) / STEP_MM)):
        a, b = low + k * STEP_MM, low + (k + 1) * STEP_MM
        strip = (
            shapely.box(beside[0], a, beside[2], b) if upright else shapely.box(a, beside[1], b, beside[3])
        )
        run = 0.0 if body.intersection(strip.buffer(-0.05)).area > 0.01 else run + STEP_MM
        best = max(best, run)
    return best


@pytest.mark.parametrize("name", PLATES)
def test_the_openings_are_open_down_to_the_plates_lower_edge(name: str) -> None:
    """Fingers 16 mm wide go in 5 mm at two opposite edges of the solid exactly where the check says so."""
    path = preset_path(Path(name))
    wanted, _ = job_of(parse(path.read_text(), name))
    made = design(wanted)
    z = made.heights.drawn_ledge + 0.3  # below the glass on film, and beside a plate on the ledge
    wide = {edge: free_run_mm(made, z, edge) for edge in ("left", "right", "head", "foot")}
    # round far corners take a little of the depth at the ends of an opening
    pair = any(min(wide[a], wide[b]) >= FINGER_MM - 6.0 for a, b in (("left", "right"), ("head", "foot")))
    found = {finding.subject: finding for finding in Grips().check(wanted, made)}
    assert pair == (found["openings to lift the plate"].level == "pass"), wide
    assert (found["edge of the plate for fingertips"].level == "pass") == pair


def cured(**tables: Any) -> list[Finding]:
    wanted = job(**tables)
    made = design(wanted)
    rule = Grips()
    return list(with_cures(wanted, made, rule, rule.check(wanted, made)))


def test_a_cover_without_openings_is_cured_by_what_was_tried() -> None:
    keys: dict[str, Any] = {"film": {"format": "4x5"}, "cover": {"thickness_mm": 2.0}}
    found = {one.subject: one for one in cured(**keys, layout={"finger_notches": False, "count": 1})}
    closed = found["openings to lift the plate"]
    assert closed.level == "warn"
    assert closed.advice.startswith("set layout.finger_notches = true: tried on this holder, it cures this")
    again = {one.subject: one for one in cured(**keys, layout={"finger_notches": True, "count": 1})}
    assert again["openings to lift the plate"].level == "pass"


def test_thin_glass_is_hardly_felt() -> None:
    keys: dict[str, Any] = {"film": {"format": "4x5"}, "layout": {"count": 1}}
    found = {}
    for thick in (1.0, 1.5, 2.0):
        every = {one.subject: one for one in cured(**keys, cover={"thickness_mm": thick})}
        found[thick] = every["edge of the plate for fingertips"]
    assert {thick: one.level for thick, one in found.items()} == {1.0: "warn", 1.5: "pass", 2.0: "pass"}
    assert found[1.0].advice.startswith(
        "set cover.thickness_mm = 1.5: tried on this holder, it cures this; or "
    )


def test_a_narrower_wall_makes_room_for_the_second_notch_of_a_board_holder() -> None:
    """As the shipped 8x10 of mat board has it: 5 mm of wall beside the calibration opening leave no room, 4.2 mm do."""
    keys: dict[str, Any] = {
        "film": {"format": "8x10"},
        "route": "knife",
        "material": {"name": "mounting-board"},
        "cover": {"thickness_mm": 2.0},
    }
    short = {one.subject: one for one in cured(**keys, layout={"count": 1})}["openings to lift the plate"]
    assert (short.level, short.measured) == ("warn", 1)
    assert short.advice.startswith("set layout.wall_mm = 4.2: tried on this holder, it cures this")
    again = {one.subject: one for one in cured(**keys, layout={"count": 1, "wall_mm": 4.2})}
    assert again["openings to lift the plate"].level == "pass"
