"""What a glued joint carries and how far it steps: the workshop's formulas against the rail as an elastic solid."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import numpy as np
import pytest

from holders.checks.frame.seam import drop_mm
from holders.design.model import Design, Joint, Seam
from holders.design.resolve import design
from holders.facts.habits import habit
from holders.geometry.outline import bounds
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from holders.workshop.stiffness.joints import flanks_of, neck_mpa, pulled, shear_mpa
from tests.presets_made import SHIPPED, job
from tests.workshop.joint_solid import Answer, Rail, solve, spanned

SHEET: dict[str, Any] = {"layout": {"count": 1}}
CASES: dict[str, tuple[str, str, dict[str, Any]]] = {
    "8x10 frame": ("8x10-small-printer", "tongue", {}),
    "5x7 frame": ("", "tongue", {"film": {"format": "5x7"}, "printer": {"name": "p180"}, **SHEET}),
    "35 mm rail": (
        "", "lap",
        {"film": {"format": "35mm-strip"}, "printer": {"name": "p180"}, "layout": {"count": 5, "turn": "never"}},
    ),
    "6x17 frame": (
        "", "tongue",
        {"film": {"format": "roll-6x17"}, "printer": {"name": "p220"}, "layout": {"count": 1, "light": True}},
    ),
}  # fmt: skip
FINE = [
    pytest.param(name, cells, marks=() if (cells, name) == (2, "35 mm rail") else pytest.mark.slow)
    for cells in (2, 4)
    for name in CASES
]


@cache
def made(name: str) -> tuple[Job, Design, Seam, Joint]:
    stem, kind, tables = CASES[name]
    wanted = resolve(load(next(path for path in SHIPPED if path.stem == stem))) if stem else job(**tables)
    holder = design(wanted)
    seam, joint = next(
        (seam, joint)
        for seam in holder.seams
        for joint in seam.joints
        if seam.role.in_frame and joint.kind == kind
    )
    return wanted, holder, seam, joint


def rail_of(holder: Design, seam: Seam, joint: Joint) -> Rail:
    """Read off the drawing: the rail's span where the seam crosses it, the tongue's outline, the pieces' heights."""
    x0, y0, x1, y1 = bounds(joint.tongue)
    (first, last, far), root = (
        ((x0, x1, y1), joint.root[0]) if seam.axis == "y" else ((y0, y1, x1), joint.root[1])
    )
    low, high = next(span for span in seam.crossings if span[0] <= root <= span[1] + 1.0)
    tall = min(p.z1 - p.z0 for p in holder.parts if p.name in (joint.low, joint.high))
    if joint.kind == "lap" and first - low < high - last:  # open toward less u: the same turned over
        first, last = low + high - last, high
    last = high if joint.kind == "lap" else first + 2 * (root - first)
    wide = min(high - low, 6 * (last - first) + 4.0)  # of a wide crossing what is near the tongue
    middle = (first + last) / 2
    low, high = (
        (low, high) if joint.kind == "lap" else (max(low, middle - wide / 2), min(high, middle + wide / 2))
    )
    return Rail(low, high, first, last, far - seam.at_mm, tall, seam.clearance_mm)


@cache
def solved(name: str, cells: int) -> Answer:
    _, holder, seam, joint = made(name)
    return solve(rail_of(holder, seam, joint), most=2.5 if cells > 2 else 5.0, cells=cells)


@pytest.mark.parametrize(("name", "cells"), FINE)
def test_a_joint_carries_what_is_stated(name: str, cells: int) -> None:
    """Under 1 N mm: never more than is stated, in 2.5 mm of glue and in the neck, nor less than half of it."""
    _, holder, seam, joint = made(name)
    flanks, answer = [flanks_of(holder, seam, joint)], solved(name, cells)
    assert 0.5 < answer.shear / (shear_mpa(1.0, flanks) * answer.shear_at) <= 1.0
    assert 0.6 < answer.neck / (neck_mpa(1.0, flanks) * answer.neck_at) <= 1.05


@pytest.mark.slow
@pytest.mark.parametrize("name", CASES)
def test_shear_along_a_flank_does_not_hang_on_the_bricks(name: str) -> None:
    """Along 2.5 mm of a flank it stays within 5 % where bricks are a quarter as long; its peak in a brick does not."""
    _, holder, seam, joint = made(name)
    finer = solve(rail_of(holder, seam, joint), most=0.6, cells=4)
    assert finer.shear == pytest.approx(solved(name, 4).shear, rel=0.05)
    assert finer.shear / finer.shear_at <= shear_mpa(1.0, [flanks_of(holder, seam, joint)])


