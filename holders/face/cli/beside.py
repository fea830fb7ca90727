"""The CAD kernel in a process beside: it takes as long to load as a holder to be designed, so both go on at once."""

from __future__ import annotations

import sys
from collections.abc import Callable, Iterator, Mapping
from contextlib import contextmanager
from functools import cache, partial
from threading import Thread
from typing import TYPE_CHECKING

from holders.core.workers import Refused, Worker, WorkerDied, cores

if TYPE_CHECKING:
    from holders.design.model import Design
    from holders.output.formats.export import Producer

# the files that the kernel makes, as `plan_files.solid_files`
Solids = Callable[["Design"], "Mapping[str, Producer]"]


@contextmanager
def kernel_beside(wanted: bool) -> Iterator[Solids | None]:
    """What makes a design's solid files in another process, which starts to load the kernel at once.

    None where it would gain nothing: not ``wanted``, a single processor, or the kernel is here already. The process
    writes no file, and ends with the block, whatever ends that. It takes one design.
    """
    helper = _helper() if wanted and cores() > 1 and not is_here() else None
    if helper is None:
        yield None
        return
    try:
        helper.ask(_load)
        yield partial(_files, helper)
    finally:
        helper.kill()  # it has nothing to tidy up


def _helper() -> Worker | None:
    try:
        return Worker()
    except OSError:  # no more processes or open files are allowed here; one process does as well
        return None


def is_here() -> bool:
    """Whether this process has loaded the kernel."""
    return "OCP" in sys.modules


def _files(helper: Worker, design: Design) -> Mapping[str, Producer]:
    """The files by name, each with what waits for its bytes; where the process failed, they are made here.

    That tells what is wrong as it would have been told without it.
    """
    from holders.output.bundle.plan_files import solid_files

    # it reads its orders only when the kernel is loaded, and a long one fills the line
    Thread(target=_send, args=(helper, design), daemon=True).start()
    there = cache(partial(_awaited, helper))
    return {name: partial(_one, there, name, make) for name, make in solid_files(design).items()}


def _send(helper: Worker, design: Design) -> None:
    try:
        helper.ask(_make, design)
    except Exception:  # it cannot be sent, or the line was closed meanwhile: the end of the process tells
        helper.stop()


def _awaited(helper: Worker) -> dict[str, bytes] | None:
    """What the helper has made; None where it has died or failed."""
    try:
        helper.answer()  # that it has loaded what it needs; what hinders it there does so again below
        made: dict[str, bytes] | Refused = helper.answer()
    except WorkerDied:
        return None
    return None if isinstance(made, Refused) else made


def _one(there: Callable[[], dict[str, bytes] | None], name: str, here: Producer) -> bytes:
    made = there()
    return here() if made is None else made[name]


def _load() -> None:
    from holders.output.bundle.plan_files import load_for_solids

    load_for_solids()


def _make(design: Design) -> dict[str, bytes]:
    from holders.output.bundle.plan_files import solid_files

    return {name: make() for name, make in solid_files(design).items()}
