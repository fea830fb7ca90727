"""Every pocket of a holder for several films has its number beside it, or the note says which has none."""

from __future__ import annotations

import math
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import shapely

from holders.design.model import Design, Groove, Rect, Role
from holders.design.parts.lettering import strokes_in
from holders.design.parts.pocket_number import clear_mm, in_words, numbered, text_of, texts, together
from holders.design.parts.sections import groove_area, polygon, section
from holders.design.plan import lettering_place
from holders.design.plan.marks import MOST_BESIDE, MOVE_STEP_MM, _move, _Top
from holders.design.resolve import design
from holders.facts.tables import process
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.preset.shipped import preset_path
from tests.presets_made import job

SEVERAL = (
    "35mm-channel", "35mm-roll", "35mm-strips", "4x5-four-up", "50mm-mounts", "6x9-roll", "mixed-formats",
)  # fmt: skip


@cache
def made(name: str) -> Design:
    return design(resolve(load(preset_path(Path(name)))))


def numbers(holder: Design) -> dict[int, Groove]:
    """Number by pocket, read from what it is called."""
    every = [groove for part in holder.parts for groove in part.grooves if groove.beside]
    return {int(groove.text.split()[-1]): groove for groove in every}


def box(strokes: tuple[tuple[tuple[float, float], ...], ...]) -> shapely.Geometry:
    return shapely.box(*shapely.MultiLineString(strokes).bounds)


def shape(groove: Groove, count: int) -> np.ndarray:
    """The first strokes as points from the low left of them."""
    points = np.array([p for stroke in groove.strokes[:count] for p in stroke])
    return points - points.min(axis=0)


@pytest.mark.parametrize("name", SEVERAL)
def test_each_is_numbered_or_named_as_missing(name: str) -> None:
    holder = made(name)
    there = numbers(holder)
    assert len(holder.windows) > 1
    wanted = set(range(1, len(holder.windows) + 1))
    missing = wanted - set(there)
    notes = [note for note in holder.notes if "room was found to letter" in note]
    named = in_words([text_of(k) for k in sorted(missing)], len(holder.windows))
    assert set(there) <= wanted
    assert not missing or any(named in note for note in notes), (named, notes)
    assert bool(missing) == any("pocket number" in note for note in notes)


@pytest.mark.parametrize("name", SEVERAL)
def test_the_digits_are_those_of_the_window_beside_them(name: str) -> None:
    """As windows are counted in the sheet and the findings; nearest to its own, or with a pointer at it."""
    holder = made(name)
    for number, groove in numbers(holder).items():
        like = [
            strokes
            for size in (4.0, 2.5)
            if (strokes := strokes_in(str(number), Rect(0, 0, 30, 30), size, size)) is not None
        ]
        same = [
            np.allclose(shape(groove, len(one)), shape(Groove("", one, 0, 0, 0), len(one)), atol=1e-6)
            for one in like
        ]
        assert any(same), number
        digits = box(groove.strokes[: len(like[0])])
        far = [
            digits.distance(shapely.box(w.pocket.x, w.pocket.y, w.pocket.right, w.pocket.top))
            for w in holder.windows
        ]
        others = [d for k, d in enumerate(far, 1) if k != number]
        assert far[number - 1] < 12.0
        if len(groove.strokes) == len(like[0]):
            assert far[number - 1] < min(others)
        else:  # the pointer's middle point is its tip
            (a, tip, b), pocket = groove.strokes[-1], holder.windows[number - 1].pocket
            middle = (pocket.x + pocket.width / 2, pocket.y + pocket.height / 2)
            assert math.dist(tip, middle) < math.dist(((a[0] + b[0]) / 2, (a[1] + b[1]) / 2), middle)


@pytest.mark.parametrize("name", SEVERAL)
def test_it_is_seen_on_plain_top(name: str) -> None:
    """Off every edge, clear of all other lettering, and under no lid, catch or stop."""
    holder = made(name)
    over = shapely.union_all(
        [
            shapely.transform(polygon(slab.region.outer), lambda xy, by=place: xy + by)
            for part in holder.parts
            if part.role in (Role.LID, Role.CATCH, Role.CORNER, Role.OTHER)
            for slab in part.slabs
            for place in part.places
        ]
    )
    for part in holder.parts:
        mine = [groove for groove in part.grooves if groove.beside]
        if not mine:
            continue
        top = section(part, part.z1 - 1e-3).union(
            shapely.union_all([groove_area(groove) for groove in part.grooves])
        )
        areas = {id(groove): groove_area(groove) for groove in part.grooves}
        for groove in mine:
            area = areas[id(groove)]
            assert top.buffer(1e-6).contains(area.buffer(0.35)), groove.text
            assert not over.intersects(area), groove.text
            assert not any(a.intersects(area.buffer(0.3)) for key, a in areas.items() if key != id(groove))


