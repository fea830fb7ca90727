"""Worker processes: one that answers question after question, and single errands; all end when the page ends."""

from __future__ import annotations

import contextlib
import multiprocessing
import os
import signal
import threading
from collections.abc import Iterator, Mapping
from multiprocessing.connection import Connection
from multiprocessing.process import BaseProcess
from typing import Any

from holders.threads import one_thread

CONTEXT = multiprocessing.get_context("spawn")  # forking a process with threads is unsafe
GRACE_S = 1.0


def answering(pipe: Connection) -> None:
    """The life of an answering process: (kind, values) in, (done, answer) out, until the pipe closes."""
    _settle()
    from holders.page import answers  # noqa: PLC0415 - loaded in the worker only

    kinds = {"sketch": answers.sketch, "film": answers.film, "whole": answers.whole}
    answers.warm()
    with contextlib.suppress(EOFError, OSError):
        while True:
            kind, values = pipe.recv()
            try:
                pipe.send((True, kinds[kind](values)))
            except Exception as error:
                pipe.send((False, f"{type(error).__name__}: {error}"))


def erranding(pipe: Connection, errand: str, order: Mapping[str, Any]) -> None:
    """The life of an errand: ("progress", words, share) any number of times, then ("done" or "broken", what)."""
    _settle()
    from holders.page import errands  # noqa: PLC0415

    def tell(words: str, share: float) -> None:
        pipe.send(("progress", words, float(share)))

    with contextlib.suppress(OSError):
        try:
            pipe.send(("done", errands.run(errand, order, tell)))
        except Exception as error:
            pipe.send(("broken", f"{type(error).__name__}: {error}"))


def start(target: Any, *arguments: Any) -> tuple[BaseProcess, Connection]:
    """Start a worker; the pipe is ours to read and write."""
    ours, theirs = CONTEXT.Pipe()
    process = CONTEXT.Process(target=target, args=(theirs, *arguments), daemon=True)
    with _interrupt_left_to_us():
        process.start()
    theirs.close()
    return process, ours


def end(process: BaseProcess, pipe: Connection) -> None:
    """End a worker now, whatever it is doing."""
    process.terminate()
    process.join(GRACE_S)
    if process.is_alive():
        process.kill()
        process.join(GRACE_S)
    pipe.close()


@contextlib.contextmanager
def _interrupt_left_to_us() -> Iterator[None]:
    """Ctrl-C reaches every process of a terminal; a worker that inherits "ignore" leaves it to the page."""
    if threading.current_thread() is not threading.main_thread():
        yield
        return
    before = signal.signal(signal.SIGINT, signal.SIG_IGN)
    try:
        yield
    finally:
        signal.signal(signal.SIGINT, before)


def _settle() -> None:
    """One thread for arithmetic, no Ctrl-C, and no life beyond the page's."""
    signal.signal(signal.SIGINT, signal.SIG_IGN)
    one_thread()
    parent = multiprocessing.parent_process()
    if parent is not None:
        threading.Thread(target=_follow, args=(parent,), daemon=True).start()


def _follow(parent: Any) -> None:
    parent.join()
    os._exit(0)
