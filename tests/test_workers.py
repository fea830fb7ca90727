"""One worker class for batches, the CAD kernel and the page: orders in turn, progress, time limits, ends."""

from __future__ import annotations

import os
import time
from collections.abc import Callable
from functools import partial
from multiprocessing.connection import Connection

import pytest

from holders.core.errors import InputError
from holders.core.workers import (
    Progress,
    Refused,
    TookTooLong,
    Worker,
    WorkerDied,
    cores,
    helper,
    take_helper,
)

LOADED: list[str] = []


def load() -> None:
    LOADED.append("loaded")


def loaded() -> list[str]:
    return LOADED


def at_length(tell: Callable[[str, float], None], steps: int) -> str:
    for step in range(steps):
        tell(f"step {step}", step / steps)
    return "done"


@pytest.fixture
def worker() -> Worker:
    return Worker(load)


def test_it_loads_first_reports_progress_and_keeps_to_its_time(worker: Worker) -> None:
    worker.ask(loaded)
    assert worker.answer(60.0) == ["loaded"]
    worker.ask_at_length(at_length, 3)
    seen = []
    while isinstance(found := worker.answer(60.0), Progress):
        seen.append(found)
    assert found == "done"
    assert seen == [Progress("step 0", 0.0), Progress("step 1", 1 / 3), Progress("step 2", 2 / 3)]
    worker.ask(time.sleep, 0.5)
    with pytest.raises(TookTooLong):
        worker.answer(0.05)
    assert worker.answer(60.0) is None  # late, and still the answer to that order
    worker.ask(time.sleep, 60)
    worker.interrupt()
    with pytest.raises(WorkerDied):
        worker.answer(60.0)
    worker.end(1.0)
    with pytest.raises(WorkerDied):
        worker.answer(0.0)


def test_a_fault_of_ours_is_told_as_one(worker: Worker) -> None:
    worker.ask(int, "weir")
    found = worker.answer(60.0)
    assert isinstance(found, Refused)
    assert found.message.startswith("a fault of ours (ValueError: ")
    assert found.code == 3


def unsendable() -> object:
    return lambda: None


def test_what_cannot_be_sent_back_is_a_fault_of_ours_and_the_worker_goes_on(worker: Worker) -> None:
    worker.ask(unsendable)
    found = worker.answer(60.0)
    assert isinstance(found, Refused)
    assert found.message.startswith("a fault of ours (")
    assert found.message.endswith("please report it")
    assert found.code == 3
    worker.ask(loaded)
    assert worker.answer(60.0) == ["loaded"]


def test_it_ends_although_it_works(worker: Worker) -> None:
    worker.ask(time.sleep, 60)
    began = time.monotonic()
    worker.kill()
    assert time.monotonic() - began < 10


def test_it_leaves_quietly_when_it_is_dismissed(worker: Worker) -> None:
    worker.ask(loaded)
    assert worker.answer(60.0) == ["loaded"]
    worker.dismiss()
    assert worker._process.exitcode == 0


@pytest.mark.skipif(not hasattr(os, "sched_setaffinity"), reason="only Linux lets a process be bound so")
def test_processors_are_those_that_this_process_may_use() -> None:
    before = os.sched_getaffinity(0)
    try:
        os.sched_setaffinity(0, {min(before)})
        assert cores() == 1
    finally:
        os.sched_setaffinity(0, before)
    assert cores() == len(before)


def with_a_helper(line: Connection) -> None:
    take_helper(line)


def shared(count: int) -> list[object]:
    """What a worker has of its helper: its own number and the helper's, and that nobody else may have it meanwhile."""
    mine = helper()
    assert mine is not None
    found: list[object] = [os.getpid()]
    for _ in range(count):
        mine.ask(os.getpid)
        found.append(helper())
        found.append(mine.answer())
    return [*found, helper() is mine]


def leaves_it_at_work() -> None:
    mine = helper()
    assert mine is not None
    mine.ask(loaded)
    raise InputError("lip.all_mm", 99, "must be at most 50")


def outlives_it() -> str:
    mine = helper()
    assert mine is not None
    try:
        mine.ask(os._exit, 1)
        mine.answer()
    except WorkerDied:
        return "died"
    return "answered"


def test_a_helper_does_one_order_at_a_time_for_its_worker() -> None:
    beside = Worker()
    worker = Worker(partial(with_a_helper, beside.line))
    try:
        worker.ask(shared, 2)
        own, *found, again = worker.answer(60.0)
        assert found == [None, beside._process.pid] * 2
        assert own != beside._process.pid
        assert again
        worker.ask(leaves_it_at_work)  # what it was at then is nobody's
        assert isinstance(worker.answer(60.0), Refused)
        worker.ask(shared, 1)
        assert worker.answer(60.0)[1:] == [None, beside._process.pid, True]
        worker.ask(outlives_it)
        assert worker.answer(60.0) == "died"
    finally:
        worker.kill()
        beside.kill()
    assert helper() is None  # here nobody helps
