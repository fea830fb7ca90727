"""Reading ahead: the next pieces of a scan are read and decoded while the one before them is worked on."""

from __future__ import annotations

from collections import deque
from collections.abc import Iterable, Iterator
from concurrent.futures import ThreadPoolExecutor
from typing import Final, TypeVar

Item = TypeVar("Item")
_END: Final = object()


def prefetch(items: Iterable[Item], many: int = 1) -> Iterator[Item]:
    """The items in their order, made by another thread, ``many`` of them while the caller has the one before.

    What making one raises is raised here, when its turn comes; no item after it is asked for.
    """
    source = iter(items)
    with ThreadPoolExecutor(1) as pool:
        waiting = deque(pool.submit(next, source, _END) for _ in range(many))
        while (item := waiting.popleft().result()) is not _END:
            waiting.append(pool.submit(next, source, _END))
            yield item  # type: ignore[misc]  # whatever is not the end came from the source