def test_the_mean_along_a_flank_by_hand() -> None:
    """Cells of 1, 2 and 3 mm with 6, 3 and 1 MPa: the best 2.5 mm are the first 1 mm and 1.5 mm of the next."""
    cells = np.array([[0.0] * 3, [0.5, 2.0, 4.5], [1.0] * 3, [1.0, 2.0, 3.0], [6.0, 3.0, 1.0]])
    assert spanned(cells) == (pytest.approx((6 + 1.5 * 3) / 2.5), 1.0)
    backwards = cells[:, ::-1]
    assert spanned(backwards) == (pytest.approx((6 + 1.5 * 3) / 2.5), 1.0)


@pytest.mark.parametrize(("name", "cells"), FINE)
def test_a_glued_joint_makes_no_step_that_counts(name: str, cells: int) -> None:
    """The step is stated as that of two printed heights: 5 N across one joint add less than a hundredth of that."""
    wanted, _, _, _ = made(name)
    assert wanted.printer is not None
    assert 5 * solved(name, cells).step < 0.1 * math.sqrt(2) * wanted.printer.z_tolerance_mm


@pytest.mark.parametrize(("name", "cells"), FINE)
def test_a_joint_is_as_soft_as_some_more_rail(name: str, cells: int) -> None:
    """The frame's sag takes joints as rigid; a joint turns as 10 to 80 mm of plain rail do."""
    _, holder, seam, joint = made(name)
    rail, answer = rail_of(holder, seam, joint), solved(name, cells)
    stretch = answer.angle * rail.modulus * (rail.high - rail.low) * rail.tall**3 / 12
    assert 10.0 < stretch < 80.0


def test_solid_without_a_joint_is_a_beam() -> None:
    """A tongue as wide as its rail and glue as stiff as the rail: the bending stress of a beam at the cells' height."""
    one = Rail(0.0, 8.0, 0.3, 7.7, 4.0, 6.0, 0.1, glue=2000.0)
    answer = solve(one, most=4.0, cells=2)
    plain = 6 / (7.4 * 6.0**2) * answer.neck_at
    assert answer.neck == pytest.approx(plain, rel=0.05)


def test_what_hangs_on_a_seam_by_hand() -> None:
    """8x10 in two pieces: what lies beyond the seam hangs on it, some 150 g with its middle 7 cm away."""
    wanted, holder, seam, _ = made("8x10 frame")
    (found,) = pulled(wanted, holder)
    beyond = [part for part in holder.parts if part.in_frame and part.box[1] > seam.at_mm - 10]
    assert len(beyond) == 1
    assert 40.0 < found.moment_nmm < 160.0
    assert found.glue_mpa < 0.5 * habit("glue-shear")
    assert found.neck_mpa < 0.5 * habit("print-bends")


def test_pressed_joints_have_no_glue_to_crack() -> None:
    loose = job(film={"format": "8x10"}, printer={"name": "p220"}, split={"fit": "press"})
    assert pulled(loose, design(loose)) == ()


def test_pressed_pieces_fold_as_far_as_stated() -> None:
    """By exact trigonometry: two rigid bars on their far ends, whose upper edges meet, fold until the joint's play is
    used up at the bottom, or the seam comes down on the glass.
    """
    loose = job(film={"format": "8x10"}, printer={"name": "p220"}, split={"fit": "press"}, feet={"count": 4})
    holder = design(loose)
    (seam,) = (one for one in holder.seams if one.role.in_frame)
    below, above = (
        next(p for p in holder.parts if p.name == name) for name in (seam.joints[0].low, seam.joints[0].high)
    )
    a, b = (part.box[3] - part.box[1] for part in (below, above))
    tall = min(part.z1 - part.z0 for part in (below, above))
    play = min(joint.play_mm for joint in seam.joints)
    low, high = 0.0, 5.0
    for _ in range(60):
        middle = (low + high) / 2
        fold = math.asin(middle / a) + math.asin(middle / b)
        low, high = (middle, high) if fold * tall < play else (low, middle)
    room = holder.foot_thickness - min(holder.foot_depths)
    assert drop_mm(holder, seam) in (0.0, pytest.approx(min(low, room), rel=1e-3))
    tipped = replace(
        holder, feet=tuple(foot for foot in holder.feet if foot.y > seam.at_mm)
    )  # one piece has no feet
    assert drop_mm(tipped, seam) == pytest.approx(min(low, room), rel=1e-3)
