"""Pieces as solids: one valid body each, the closed mesh of it, together the whole, and none inside another."""

from __future__ import annotations

from dataclasses import replace

import pytest
from OCP.BRepAlgoAPI import BRepAlgoAPI_Common

from holders.design.model import Design, Part
from holders.design.parts.sections import polygon
from holders.design.parts.volume import part_volume
from holders.design.resolve import design
from holders.facts.tables import paper
from holders.output.bundle.plan_files import files_for
from holders.solid.build import build
from holders.solid.kernel import TopoDS_Solid
from holders.solid.mesh import mesh
from holders.solid.surfaces import box_of, solids, valid
from holders.solid.surfaces import volume as solid_volume
from tests.presets_made import job

CASES = {
    "tongues": {"film": {"format": "8x10"}, "printer": {"name": "p220"}, "feet": {}},
    "laps": {"film": {"format": "4x5"}, "printer": {"name": "p180"}, "layout": {"count": "fill"}},
    "lid": {"film": {"format": "8x10"}, "printer": {"name": "p220"}, "lid": {}},
    "wide": {"film": {"format": "4x5"}, "bed": {"name": "a3"}, "printer": {"name": "p250"}},
}


def two(case: str) -> tuple[Design, Design]:
    """The design in pieces and in one."""
    made = CASES[case]
    return design(job(**made)), design(job(**made, split={"mode": "never"}))


@pytest.mark.parametrize(
    "case", [pytest.param(case, marks=[pytest.mark.slow] if case == "wide" else []) for case in CASES]
)
def test_every_piece_is_one_valid_closed_body(case: str) -> None:
    made, _ = two(case)
    pieces = [part for part in made.parts if part.whole]
    assert len(pieces) > 1
    for piece in pieces:
        body = build(piece)
        assert len(solids(body)) == 1
        assert valid(body)
        x0, y0, x1, y1 = piece.box
        assert box_of(body) == pytest.approx((x0, y0, piece.z0, x1, y1, piece.z1), abs=1e-5)
        # the sections' chords of 0.0005 mm against the kernel's true arcs
        assert solid_volume(body) == pytest.approx(part_volume(piece), rel=2e-5)
        triangles = mesh(body)
        assert triangles.open_edges() == 0
        assert triangles.volume() == pytest.approx(solid_volume(body), rel=1e-3)


@pytest.mark.parametrize("case", CASES)
def test_the_pieces_are_the_whole_but_for_the_gaps(case: str) -> None:
    made, whole = two(case)
    for part in whole.parts:
        pieces = [replace(p, grooves=()) for p in made.parts if p.whole == part.name]
        if not pieces:
            continue
        bodies = [build(piece) for piece in pieces]
        lost = solid_volume(build(replace(part, grooves=()))) - sum(solid_volume(body) for body in bodies)
        gaps = sum(
            polygon(joint.socket).area - polygon(joint.tongue).area
            for seam in made.seams
            if seam.part == part.name
            for joint in seam.joints
        )
        # some of the gaps' plan lies outside the part (laps) or in its own piece behind the seam
        assert 0 < lost < gaps * (part.z1 - part.z0)
        boxes = [box_of(body) for body in bodies]
        joined = tuple(min(b[k] for b in boxes) if k < 3 else max(b[k] for b in boxes) for k in range(6))
        assert joined == pytest.approx(box_of(build(replace(part, grooves=()))), abs=1e-5)
        shared = sum(_common(a, b) for i, a in enumerate(bodies) for b in bodies[i + 1 :])
        assert shared < 1e-6


def _common(one: TopoDS_Solid, two: TopoDS_Solid) -> float:
    return abs(solid_volume(BRepAlgoAPI_Common(one, two).Shape()))


def test_marks_are_cut_into_the_pieces() -> None:
    made, _ = two("tongues")
    piece = made.parts[0]
    assert {"A", "B"} <= {groove.text for groove in piece.grooves}
    unmarked: Part = replace(piece, grooves=())
    taken = solid_volume(build(unmarked)) - solid_volume(build(piece))
    assert taken == pytest.approx(part_volume(unmarked) - part_volume(piece), abs=0.02)
    assert taken > 1.0


def test_each_piece_gets_its_own_file() -> None:
    made, _ = two("tongues")
    files = files_for(made, paper("a4"))
    assert {"frame-piece-1.stl", "frame-piece-2.stl", "plate-1.3mf", "plate-2.3mf", "holder.step"} <= set(
        files
    )
    assert "frame.stl" not in files
    step = files["holder.step"]().decode("ascii")
    assert step.count("frame-piece-1") >= 1
    assert step.count("frame-piece-2") >= 1
