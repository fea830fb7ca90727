"""A list of independent trials worked through by this process and one beside it."""

from __future__ import annotations

import multiprocessing
from collections.abc import Callable, Sequence
from typing import Any, TypeVar

from holders.core.workers import Worker, WorkerDied, cores, helper

T = TypeVar("T")
R = TypeVar("R")
LEAST_SHARED = 3  # trials for each, below which starting a process takes longer than it saves


def in_halves(
    task: Callable[..., list[R]], items: Sequence[T], *more: Any, alike: Callable[[T], object] = id
) -> list[R]:
    """What ``task(items, *more)`` returns, one result an item and in their order; half of it made in a process beside.

    ``task`` is a function of a module. Items of which ``alike`` gives the same stay together, as they have work in
    common. The process beside is this one's helper where it has one; else one is started, but not where there is one
    processor, where the trials are few, or where this process is itself a worker and may start none: all is done here.
    """
    mine, others = _dealt([alike(item) for item in items])
    given = helper()
    least = LEAST_SHARED if given is None else 1
    alone = given is None and (cores() < 2 or multiprocessing.current_process().daemon)
    if alone or min(len(mine), len(others)) < least:
        return task(items, *more)
    beside = Worker() if given is None else given
    answer: list[R] | None = None
    results: dict[int, R] = {}
    try:
        beside.ask(task, [items[k] for k in others], *more)
        results = dict(zip(mine, task([items[k] for k in mine], *more), strict=True))
        answer = beside.answer()
    except WorkerDied:
        if not results:
            return task(items, *more)
    finally:  # stopped in the midst, too
        if isinstance(beside, Worker):
            beside.kill()
    if not isinstance(answer, list):  # it died or was refused: what it had to do is done here
        answer = task([items[k] for k in others], *more)
    results.update(zip(others, answer, strict=True))
    return [results[k] for k in range(len(items))]


def _dealt(groups: Sequence[object]) -> tuple[list[int], list[int]]:
    """Places of the items for this process and the other: whole groups, the largest first, to whoever has less."""
    places: dict[object, list[int]] = {}
    for k, group in enumerate(groups):
        places.setdefault(group, []).append(k)
    mine: list[int] = []
    others: list[int] = []
    for group in sorted(places.values(), key=len, reverse=True):
        (mine if len(mine) <= len(others) else others).extend(group)
    return mine, others
