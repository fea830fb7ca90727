"""Worker processes that take one order after the other; what fails in one comes back in words.

Batches, the CAD kernel beside a single run, and the page all use this one class.
"""

from __future__ import annotations

import atexit
import gc
import os
import signal
import sys
from collections.abc import Callable
from contextlib import suppress
from contextvars import ContextVar
from dataclasses import dataclass
from functools import partial
from multiprocessing.connection import Connection, wait
from typing import Any, TypeVar

from holders.core import processes
from holders.core.bounds import bounded_time
from holders.core.errors import HoldersError, MachineError
from holders.core.safe_text import safe_streams

ENOUGH_S = 10.0  # for a worker to tidy up after it was told to stop

T = TypeVar("T")


@dataclass(frozen=True, slots=True)
class Refused:
    """Why an order came to nothing: the message and the exit code it asks for."""

    message: str
    code: int


class WorkerDied(Exception):
    """The process ended before it answered."""


class TookTooLong(Exception):
    """It has not answered within the time it was given."""


@dataclass(frozen=True, slots=True)
class Progress:
    """What a long order is at, and the share of it that is done, 0..1."""

    words: str
    share: float


class Worker:
    """A process that takes one order after the other and answers in turn.

    ``first`` is a function of a module that it calls before its first order, to load what the orders need.
    """

    def __init__(self, first: Callable[[], object] | None = None) -> None:
        self._process, self.line = processes.start(_serve, first)

    def ask(self, task: Callable[..., Any], *order: Any) -> None:
        """Give it an order: a function of a module and what to call it with. An answer shows whether it has died."""
        self._send(task, order, False)

    def ask_at_length(self, task: Callable[..., Any], *order: Any) -> None:
        """Give it an order whose function takes, before all else, what to report progress with: ``tell(words, share)``.

        :meth:`answer` then returns any number of ``Progress`` before the result.
        """
        self._send(task, order, True)

    def _send(self, task: Callable[..., Any], order: tuple[Any, ...], reporting: bool) -> None:
        with suppress(OSError):
            self.line.send((task, order, reporting))

    @property
    def signs(self) -> tuple[Any, Any]:
        """What ``multiprocessing.connection.wait`` waits for: its line, and the end of its process."""
        return self.line, self._process.sentinel

    def answer(self, wait_s: float | None = None) -> Any:
        """What the function returned, or ``Refused``; waits for it, for ever or for ``wait_s`` at most.

        Raises WorkerDied or TookTooLong; after the latter the answer may still be waited for.
        """
        try:
            signs = wait(self.signs, wait_s)
            if not signs:
                raise TookTooLong
            # where a worker dies before it has taken up its end of the line, the line alone would not show it (Windows)
            if self.line not in signs and not self.line.poll():
                raise WorkerDied
            return self.line.recv()
        except (EOFError, OSError):
            raise WorkerDied from None

    def dismiss(self) -> None:
        """No more orders: it ends as soon as it has answered."""
        self.line.close()
        self._process.join(ENOUGH_S)

    def stop(self) -> None:
        """Tell it to stop in the midst; it removes what it had half-made (on Windows it ends at once)."""
        self._process.terminate()

    def end(self, grace_s: float = ENOUGH_S) -> None:
        """Wait until it has stopped and tidied up, but no longer than ``grace_s``."""
        self._process.join(grace_s)
        self.kill()

    def interrupt(self) -> None:
        """End it at once and leave its line open, so that whoever waits for an answer learns of it."""
        self._process.kill()

    def kill(self) -> None:
        """End it at once: it has nothing to tidy up."""
        self._process.kill()
        self._process.join()
        self.line.close()


class Helper:
    """A worker that was started beside this process by whoever started it, and whose line was handed over.

    It takes one order at a time: it is ``busy`` until its answer was fetched.
    """

    def __init__(self, line: Connection) -> None:
        self._line, self.busy, self._stale = line, False, 0

    def ask(self, task: Callable[..., Any], *order: Any) -> None:
        """Give it an order, as :meth:`Worker.ask`. Raises ``WorkerDied``."""
        while self._stale:
            self.answer()
            self._stale -= 1
        try:
            self._line.send((task, order, False))
        except OSError:
            raise WorkerDied from None
        self.busy = True

    def let_go(self) -> None:
        """Nobody will fetch what it is at: that is dropped before its next order."""
        self._stale += self.busy
        self.busy = False

    @property
    def ready(self) -> bool:
        """Whether its answer is there. Raises ``WorkerDied``."""
        try:
            return self._line.poll()
        except OSError:
            raise WorkerDied from None

    def answer(self) -> Any:
        """What the function returned, or ``Refused``; waits for it. Raises ``WorkerDied``."""
        try:
            found = self._line.recv()
        except (EOFError, OSError):
            raise WorkerDied from None
        self.busy = False
        return found


_HELPER: ContextVar[Helper | None] = ContextVar("helper", default=None)


def take_helper(line: Connection | None) -> None:
    """In a worker: the process at the other end of the line helps this one from now on; none without a line."""
    _HELPER.set(None if line is None else Helper(line))


def helper() -> Helper | None:
    """Who helps this process; None where nobody does, or not now. Where work is done changes no result."""
    mine = _HELPER.get()
    return None if mine is None or mine.busy else mine


def cores() -> int:
    """How many processors this process may use."""
    try:
        return len(os.sched_getaffinity(0))
    except AttributeError:  # macOS, Windows
        return os.cpu_count() or 1


def outcome(work: Callable[[], T]) -> T | Refused:
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


def _serve(line: Connection, first: Callable[[], object] | None) -> None:
    _settle()
    if first is not None:
        first()

    def tell(words: str, share: float) -> None:
        line.send(Progress(words, float(share)))

    while True:
        try:
            task, order, reporting = line.recv()
        except Exception:  # the parent has gone, or sent what cannot be read: it sees our end
            return
        work = partial(_within, task, (tell, *order) if reporting else order)
        found = outcome(work)
        try:
            line.send(found)
        except OSError:
            return
        except Exception as error:  # it cannot be sent; nothing of it has been
            line.send(Refused(f"a fault of ours ({type(error).__name__}: {error}); please report it", 3))


def _within(task: Callable[..., Any], order: tuple[Any, ...]) -> Any:
    mine = _HELPER.get()
    if mine is not None:  # the order before ended in the midst
        mine.let_go()
    with bounded_time():
        return task(*order)


def _settle() -> None:
    """A worker tidies up when told to stop."""
    processes.settle()
    safe_streams()
    # loading the libraries makes much that stays, and looking through it for garbage takes long
    gc.set_threshold(50_000)
    signal.signal(signal.SIGTERM, _leave)
    atexit.register(os._exit, 0)  # unloading the CAD kernel takes a quarter of a second and gives nothing


def _leave(*_: object) -> None:
    sys.unraisablehook = lambda _: None  # told to stop in the midst of an import, Python would print where
    sys.exit(1)
