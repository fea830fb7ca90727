"""The straight cuts of a blade: their order, and how far they run past their corners."""

from __future__ import annotations

import math

import pytest
import shapely

from holders.design.model import Part, Slab
from holders.design.parts.sections import polygon
from holders.design.pieces.cutting import CutPart, cut_part
from holders.design.pieces.strokes import CROSS_MM, PAST_MM, Stroke, strokes
from holders.design.resolve import design
from holders.geometry.outline import Bay, Outline, Region, rectangle, walled
from tests.presets_made import job


def piece(outer: Outline, *holes: Outline) -> CutPart:
    slab = Slab("plate", 0.0, 1.5, Region(outer, holes))
    return cut_part(Part("plate", "plate", "knife", "mat-board", 1, (slab,)), 0.0)


def past(stroke: Stroke) -> tuple[float, float]:
    return math.dist(stroke.start, stroke.blade_from), math.dist(stroke.end, stroke.blade_to)


def test_a_window_with_a_notch_by_hand() -> None:
    """80 x 60 with a window of 50 x 30 and a notch 10 x 4 in its upper edge."""
    window = walled(15, 15, 50, 30, 0, [Bay("head", 40, 10, 4)])
    found = strokes(piece(rectangle(0, 0, 80, 60), window))
    lengths = [math.dist(stroke.start, stroke.end) for stroke in found]
    # the notch's sides, its end, both halves of the upper edge, the window's sides and lower edge, then the outside
    assert lengths == pytest.approx([4, 4, 10, 20, 20, 30, 30, 50, 60, 60, 80, 80])
    assert [stroke.number for stroke in found] == list(range(1, 13))
    by_length = {round(length): sorted(past(stroke)) for length, stroke in zip(lengths, found, strict=True)}
    assert by_length[10] == pytest.approx([CROSS_MM, CROSS_MM])  # in the notch's inner corners
    assert by_length[4] == pytest.approx([CROSS_MM, PAST_MM])  # at the mouth it runs on into the window
    assert by_length[20] == pytest.approx([CROSS_MM, PAST_MM])
    assert by_length[80] == pytest.approx([PAST_MM, PAST_MM])


def test_numbers_stand_in_what_falls_out() -> None:
    window = walled(15, 15, 50, 30, 0, [Bay("head", 40, 10, 4)])
    plate = piece(rectangle(0, 0, 80, 60), window)
    board = polygon(plate.outer).difference(polygon(window))
    assert all(not board.contains(shapely.Point(stroke.beside)) for stroke in strokes(plate))


def test_round_corners_are_not_run_past() -> None:
    found = strokes(piece(rectangle(0, 0, 80, 60, 5.0)))
    assert len(found) == 4
    assert all(past(stroke) == (0.0, 0.0) for stroke in found)


def test_no_cut_runs_further_into_the_board_than_its_crossing() -> None:
    """Every sheet of a whole holder: of what a blade runs past the outlines no more than so much lies in board."""
    made = design(job(route="knife", material={"name": "mounting-board"}, lid={}, layout={"count": 2}))
    for part in made.parts:
        plate = cut_part(part, 0.0)
        board = polygon(plate.outer).difference(shapely.union_all([polygon(hole) for hole in plate.inner]))
        inner = board.buffer(-1e-6)
        for stroke in strokes(plate):
            for corner, turn in ((stroke.start, stroke.blade_from), (stroke.end, stroke.blade_to)):
                assert shapely.LineString([corner, turn]).intersection(inner).length <= CROSS_MM + 1e-6
        edges = sum(len(outline.vertices) for outline in (plate.outer, *plate.inner))
        assert len(strokes(plate)) == edges
