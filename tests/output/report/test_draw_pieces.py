"""Split parts on the drawings: every piece with its marks in the plan, the pieces pulled apart clear of one another."""

from __future__ import annotations

from itertools import combinations

import numpy as np
import pytest

from holders.design.held.film_in_holder import designed
from holders.design.resolve import design
from holders.output.draw import apart
from holders.output.draw.apart import _moves, pulled_apart
from holders.output.draw.drafting.workplan import workplan
from holders.output.draw.film import _cut, film_sheet
from holders.output.draw.sheet import drawing
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.presets_made import SHIPPED, job


@pytest.mark.parametrize("printer", ["p180", "p220"])
def test_pieces_are_drawn_apart(printer: str) -> None:
    made = design(job(film={"format": "8x10"}, printer={"name": printer}))
    moves = _moves(made)
    boxes = []
    for part in made.parts:
        (x0, y0, x1, y1), (dx, dy) = part.box, moves[part.name]
        boxes.append((x0 + dx, y0 + dy, x1 + dx, y1 + dy))
    for one, two in combinations(boxes, 2):
        apart = max(one[0], two[0]) >= min(one[2], two[2]) or max(one[1], two[1]) >= min(one[3], two[3])
        assert apart
    assert pulled_apart(made, 80.0).picture.width == pytest.approx(80.0)


def test_parts_in_one_piece_stay_where_they_are() -> None:
    made = design(job(film={"format": "5x7"}, lid={}))
    assert set(_moves(made).values()) == {(0.0, 0.0)}


def test_the_plan_shows_every_piece_and_the_sheet_lists_it() -> None:
    made = design(job(film={"format": "8x10"}, printer={"name": "p220"}))
    whole = design(job(film={"format": "8x10"}, printer={"name": "p220"}, split={"mode": "never"}))
    shapes = [workplan(one, 170.0, 175.0).picture.svg("plan").count(b"<path") for one in (made, whole)]
    assert shapes[0] > shapes[1]
    sheet = drawing(made)[0].decode()
    assert "frame, piece 1 of 2 (foot)" in sheet
    assert "frame, piece 2 of 2 (head)" in sheet


@pytest.mark.parametrize("printer", ["p180", "p220"])
def test_a_lid_in_pieces_is_drawn_over_the_film_like_one_in_one_piece(printer: str) -> None:
    """The whole lid's rails are where the tabs and the pieces' gaps do not count."""
    found = {}
    for name in (printer, "p300"):
        made, film = designed(job(film={"format": "8x10"}, lid={}, printer={"name": name}), ranges=False)
        lids = [part for part in made.parts if part.name.startswith("lid")]
        assert (len(lids) > 1) == (name == printer)
        found[name] = _cut([slab.region for part in lids for slab in part.slabs], made.windows[0])
        assert film_sheet(made, film).count(b"<path") > 10
    assert np.allclose(found[printer], found["p300"], atol=1e-6)


@pytest.mark.parametrize("name", ["8x10-wet-mount", "4x5-two-glasses", "8x10-printed"])
def test_the_picture_is_on_the_film_and_on_nothing_else(name: str) -> None:
    """Where glass lies in the pocket, the film that it carries shows the picture, as large as the picture is."""
    made = design(resolve(load(next(path for path in SHIPPED if path.stem == name))))
    films = [plate for fitted in made.fitted for plate in fitted.plates if plate.is_film]
    assert bool(films) == (name != "8x10-printed")
    shown = [thing for thing in apart._things(made, apart._moves(made)) if thing.picture is not None]
    assert len(shown) == len(made.windows)
    assert [thing.picture for thing in shown] == [window.picture for window in made.windows]
    wanted = films[0].places if films else [window.film for window in made.windows]
    assert [apart.plain(rect) for rect in wanted] == [thing.slabs[0].region.outer for thing in shown]
