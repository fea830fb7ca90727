"""A worker that answers the page's quick questions in turn, restarted when it dies or takes too long."""

from __future__ import annotations

import asyncio
import os
from collections.abc import Awaitable, Callable, Coroutine, Mapping
from functools import partial
from multiprocessing.connection import Connection
from typing import Any

from holders.core.workers import Refused, TookTooLong, Worker, WorkerDied, cores, take_helper

WAIT_S = 20.0
MOST_WAITING = 8
LOOK_S = 0.3  # between looks whether somebody still waits for a long answer
ASIDE = 5  # steps of politeness, of 19


class TooBusy(Exception):
    """More questions wait than one person asks."""


class NoAnswer(Exception):
    """The worker died or took too long; the next question gets a new one."""


class AnswerWorker:
    """Questions are answered one after another; those who wait are counted and bounded."""

    def __init__(self, wait_s: float = WAIT_S, *, aside: bool = False, helped: bool = False) -> None:
        """``aside``: it works where no other worker wants the machine; ``helped``: another process takes half of its
        work, where there are two processors.
        """
        self.wait_s = wait_s
        self._begin = _load_aside if aside else _load
        self._helped = helped and cores() > 1
        self._start()
        self._turn = asyncio.Lock()
        self._waiting = 0
        self._closed = False

    async def ask(
        self,
        kind: str,
        values: Mapping[str, Any],
        left: Callable[[], Awaitable[bool]] | None = None,
        *,
        long: bool = False,
    ) -> dict[str, Any]:
        """The worker's answer.

        ``left`` tells, when the question's turn comes, whether the page that asked is gone: then no time is spent. Of a
        ``long`` one it is asked again and again, and the worker starts again once nobody waits.
        Raises ``TooBusy`` or ``NoAnswer``.
        """
        if self._waiting >= MOST_WAITING:
            raise TooBusy
        self._waiting += 1
        try:
            async with self._turn:
                if left is not None and await left():
                    raise NoAnswer("nobody waits for it")
                if left is None or not long:
                    return await self._answer(kind, values)
                return await self._watched(self._answer(kind, values), left)
        finally:
            self._waiting -= 1

    async def _watched(
        self, answer: Coroutine[Any, Any, dict[str, Any]], left: Callable[[], Awaitable[bool]]
    ) -> dict[str, Any]:
        """The answer, given up once nobody waits for it."""
        task = asyncio.ensure_future(answer)
        try:
            while not task.done():
                await asyncio.wait({task}, timeout=LOOK_S)
                if not task.done() and await left():
                    raise NoAnswer("nobody waits for it")
            return task.result()
        finally:
            task.cancel()  # if it is not done, its worker is renewed before the next question
            await asyncio.wait({task})

    async def _answer(self, kind: str, values: Mapping[str, Any]) -> dict[str, Any]:
        worker = self._worker
        exchange = asyncio.ensure_future(
            asyncio.to_thread(_exchanged, worker, kind, dict(values), self.wait_s)
        )
        exchange.add_done_callback(_taken)
        try:
            found = await asyncio.shield(exchange)
        except WorkerDied:
            self._renew()
            raise NoAnswer("the worker stopped") from None
        except TookTooLong:
            self._renew()
            raise NoAnswer(f"no answer within {self.wait_s:g} s") from None
        except asyncio.CancelledError:
            self._renew()  # its late answer must not be taken for the next one
            raise
        if isinstance(found, Refused):
            raise NoAnswer(found.message)
        answer: dict[str, Any] = found
        return answer

    def _start(self) -> None:
        self._helper = Worker(self._begin) if self._helped else None
        first = self._begin if self._helper is None else partial(_load_helped, self._begin, self._helper.line)
        self._worker = Worker(first)

    def _end(self) -> None:
        self._worker.kill()  # it has nothing to tidy up
        if self._helper is not None:  # what it was at was for that worker
            self._helper.kill()

    def _renew(self) -> None:
        self._end()
        if not self._closed:
            self._start()

    def close(self) -> None:
        """End the worker."""
        self._closed = True
        self._end()


def _taken(exchange: asyncio.Future[Any]) -> None:
    """Takes what an answer ended with: where nobody waits for it any more, asyncio would log it with a traceback."""
    if not exchange.cancelled():
        exchange.exception()


def _exchanged(worker: Worker, kind: str, values: dict[str, Any], wait_s: float) -> Any:
    worker.ask(_answered, kind, values)  # a large file fills the line, so not in the server's own loop
    return worker.answer(wait_s)


def _load() -> None:
    from holders.face.page.work import answers

    answers.warm()


def _load_aside() -> None:
    if hasattr(os, "nice"):
        os.nice(ASIDE)
    _load()


def _load_helped(begin: Callable[[], None], line: Connection) -> None:
    begin()
    take_helper(line)


def _answered(kind: str, values: Mapping[str, Any]) -> dict[str, Any]:
    from holders.face.page.work import answers, reading

    return {**answers.KINDS, **reading.KINDS}[kind](values)
