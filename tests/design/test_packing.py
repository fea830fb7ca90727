"""Rectangles side by side: packings that are known, bounds that none can beat, and gaps that are kept."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.geometry.packing import Sort, Spot, most_by_area, packed
from holders.geometry.rect import Rect
from holders.workshop.nest.least import by_boxes


def sorts_in(room: tuple[float, float], *sizes: tuple[float, float, int]) -> list[Sort]:
    """Sizes with their number, each anywhere in a room."""
    return [Sort(w, h, n, (0.0, room[0] - w), (0.0, room[1] - h)) for w, h, n in sizes]


def overlap(sorts: list[Sort], spots: tuple[Spot, ...], gap: float) -> bool:
    """Whether any two lie nearer than the gap, by their four sides."""
    boxes = [(s.x, s.y, s.x + sorts[s.sort].width, s.y + sorts[s.sort].height) for s in spots]
    return any(
        min(a[2], b[2]) - max(a[0], b[0]) > -gap + 1e-6 and min(a[3], b[3]) - max(a[1], b[1]) > -gap + 1e-6
        for k, a in enumerate(boxes)
        for b in boxes[k + 1 :]
    )


def test_the_pinwheel_is_found() -> None:
    """Four dominoes round a square fill 3 x 3, and no straight cut parts them: bands alone never find it."""
    sorts = sorts_in((3, 3), (2, 1, 2), (1, 2, 2), (1, 1, 1))
    spots = packed(sorts, 0.0)
    assert spots is not None
    assert not overlap(sorts, spots, 0.0)
    assert [spot.sort for spot in spots] == [0, 0, 1, 1, 2]


def test_what_is_larger_than_its_room_is_not_possible() -> None:
    assert [one.possible for one in sorts_in((3, 3), (3, 3, 1), (3.1, 1, 1), (1, 3.1, 1))] == [
        True,
        False,
        False,
    ]


def test_rectangles_that_touch_or_lie_apart_share_nothing() -> None:
    one = Rect(0, 0, 2, 2)
    beside = [Rect(2, 0, 2, 2), Rect(0, 2, 2, 2), Rect(2.5, 0, 1, 1), Rect(0, 2.5, 1, 1), Rect(-1.5, 0, 1, 1)]
    assert not any(one.overlaps(other) or other.overlaps(one) for other in beside)
    assert one.overlaps(Rect(1.9, 1.9, 2, 2))


def test_one_sort_lies_in_even_rows() -> None:
    spots = packed([Sort(2, 1, 4, (0, 4), (0, 3))], 0.0)  # three fit beside one another
    assert spots is not None
    assert sorted(spot.x for spot in spots) == [1, 1, 3, 3]


def test_more_than_the_area_is_never_packed() -> None:
    assert packed(sorts_in((3, 3), (2, 1, 2), (1, 2, 2), (1, 1, 2)), 0.0) is None
    assert most_by_area(2.0, 1.0, (3.0, 3.0)) == 4
    assert packed(sorts_in((3, 3), (2, 1, 5)), 0.0) is None


def test_a_gap_counts() -> None:
    assert packed(sorts_in((10, 4), (3, 4, 3)), 0.5) is not None
    assert packed(sorts_in((10, 4), (3, 4, 3)), 0.51) is None


def test_room_that_is_left_goes_between_and_the_whole_stands_in_the_middle() -> None:
    sorts = sorts_in((20, 5), (4, 5, 2))
    spots = packed(sorts, 1.0, 3.0)
    assert spots is not None
    assert spots[1].x - spots[0].x - 4 == pytest.approx(3.0, abs=0.15)
    assert spots[0].x == pytest.approx(20 - spots[1].x - 4)


def test_bounds_of_its_own_are_kept() -> None:
    sorts = [Sort(4, 4, 1, (0.0, 6.0), (0.0, 0.5)), Sort(2, 2, 1, (3.0, 3.5), (0.0, 8.0))]
    spots = packed(sorts, 0.0)
    assert spots is not None
    for spot in spots:
        own = sorts[spot.sort]
        assert own.x[0] - 1e-9 <= spot.x <= own.x[1] + 1e-9
        assert own.y[0] - 1e-9 <= spot.y <= own.y[1] + 1e-9


@settings(max_examples=150, deadline=None)
@given(
    st.lists(st.tuples(st.integers(10, 90), st.integers(10, 90), st.integers(1, 4)), min_size=1, max_size=4),
    st.integers(0, 8),
)
def test_no_packing_beats_a_published_bound(sizes: list[tuple[int, int, int]], gap: int) -> None:
    """Fekete and Schepers' dual feasible functions: what they say needs two rooms is never packed into one."""
    room = (100.0, 140.0)
    sorts = sorts_in(room, *sizes)
    spots = packed(sorts, float(gap))
    if spots is None:
        return
    assert len(spots) == sum(n for _, _, n in sizes)
    assert not overlap(sorts, spots, float(gap))
    boxes = [(float(w + gap), float(h + gap)) for w, h, n in sizes for _ in range(n)]
    assert by_boxes(boxes, (room[0] + gap, room[1] + gap), turn=False) <= 1
