"""Many presets at once: worker processes that design and make, results in the order asked for, a clean stop."""

from __future__ import annotations

from collections import deque
from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager
from multiprocessing.connection import wait
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holders.core.workers import Refused, Worker, WorkerDied

if TYPE_CHECKING:
    from holders.output.bundle.write import FileRecord
    from holders.study import Study

Tell = Callable[[int, int, str], None]  # how many are done, of how many, which was the last


class Team:
    """Workers; each loads what it needs once and works through one preset after the other."""

    def __init__(self) -> None:
        self.workers: list[Worker] = []

    def hire(self, count: int) -> None:
        """Start workers."""
        for _ in range(count):
            self.workers.append(Worker())

    def study_all(
        self, paths: Sequence[Path], record: Path | None, tell: Tell, steps: bool = True
    ) -> list[Study | Refused]:
        """Every preset designed and checked, with the steps that gain if ``steps``, or why not, in the order given."""
        return self._each(_study, [(path, record, steps) for path in paths], [str(p) for p in paths], tell)

    def produce_all(
        self, studies: Sequence[Study], out: Path, anyway: str | None, tell: Tell
    ) -> list[tuple[FileRecord, ...] | Refused]:
        """Every holder's files written, or why not, in the order given; one that fails leaves the others alone."""
        titles = [found.design.title for found in studies]
        return self._each(_produce, [(found, out, anyway) for found in studies], titles, tell)

    def _each(
        self, task: Callable[..., Any], orders: Sequence[tuple[Any, ...]], names: Sequence[str], tell: Tell
    ) -> list[Any]:
        waiting = deque(range(len(orders)))
        idle, busy = list(self.workers), dict[Worker, int]()
        results: dict[int, Any] = {}
        lost: list[int] = []
        while busy or (waiting and idle):
            while waiting and idle:
                worker, index = idle.pop(), waiting.popleft()
                worker.ask(task, *orders[index])
                busy[worker] = index
            whose = {sign: worker for worker in busy for sign in worker.signs}
            for worker in {whose[sign] for sign in wait(list(whose))}:
                index = busy.pop(worker)
                try:
                    results[index] = worker.answer()
                except WorkerDied:
                    self.workers.remove(worker)
                    worker.kill()
                    lost.append(index)
                    continue
                idle.append(worker)
                tell(len(results), len(orders), names[index])
        for index in sorted([*lost, *waiting]):
            results[index] = self._alone(task, orders[index])
            tell(len(results), len(orders), names[index])
        return [results[index] for index in range(len(orders))]

    def _alone(self, task: Callable[..., Any], order: tuple[Any, ...]) -> Any:
        """In a process of its own, after a worker died: whichever preset kills its process takes no other with it."""
        one = Worker()
        self.workers.append(one)
        one.ask(task, *order)
        try:
            found = one.answer()
        except WorkerDied:
            found = Refused(
                "its process died, perhaps for want of memory; close programs and try it alone", 3
            )
        self.workers.remove(one)
        one.kill()
        return found


@contextmanager
def team(count: int) -> Iterator[Team]:
    """``count`` workers; whatever ends the block ends them, and what they had half-made is removed."""
    found = Team()
    try:
        found.hire(count)
        yield found
    except BaseException:
        for worker in found.workers:
            worker.stop()
        for worker in found.workers:
            worker.end()
        raise
    for worker in found.workers:
        worker.dismiss()


def _study(path: Path, record: Path | None, steps: bool) -> Study:
    from holders.search.tried import with_steps
    from holders.study import record_places, study_file

    found = study_file(path, record)
    return with_steps(found, record_places(record)) if steps else found


def _produce(found: Study, out: Path, anyway: str | None) -> tuple[FileRecord, ...]:
    from holders.output.bundle.produce import produce

    return produce(found, out, anyway)
