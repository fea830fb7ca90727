"""Reading ahead: same items, same order, errors when their turn comes, no more of them than wished."""

from __future__ import annotations

from collections.abc import Iterator

import pytest

from holders.core.errors import InputError
from holders.measure.scan.prefetch import prefetch


def test_all_items_come_in_their_order_and_none_twice() -> None:
    assert list(prefetch(k * k for k in range(50))) == [k * k for k in range(50)]
    assert list(prefetch(())) == []
    assert list(prefetch([None, 0, ""])) == [None, 0, ""]


def test_an_error_comes_when_its_turn_comes() -> None:
    def broken() -> Iterator[int]:
        yield from (1, 2)
        raise InputError("scan", "x.tif", "the file is cut short")

    source = prefetch(broken())
    assert [next(source), next(source)] == [1, 2]
    with pytest.raises(InputError, match="cut short"):
        next(source)
    assert list(source) == []


@pytest.mark.parametrize("many", [1, 3])
def test_no_more_items_are_made_before_they_are_asked_for_than_wished(many: int) -> None:
    made = []

    def counted() -> Iterator[int]:
        for k in range(20):
            made.append(k)
            yield k

    source = prefetch(counted(), many)
    for k in range(5):
        assert next(source) == k
        assert len(made) <= k + 1 + many
    source.close()
    end = len(made)
    assert list(source) == []
    assert len(made) == end
    assert len(made) <= 5 + many


def test_an_item_is_made_while_the_one_before_it_is_in_use() -> None:
    from threading import Event

    begun = Event()

    def two() -> Iterator[int]:
        yield 1
        begun.set()
        yield 2

    source = prefetch(two())
    assert next(source) == 1
    assert begun.wait(30)
    assert list(source) == [2]