def test_one_window_has_no_number() -> None:
    assert texts(1) == ()
    assert not numbers(design(job(film={"format": "8x10"})))


def test_without_lettering_there_are_none() -> None:
    holder = design(job(film={"format": "mount-50"}, layout={"count": 2, "label": False}), uncut=True)
    assert not numbers(holder)
    assert not any("pocket number" in note for note in holder.notes)


def test_it_comes_after_the_side_that_is_up_and_before_code_and_height(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """With room for one text: that, the numbers, and no more; the note names the rest in the order of importance."""
    everywhere = lettering_place.free_strips

    def one_short(shape: lettering_place.Shape, **_: bool) -> list[Rect]:
        strip = everywhere(shape)[0]
        return [Rect(strip.x, strip.y, min(72.0, strip.width), min(72.0, strip.height))]

    monkeypatch.setattr(lettering_place, "free_strips", one_short)
    holder = design(job(film={"format": "mount-50"}, layout={"count": 3}), uncut=True)
    written = [groove.text for part in holder.parts for groove in part.grooves]
    assert written == ["this side up - emulsion down", *texts(3)]
    (note,) = [note for note in holder.notes if "to letter" in note]
    assert note.index(' and "mount-50') > 0
    assert "this side up" not in note
    assert "pocket number" not in note


def test_what_finds_no_room_is_named_exactly() -> None:
    missing = ["side", text_of(2), text_of(3), text_of(5), "code"]
    assert in_words(missing, 5) == '"side" and "pocket numbers 2, 3 and 5" and "code"'
    assert in_words([text_of(7)], 12) == '"pocket number 7"'
    assert together(["a", *texts(12), "b"], 12) == ["a", "pocket numbers 1 to 12", "b"]
    assert together(["a", "b"], 12) == ["a", "b"]


RULES = process("laser")
GRID = [Rect(10 + 54 * (k % 3), 10 + 54 * (k // 3), 50, 50) for k in range(9)]


def top(grid: list[Rect], rim: float, length: float = 178.0) -> shapely.Geometry:
    plain = shapely.box(10 - rim, 10 - rim, 168 + rim, length - 10 + rim)
    return plain.difference(shapely.union_all([shapely.box(r.x, r.y, r.right, r.top) for r in grid]))


def test_between_two_pockets_a_pointer_tells_which_is_meant() -> None:
    """Walls of 4 mm: a number of 2.5 mm is as near to one as to the other, so it points at its own."""
    found = numbered(GRID, top(GRID, 3.6), RULES, 3.0)
    assert [groove.text for groove in found] == list(texts(9))
    low = [groove for groove in found if groove.beside == "x" and int(groove.text.split()[-1]) > 3]
    assert len(low) == 6
    for groove in low:  # all at the foot of their pockets
        number = int(groove.text.split()[-1])
        room, (a, tip, b) = GRID[number - 1], groove.strokes[-1]
        assert max(y for stroke in groove.strokes for _, y in stroke) < room.y
        assert tip[1] > a[1] == pytest.approx(b[1])


def test_in_walls_too_thin_there_is_no_number() -> None:
    """A 5 of 2.5 mm is more than 1.5 wide, and half a line and 0.4 mm of plain top on each side need 2.5 mm; the pocket
    in the middle has 2.4.
    """
    grid = [Rect(10 + 52.4 * (k % 3), 10 + 52.4 * (k // 3), 50, 50) for k in range(9)]
    found = numbered(grid, top(grid, 12.0, 176.0), RULES, 3.0)
    wide, _ = np.ptp(
        np.array([p for s in strokes_in("5", Rect(0, 0, 30, 30), 2.5, 2.5) or () for p in s]), axis=0
    )
    assert wide + 2 * clear_mm(RULES) > 2.4
    assert {groove.text for groove in found} == set(texts(9)) - {text_of(5)}
    rooms = shapely.union_all([shapely.box(r.x, r.y, r.right, r.top) for r in grid])
    assert all(groove_area(groove).distance(rooms) >= 0.4 for groove in found)


@pytest.mark.parametrize(("line", "blocked", "where"), [("x", 7.0, 2.0), ("x", 20.0, None), ("y", 7.0, None)])
def test_a_seam_moves_it_a_little_along_its_pocket_or_leaves_it_out(
    line: str, blocked: float, where: float | None
) -> None:
    number = Groove("pocket number 1", (((5.0, 3.0), (5.0, 7.0)),), 0.4, 0.4, 3.0, beside=line)  # type: ignore[arg-type]
    assert MOST_BESIDE * MOVE_STEP_MM == 8.0
    free = _Top(shapely.box(0, 0, 100, 10).difference(shapely.box(0, 0, blocked - 0.5, 10)), 3.0)
    found = _move(number, [free], 0.0)
    assert (found is None) == (where is None)
    if found is not None and where is not None:
        assert found[1].strokes[0][0] == (5.0 + where, 3.0)
