"""Many presets at once: worker processes that design and make, results in the order asked for, a clean stop."""

from __future__ import annotations

import atexit
import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator, Sequence
from concurrent.futures import Future, ProcessPoolExecutor, as_completed
from concurrent.futures.process import BrokenProcessPool
from contextlib import contextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, TypeVar

from holders.errors import HoldersError, MachineError

if TYPE_CHECKING:
    from holders.export.write import FileRecord
    from holders.study import Study

CONTEXT = multiprocessing.get_context("spawn")  # forking a process that has threads is unsafe
ENOUGH_S = 10.0  # for a worker to tidy up after it was told to stop

T = TypeVar("T")
Tell = Callable[[int, int, str], None]  # how many are done, of how many, which was the last


@dataclass(frozen=True, slots=True)
class Refused:
    """Why one preset came to nothing: the message and the exit code it asks for."""

    message: str
    code: int


def cores() -> int:
    """How many processors this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # macOS, Windows
        return os.cpu_count() or 1


class Team:
    """Worker processes; each loads what it needs once and works through one preset after the other."""

    def __init__(self, executor: ProcessPoolExecutor) -> None:
        self._executor = executor

    def study_all(self, paths: Sequence[Path], record: Path | None, tell: Tell) -> list[Study | Refused]:
        """Every preset designed and checked, or why not, in the order given."""
        return self._each(_study, [(path, record) for path in paths], [str(p) for p in paths], tell)

    def produce_all(
        self, studies: Sequence[Study], out: Path, anyway: str | None, tell: Tell
    ) -> list[tuple[FileRecord, ...] | Refused]:
        """Every holder's files written, or why not, in the order given; one that fails leaves the others alone."""
        titles = [found.design.title for found in studies]
        return self._each(_produce, [(found, out, anyway) for found in studies], titles, tell)

    def _each(
        self, task: Callable[..., Any], orders: Sequence[tuple[Any, ...]], names: Sequence[str], tell: Tell
    ) -> list[Any]:
        futures: dict[Future[Any], int] = {}
        results: dict[int, Any] = {}
        try:
            for index, order in enumerate(orders):
                futures[self._executor.submit(task, *order)] = index
        except BrokenProcessPool:
            pass  # those that were not handed out are done below
        for future in as_completed(futures):
            index = futures[future]
            try:
                results[index] = future.result()
            except BrokenProcessPool:
                continue
            tell(len(results), len(orders), names[index])
        for index, order in enumerate(orders):
            if index not in results:
                results[index] = _alone(task, order)
                tell(len(results), len(orders), names[index])
        return [results[index] for index in range(len(orders))]


def _alone(task: Callable[..., Any], order: tuple[Any, ...]) -> Any:
    """In a process of its own, after a worker died: whichever preset kills its process takes no other with it."""
    try:
        with ProcessPoolExecutor(1, mp_context=CONTEXT, initializer=_settle) as one:
            return one.submit(task, *order).result()
    except BrokenProcessPool:
        return Refused("its process died, perhaps for want of memory; close programs and try it alone", 3)


@contextmanager
def team(count: int) -> Iterator[Team]:
    """Up to ``count`` workers; whatever ends the block ends them, and what they had half-made is removed."""
    executor = ProcessPoolExecutor(count, mp_context=CONTEXT, initializer=_settle)
    try:
        yield Team(executor)
    except BaseException:
        executor.shutdown(wait=False, cancel_futures=True)
        _end(multiprocessing.active_children())
        raise
    executor.shutdown()


def _end(workers: Sequence[Any]) -> None:
    for worker in workers:
        worker.terminate()
    for worker in workers:
        worker.join(ENOUGH_S)
        if worker.is_alive():
            worker.kill()


def _settle() -> None:
    """A worker leaves Ctrl-C to its parent, tidies up when told to stop, and never outlives the parent."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    signal.signal(signal.SIGTERM, lambda *_: sys.exit(1))
    atexit.register(os._exit, 0)  # unloading the CAD kernel takes a quarter of a second and gives nothing
    threading.Thread(target=_follow, daemon=True).start()


def _follow() -> None:
    parent = multiprocessing.parent_process()
    if parent is not None:
        parent.join()
        os._exit(1)


def _study(path: Path, record: Path | None) -> Study | Refused:
    from holders.study import study_file

    return _told(lambda: study_file(path, record))


def _produce(found: Study, out: Path, anyway: str | None) -> tuple[FileRecord, ...] | Refused:
    from holders.study import produce

    return _told(lambda: produce(found, out, anyway))


def _told(work: Callable[[], T]) -> T | Refused:
    """What the work gives, or its failure in words: an exception may not survive the way between processes."""
    try:
        return work()
    except HoldersError as error:
        return Refused(str(error), error.exit_code)
    except MemoryError:
        return Refused(
            "the machine ran out of memory; close other programs and try again", MachineError.exit_code
        )
    except OSError as error:
        return Refused(
            f"{error.strerror or error}; check the disk and the folder's rights", MachineError.exit_code
        )
    except Exception as error:
        return Refused(f"a fault of ours ({type(error).__name__}: {error}); please report it", 3)
