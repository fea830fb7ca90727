"""Processes, each with a line to it: none outlives this process, and its death ends the line.

Python's own pool waits for ever when a worker is stopped in the midst of sending its result.
"""

from __future__ import annotations

import multiprocessing
import os
import signal
import sys
import threading
from collections.abc import Callable, Iterator
from contextlib import contextmanager
from multiprocessing import resource_tracker
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from holders.core.bounds import bound_memory
from holders.core.threads import one_thread

# Forking a process that has threads is unsafe: on Linux workers are forked from a server of one thread, which loads the
# libraries once; elsewhere each is a fresh process that loads them itself (a second of the processor and more).
if sys.platform == "linux":
    CONTEXT = multiprocessing.get_context("forkserver")
    CONTEXT.set_forkserver_preload(["scipy.spatial", "scipy.optimize", "pydantic", "trimesh"])
else:
    CONTEXT = multiprocessing.get_context("spawn")


def start(target: Callable[..., None], *arguments: Any) -> tuple[BaseProcess, Connection]:
    """Start a worker, whose target gets its end of the line first and settles before all else; our end is returned."""
    ours, theirs = CONTEXT.Pipe()
    process = CONTEXT.Process(target=target, args=(theirs, *arguments), daemon=True)
    with _deaf():
        process.start()
    theirs.close()
    return process, ours


def settle() -> None:
    """In a worker: one thread for arithmetic, bounded memory, Ctrl-C left to the parent, no life beyond its."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    one_thread()
    bound_memory()
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_follow, args=(parent,), daemon=True).start()


def _follow(parent: Any) -> None:
    parent.join()
    os._exit(1)


@contextmanager
def _deaf() -> Iterator[None]:
    """A process that is started meanwhile does not hear Ctrl-C before it has settled; this one hears it afterwards.

    On Windows nothing is done: a Ctrl-C in that moment shows where the worker stopped, and stops it.
    """
    if sys.platform == "win32":
        yield
        return
    resource_tracker.ensure_running()  # Python's own helper, whose start would open our ears again
    before = signal.pthread_sigmask(signal.SIG_BLOCK, {signal.SIGINT})
    try:
        yield
    finally:
        signal.pthread_sigmask(signal.SIG_SETMASK, before)
