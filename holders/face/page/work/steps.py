"""Next steps of the form's holder, tried a few at a time, so that a newer question never waits long."""

from __future__ import annotations

import json
import time
from functools import lru_cache
from typing import Any

from holders.core.findings import per_hundred
from holders.core.lines import Candidate
from holders.core.workers import Refused, WorkerDied, helper
from holders.face.page.form.values import text_of, values_of
from holders.search.candidates import candidates, film_keys
from holders.search.rescued import with_rescue
from holders.search.tried import Tried, next_steps, tried
from holders.study import study
from holders.verdict.model import Step

SLICE_S = 0.8  # of one answer; at least one change is tried in each
KEEP = 8  # forms whose trials are kept, so that undo has its steps at once


class Trial:
    """The changes to one form that are tried so far."""

    def __init__(self, text: str) -> None:
        preset_text, preset = text_of(json.loads(text))
        self.found = study(preset, preset_text)
        self.rescue = with_rescue(self.found).verdict.next  # of the holder whose ledge the form has
        every = list(enumerate(candidates(self.found)))
        self.count = len(every)
        # those that give the film the same surface side by side: who tries one knows it for the next
        groups = list(dict.fromkeys(film_keys(change.keys) for _, change in every))
        self.left = sorted(every, key=lambda one: groups.index(film_keys(one[1].keys)))
        self.results: dict[int, Tried | None] = {}  # by the changes' own order

    def more(self, seconds: float = SLICE_S) -> dict[str, Any]:
        """Try changes for about ``seconds``, from both ends where this process has a helper.

        The answer has the steps that gain so far, how many were tried, and whether that is all.
        """
        end = time.monotonic() + seconds
        beside, theirs = helper(), None
        while self.left or theirs is not None:
            try:
                if beside is not None and theirs is None and len(self.left) > 1:
                    theirs = self.left.pop()
                    beside.ask(tried, self.found, theirs[1])
                if self.left:
                    self._try(*self.left.pop(0))
                if (
                    beside is not None
                    and theirs is not None
                    and (time.monotonic() > end or not self.left or beside.ready)
                ):
                    result = beside.answer()
                    if isinstance(result, Refused):
                        self._try(*theirs)
                    else:
                        self.results[theirs[0]] = result
                    theirs = None
            except WorkerDied:
                beside = None
            if beside is None and theirs is not None:
                self._try(*theirs)
                theirs = None
            if theirs is None and time.monotonic() > end:
                break
        return {"done": not self.left, "tried": self.count - len(self.left), "next": self._next()}

    def _try(self, number: int, change: Candidate) -> None:
        self.results[number] = tried(self.found, change)

    def _next(self) -> list[dict[str, Any]]:
        results = [result for _, result in sorted(self.results.items()) if result is not None]
        steps = (*self.rescue, *next_steps(self.found, results))
        return [_told(step, self.found.verdict.chance) for step in steps]


@lru_cache(maxsize=KEEP)
def trial(text: str) -> Trial:
    """The trial of a form given as JSON text.

    Raises as :func:`holders.study.study`, and ``Refused`` for a form that is no preset.
    """
    return Trial(text)


def _told(step: Step, now: float) -> dict[str, Any]:
    """A step for the page; one to ``measure`` has no values to use yet."""
    return {
        "text": step.text,
        "now": per_hundred(now if step.now is None else step.now),
        "then": per_hundred(step.chance),
        "gain": round(step.gain, 4),
        "minutes": round(step.minutes, 1),
        "cost": None if step.cost is None else round(step.cost, 2),
        "hidden_mm2": round(step.hidden_mm2, 1),
        "field": next(iter(step.keys), ""),
        "measure": step.measure,
        "by_hand": step.by_hand,
        "values": values_of(step.preset, "the step"),
    }
