"""Lives of the page's worker processes: one answers question after question, others do a single errand."""

from __future__ import annotations

import contextlib
from collections.abc import Mapping
from multiprocessing.connection import Connection
from typing import Any

from holders.core.processes import settle


def answering(pipe: Connection) -> None:
    """The life of an answering process: (kind, values) in, (done, answer) out, until the pipe closes."""
    settle()
    from holders.face.page.work import answers

    kinds = {kind: getattr(answers, kind) for kind in ("sketch", "film", "draft", "whole")}
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
    settle()
    from holders.face.page.work import errands

    def tell(words: str, share: float) -> None:
        pipe.send(("progress", words, float(share)))

    with contextlib.suppress(OSError):
        try:
            pipe.send(("done", errands.run(errand, order, tell)))
        except Exception as error:
            pipe.send(("broken", f"{type(error).__name__}: {error}"))
