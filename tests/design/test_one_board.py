"""One board, one opening: heights add up, the film lies on top, corner stops stand round it."""

from __future__ import annotations

from typing import Any

import pytest
import shapely

from holders.core.errors import InputError
from holders.design.model import Design, Role
from holders.design.parts.sections import section
from holders.design.resolve import design
from holders.preset.load import parse
from holders.preset.resolve import resolve
from holders.preset.template import template

BOARD = 3.04


def made(route: str = "knife", material: str = "mounting-board", **tables: Any) -> Design:
    values: dict[str, Any] = {
        "title": "board", "route": route, "bed": {"name": "a4-wide"}, "film": {"format": "8x10"},
        "material": {"name": material, "sheets_mm": [BOARD]}, "lip": {"all_mm": 3.5},
    }  # fmt: skip
    values["layout"] = {"pocket_depth_mm": 0.0, "corner_stops": True, **tables.pop("layout", {})}
    return design(resolve(parse(template({**values, **tables}), "board")))


@pytest.mark.parametrize(
    ("route", "material"),
    [
        ("knife", "mounting-board"),
        ("laser", "plywood-birch"),
        ("laser", "acrylic-cast"),
        ("knife", "foam-board"),
    ],
)
def test_the_height_is_that_of_the_board(route: str, material: str) -> None:
    found = made(route, material, layout={"corner_stops": False})
    (board,) = found.parts
    assert (board.z0, board.z1) == (0.0, BOARD)
    assert (found.pocket_depth, found.heights.glue) == (0.0, 0.0)
    assert found.heights.sharp_plane == pytest.approx(BOARD, abs=1e-9)
    assert found.total_height == pytest.approx(BOARD, abs=1e-9)


def test_feet_and_film_add_to_it() -> None:
    found = made(
        film={"format": "8x10", "emulsion": "up"}, feet={"count": 4, "thickness_mm": 0.5},
        base={"thickness_mm": 0.18, "thickness_low_mm": 0.17, "thickness_high_mm": 0.19, "refractive_index": 1.64},
        bed={"name": "a4-wide", "focus_height_mm": 3.6},
    )  # fmt: skip
    # a plane-parallel plate lifts what is behind it: seen t/n above its face (any optics text, paraxial)
    assert found.heights.sharp_plane == pytest.approx(0.5 + BOARD + 0.18 / 1.64, abs=1e-9)


def test_the_film_rests_all_round_and_the_window_is_open() -> None:
    found = made()
    (window,) = found.windows
    board = section(found.parts[0], BOARD / 2)
    film = shapely.box(window.film.x, window.film.y, window.film.right, window.film.top)
    # 202 x 253 mm film on lips of 3.5 mm: the window is 195 x 246 mm, its corners square or nearly
    assert film.difference(board).area == pytest.approx(195 * 246, rel=1e-4)
    assert window.seen == pytest.approx(1.0, abs=0.01)


def test_four_corner_stops_stand_round_the_film_and_come_from_the_offcut() -> None:
    found = made()
    (window,) = found.windows
    stops = [part for part in found.parts if part.role is Role.CORNER]
    assert len(stops) == 4
    largest = shapely.box(window.film.x, window.film.y, window.film.right, window.film.top).buffer(
        0.4, join_style=2
    )
    bodies = [section(part, part.z0 + 0.1) for part in stops]
    offcut = window.opening
    for body, part in zip(bodies, stops, strict=True):
        assert body.distance(largest) == pytest.approx(
            0.3, abs=1e-6
        )  # the clearance, beside 0.4 of tolerance
        # 216 mm of glass, 0.5 to the rim, 203.4 of pocket: 5.8 beside it, of which 0.5 stay free
        assert body.area == pytest.approx(5.3 * 5.3 + 2 * 18 * 5.3, rel=1e-6)
        assert part.z0 == pytest.approx(BOARD, abs=0.1)
        x0, y0, x1, y1 = part.box
        assert max(x1 - x0, y1 - y0) < min(offcut.width, offcut.height) / 2
    assert shapely.union_all(bodies).area == pytest.approx(sum(b.area for b in bodies), rel=1e-9)
    frame = section(found.parts[0], BOARD / 2)
    (x0, y0, x1, y1) = frame.bounds
    assert all(shapely.box(x0, y0, x1, y1).contains(body) for body in bodies), "a stop over the board's edge"


def test_stops_of_neighbours_stay_apart() -> None:
    found = made(film={"format": "4x5"}, layout={"count": 2, "wall_mm": 6.6})
    stops = [part for part in found.parts if part.role is Role.CORNER]
    assert [part.quantity for part in stops] == [2, 2, 2, 2]
    bodies = [
        shapely.affinity.translate(section(part, part.z0 + 0.1), dx, dy)
        for part in stops
        for dx, dy in part.places
    ]
    assert shapely.union_all(bodies).area == pytest.approx(sum(b.area for b in bodies), rel=1e-9)


@pytest.mark.parametrize(
    ("tables", "words"),
    [
        ({"layout": {"pocket_depth_mm": 2.0}}, "without a pocket"),
        ({"film": {"format": "4x5"}, "layout": {"count": 2, "wall_mm": 4.0}}, "layout.wall_mm = 6.5"),
    ],
)
def test_stops_without_room_are_refused(tables: dict[str, Any], words: str) -> None:
    with pytest.raises(InputError, match=words):
        made(**tables)
