"""A triangle stands beside the corner where a sheet's code notches lie; what finds no room is named."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from holders.design.draft.places import Place
from holders.design.model import Design, Groove, Rect
from holders.design.parts.sections import groove_area, polygon
from holders.design.plan.code_notch import triangle
from holders.design.plan.marks import _move, _Top
from holders.design.resolve import design
from holders.facts.tables import process
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of


def made(name: str, emulsion: str | None = None, **options: bool) -> Design:
    path = preset_path(Path(name))
    preset = parse(path.read_text(), str(path))
    if emulsion is not None:
        preset = preset.model_copy(update={"film": preset.film.model_copy(update={"emulsion": emulsion})})
    return design(job_of(preset)[0], **options)


def marks(holder: Design) -> list[Groove]:
    return [groove for part in holder.parts for groove in part.grooves if groove.fixed]


# notches at the top right with the emulsion facing you: a sheet-film maker's own loading rule, from memory
@pytest.mark.parametrize(("emulsion", "left"), [("down", True), ("up", False)])
@pytest.mark.parametrize("name", ["8x10-printed", "8x10-mat-board", "8x10-small-printer", "4x5-insert"])
def test_it_points_at_the_corner_with_the_notches(name: str, emulsion: str, left: bool) -> None:
    holder = made(name, emulsion)
    (mark,) = marks(holder)
    film = holder.windows[0].film
    tip = mark.strokes[0][0]
    assert (tip[0] < film.x + film.width / 3, tip[0] > film.right - film.width / 3) == (left, not left)
    lowest = min(y for _, y in mark.strokes[0])
    assert tip[1] == lowest > film.top  # beside the head, pointing down at it
    assert not [note for note in holder.notes if "triangle" in note]


@pytest.mark.parametrize("name", ["8x10-printed", "4x5-four-up", "8x10-small-printer"])
def test_it_lies_on_plain_top_clear_of_all_lettering(name: str) -> None:
    holder = made(name)
    for part in holder.parts:
        areas = [groove_area(groove) for groove in part.grooves]
        top = shapely.union_all([polygon(s.region.outer) for s in part.slabs if s.z1 == part.z1])
        holes = shapely.union_all([polygon(h) for s in part.slabs if s.z1 == part.z1 for h in s.region.holes])
        assert all(top.difference(holes).contains(area) for area in areas)
        pairs = [(a, b) for n, a in enumerate(areas) for b in areas[n + 1 :]]
        assert not any(a.intersects(b) for a, b in pairs)


def test_every_pocket_has_its_own_or_is_named_as_having_none() -> None:
    holder = made("4x5-four-up")
    said = " ".join(note for note in holder.notes if "room was found to letter" in note)
    there = {mark.text for mark in marks(holder)}
    for number in range(1, len(holder.windows) + 1):
        text = f"triangle where the code notches lie: top left, pocket {number}"
        assert (text in there) != (text in said), text


@pytest.mark.parametrize("name", ["35mm-strips", "whole-plate-glass", "50mm-mounts", "6x9-roll"])
def test_what_has_no_notches_gets_none(name: str) -> None:
    assert marks(made(name, uncut=True)) == []


def test_no_room_no_triangle() -> None:
    window, rules = made("8x10-printed").windows[0], process("print")
    place = Place(window.film, window.picture, window.opening, window.pocket, window.pocket)
    head = Rect(place.film.x, place.room.top, place.film.width, 20.0)
    assert triangle(place, "left", [head], rules) is not None
    assert triangle(place, "left", [head.moved(0.0, 3.0)], rules) is None


def test_a_mark_that_means_its_place_is_never_moved() -> None:
    strokes = (((5.0, 5.0), (8.0, 5.0)),)
    free = _Top(shapely.box(0, 0, 100, 10), 3.0)
    for fixed, x in ((False, 7.0), (True, None), (True, 0.0)):
        top = _Top(free.area if x == 0.0 else free.area.difference(shapely.box(0, 0, 7, 10)), 3.0)
        found = _move(Groove("mark", strokes, 0.4, 0.4, 3.0, fixed=fixed), [top], 0.0)
        assert (found is None) == (x is None)
        if found is not None:
            assert (found[1].strokes == strokes) == (x == 0.0)
