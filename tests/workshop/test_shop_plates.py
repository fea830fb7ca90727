"""Printed parts on the printer's plates: nothing over an edge, nothing on its neighbour, all of it there."""

from __future__ import annotations

import math
from itertools import combinations

import pytest
import shapely
import shapely.affinity
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.design.model import Part, Rect, Slab
from holders.design.resolve import design
from holders.geometry.outline import Region, rectangle
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.workshop.plates import GAP_MM, Plate, plate_names, plates
from tests.presets_made import SHIPPED

ROOM = Rect(2, 2, 216, 216)


def block(name: str, w: float, h: float, quantity: int = 1) -> Part:
    return Part(name, name, "print", "petg", quantity, (Slab("s", 0.0, 3.0, Region(rectangle(7, 9, w, h))),))


def boxes(parts: tuple[Part, ...], plate: Plate) -> list[shapely.Polygon]:
    """Each piece's rectangle as it lies, turned with shapely."""
    sizes = {part.name: (part.box[2] - part.box[0], part.box[3] - part.box[1]) for part in parts}
    found = []
    for laid in plate:
        w, h = sizes[laid.part]
        flat = shapely.box(laid.x - w / 2, laid.y - h / 2, laid.x + w / 2, laid.y + h / 2)
        found.append(shapely.affinity.rotate(flat, laid.turn_deg))
    return found


def keep_laws(parts: tuple[Part, ...], room: Rect, found: tuple[Plate, ...]) -> None:
    wanted = sorted((part.name, k) for part in parts for k in range(1, part.quantity + 1))
    assert sorted((laid.part, laid.copy) for plate in found for laid in plate) == wanted
    inside = shapely.box(room.x, room.y, room.right, room.top).buffer(1e-3)
    for plate in found:
        lying = boxes(parts, plate)
        assert all(inside.contains(box) for box in lying)
        assert all(a.distance(b) > GAP_MM - 2e-3 for a, b in combinations(lying, 2))


@settings(max_examples=60, deadline=None)
@given(st.lists(st.tuples(st.floats(5, 216), st.floats(5, 216), st.integers(1, 4)), min_size=1, max_size=6))
def test_every_piece_lies_on_a_plate_and_clear_of_the_others(sizes: list[tuple[float, float, int]]) -> None:
    parts = tuple(block(f"p{k}", *size) for k, size in enumerate(sizes))
    keep_laws(parts, ROOM, plates(parts, ROOM))


@pytest.mark.parametrize("path", [p for p in SHIPPED if load(p).route == "print"], ids=lambda p: p.stem)
def test_every_shipped_holder_lies_on_its_own_printer(path) -> None:  # type: ignore[no-untyped-def]
    holder = design(resolve(load(path)))
    assert holder.plate is not None
    keep_laws(holder.parts, holder.plate, plates(holder.parts, holder.plate))


def test_pieces_that_fit_share_a_plate() -> None:
    assert GAP_MM == 6.0  # a brim of 3 mm round each
    # 216 / (102 + 6) = 2: four squares of 102 mm and no fifth
    four = (block("a", 102, 102, 4),)
    assert [len(plate) for plate in plates(four, ROOM)] == [4]
    assert [len(plate) for plate in plates((block("a", 102, 102, 5),), ROOM)] == [4, 1]


def test_a_bar_longer_than_the_side_lies_askew() -> None:
    # along the diagonal: 280 x 10 turned 45 degrees takes (280 + 10) / sqrt 2 = 205.06 mm
    bar = (block("bar", 280, 10),)
    (plate,) = plates(bar, ROOM)
    keep_laws(bar, ROOM, (plate,))
    box = boxes(bar, plate)[0].bounds
    assert box[2] - box[0] == pytest.approx(290 / math.sqrt(2), abs=0.05)


def test_without_a_printer_all_lie_above_one_another() -> None:
    parts = (block("a", 50, 20), block("b", 30, 10, 2))
    (plate,) = plates(parts, None)
    lying = boxes(parts, plate)
    assert all(a.distance(b) >= GAP_MM - 1e-6 for a, b in combinations(lying, 2))
    assert shapely.union_all(lying).bounds == pytest.approx((0, 0, 50, 20 + GAP_MM + 10 + GAP_MM + 10))


def test_names() -> None:
    assert plate_names("holder", 1) == ("holder.3mf",)
    assert plate_names("holder", 2) == ("plate-1.3mf", "plate-2.3mf")
