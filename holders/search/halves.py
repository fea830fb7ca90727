"""A list of independent trials worked through by this process and one beside it."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from holders.core.workers import Worker, WorkerDied, cores

T = TypeVar("T")
R = TypeVar("R")
WORTH_SHARING = 6  # trials, below which starting a process takes longer than it saves


def in_halves(task: Callable[..., list[R]], items: Sequence[T], *more: Any) -> list[R]:
    """What ``task(items, *more)`` returns, one result an item and in their order; half of it made in a process beside.

    ``task`` is a function of a module. All is done here where there is one processor, where the trials are few, or
    where this process is itself a worker and may start none.
    """
    if cores() < 2 or len(items) < WORTH_SHARING or multiprocessing.current_process().daemon:
        return task(items, *more)
    beside = Worker()
    beside.ask(task, items[1::2], *more)
    mine = task(items[::2], *more)
    try:
        other = beside.answer()
    except WorkerDied:
        other = None
    beside.kill()
    if not isinstance(other, list):  # it died or was refused: what it had to do is done here
        other = task(items[1::2], *more)
    results = [*mine, *other]
    results[::2], results[1::2] = mine, other
    return results
