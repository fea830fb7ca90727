"""A desk: one worker process that answers quick questions, restarted when it dies or takes too long."""

from __future__ import annotations

import asyncio
from collections.abc import Mapping
from typing import Any

from holders.core import processes
from holders.face.page.work.processes import answering

WAIT_S = 20.0
MOST_WAITING = 8


class TooBusy(Exception):
    """More questions wait than one person asks."""


class NoAnswer(Exception):
    """The worker died or took too long; the next question gets a new one."""


class Desk:
    """Questions are answered one after another; those who wait are counted and bounded."""

    def __init__(self, wait_s: float = WAIT_S) -> None:
        self.wait_s = wait_s
        self._worker = processes.start(answering)
        self._turn = asyncio.Lock()
        self._waiting = 0
        self._closed = False

    async def ask(self, kind: str, values: Mapping[str, Any]) -> dict[str, Any]:
        """The worker's answer.

        Raises ``TooBusy`` or ``NoAnswer``.
        """
        if self._waiting >= MOST_WAITING:
            raise TooBusy
        self._waiting += 1
        try:
            async with self._turn:
                return await self._answer(kind, values)
        finally:
            self._waiting -= 1

    async def _answer(self, kind: str, values: Mapping[str, Any]) -> dict[str, Any]:
        _, pipe = self._worker
        try:
            pipe.send((kind, dict(values)))
            done = await asyncio.shield(asyncio.to_thread(_receive, pipe, self.wait_s))
        except (EOFError, OSError) as error:
            self._renew()
            raise NoAnswer(f"the worker stopped ({type(error).__name__})") from None
        except asyncio.CancelledError:
            self._renew()  # its late answer must not be taken for the next one
            raise
        if done is None:
            self._renew()
            raise NoAnswer(f"no answer within {self.wait_s:g} s")
        ok, answer = done
        if not ok:
            raise NoAnswer(str(answer))
        found: dict[str, Any] = answer
        return found

    def _renew(self) -> None:
        processes.end(*self._worker)
        if not self._closed:
            self._worker = processes.start(answering)

    def close(self) -> None:
        """End the worker."""
        self._closed = True
        processes.end(*self._worker)


def _receive(pipe: Any, wait_s: float) -> Any:
    return pipe.recv() if pipe.poll(wait_s) else None
