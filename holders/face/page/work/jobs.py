"""Long jobs, one of each kind at a time: started, watched, cancelled, and forgotten with all they left on disk."""

from __future__ import annotations

import asyncio
import contextlib
import secrets
import shutil
import time
from collections.abc import Callable, Mapping
from dataclasses import dataclass, field
from pathlib import Path
from typing import Any, Literal

from holders.core.limits import PAGE_MAKE_S
from holders.core.workers import Progress, Refused, TookTooLong, Worker, WorkerDied

LOOK_S = 0.5  # between looks whether a job takes too long
GRACE_S = 1.0  # for its process to tidy up
MOST_S = 900.0  # a job that takes longer is ended
UNWATCHED_S = (
    180.0  # so is one that no page has asked after for this long (browsers slow hidden pages to 1/min)
)

SCANS = {"measure": 1, "curl": 1, "inspect": 1, "surface": 2}  # kinds that take scans in, and how many

State = Literal["waiting", "uploading", "running", "done", "failed", "cancelled"]


class Busy(Exception):
    """A job of that kind is under way."""


@dataclass
class Job:
    """One job: its own folder, and what there is to tell about it."""

    kind: str
    folder: Path
    key: str = field(default_factory=lambda: secrets.token_urlsafe(12))
    state: State = "waiting"
    words: str = ""
    share: float = 0.0
    result: dict[str, Any] | None = None
    order: dict[str, Any] = field(default_factory=dict)
    scans: list[str] = field(default_factory=list)  # that came in
    asked: float = field(default_factory=time.monotonic)
    worker: Worker | None = None
    watcher: asyncio.Task[None] | None = None

    @property
    def busy(self) -> bool:
        """Whether it holds its kind's place."""
        return self.state in ("uploading", "running")

    def told(self) -> dict[str, Any]:
        """What the page may know."""
        return {
            "key": self.key,
            "state": self.state,
            "words": self.words,
            "share": round(self.share, 3),
            "result": self.result,
        }


class Jobs:
    """At most one job of a kind, the last one's result kept until the next."""

    def __init__(
        self,
        folder: Path,
        most_s: float = MOST_S,
        unwatched_s: float = UNWATCHED_S,
        make_s: float = PAGE_MAKE_S,
    ) -> None:
        self.folder = folder
        self.make_s = min(make_s, most_s)
        self.most_s, self.unwatched_s = most_s, unwatched_s
        self._jobs: dict[str, Job] = {}

    def open(self, kind: str) -> Job:
        """A new job in the kind's place.

        Raises ``Busy`` while the one before is under way.
        """
        before = self._jobs.get(kind)
        if before is not None and before.busy:
            raise Busy(kind)
        if before is not None:
            self._forget(before)
        job = Job(kind, self.folder / f"{kind}-{secrets.token_hex(8)}")
        job.folder.mkdir(mode=0o700)
        self._jobs[kind] = job
        return job

    def get(self, key: str) -> Job | None:
        """The job of that key, if it is still known."""
        for job in self._jobs.values():
            if secrets.compare_digest(job.key.encode(), key.encode()):
                job.asked = time.monotonic()
                return job
        return None

    def run(self, job: Job, order: Mapping[str, Any]) -> None:
        """Start the job's process and watch it."""
        job.state, job.words = "running", "starting"
        job.worker = Worker()
        job.worker.ask_at_length(_errand, job.kind, dict(order))
        job.watcher = asyncio.create_task(self._watch(job))

    async def _watch(self, job: Job) -> None:
        assert job.worker is not None
        worker = job.worker
        started = time.monotonic()
        end: tuple[State, dict[str, Any] | None, str] = ("failed", None, "its process stopped; try again")
        with contextlib.suppress(WorkerDied):
            while True:
                try:
                    message = await asyncio.to_thread(worker.answer, LOOK_S)
                except TookTooLong:
                    if why := self._too_long(job, started):
                        end = ("failed", None, why)
                        break
                    continue
                if isinstance(message, Progress):
                    job.words, job.share = message.words, message.share
                    continue
                if isinstance(message, Refused):
                    end = ("failed", None, message.message)
                else:
                    end = ("done" if message["ok"] else "failed", message, "")
                break
        worker.stop()
        await asyncio.to_thread(worker.end, GRACE_S)
        if job.kind in SCANS:
            shutil.rmtree(job.folder, ignore_errors=True)  # a scan is large, and its numbers are known now
        if job.state == "running":
            job.state, job.result, job.words = end
            job.share = 1.0 if end[0] == "done" else job.share

    def _too_long(self, job: Job, started: float) -> str:
        now = time.monotonic()
        most_s = self.make_s if job.kind == "make" else self.most_s
        if now - started > most_s:
            return f"it took longer than {most_s:g} s and was ended"
        if now - job.asked > self.unwatched_s:
            return "the page was closed, so it was ended"
        return ""

    def cancel(self, job: Job) -> None:
        """End it now and remove its files."""
        if job.state in ("waiting", "uploading", "running"):
            job.state, job.words = "cancelled", "cancelled"
        if job.worker is not None:
            job.worker.interrupt()  # which wakes the watcher
        shutil.rmtree(job.folder, ignore_errors=True)

    def _forget(self, job: Job) -> None:
        self.cancel(job)
        self._jobs.pop(job.kind, None)

    async def close(self) -> None:
        """End all jobs and wait for their watchers."""
        for job in list(self._jobs.values()):
            self._forget(job)
            if job.watcher is not None:
                await job.watcher


def _errand(tell: Callable[[str, float], None], errand: str, order: Mapping[str, Any]) -> dict[str, Any]:
    from holders.face.page.work import errands

    return errands.run(errand, order, tell)
