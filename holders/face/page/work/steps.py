"""Next steps of the form's holder, tried a few at a time, so that a newer question never waits long."""

from __future__ import annotations

import json
import time
from collections.abc import Iterator
from functools import lru_cache
from typing import Any

from holders.core.lines import Candidate
from holders.face.page.form.values import text_of, values_of
from holders.search.candidates import candidates
from holders.search.rescued import with_rescue
from holders.search.tried import Tried, next_steps, tried
from holders.study import study
from holders.verdict.judge import per_hundred
from holders.verdict.model import Step

SLICE_S = 0.8  # of one answer; at least one change is tried in each
KEEP = 8  # forms whose trials are kept, so that undo has its steps at once


class Trial:
    """The changes to one form that are tried so far."""

    def __init__(self, text: str) -> None:
        preset_text, preset = text_of(json.loads(text))
        self.found = study(preset, preset_text)
        self.rescue = with_rescue(self.found).verdict.next  # of the holder whose ledge the form has
        self.results: list[Tried] = []
        self.count = 0
        self.left: Iterator[Candidate] = candidates(self.found)
        self.done = False

    def more(self, seconds: float = SLICE_S) -> dict[str, Any]:
        """Try changes for about ``seconds``; the steps that gain so far, how many were tried, whether that is all."""
        end = time.monotonic() + seconds
        while not self.done:
            change = next(self.left, None)
            if change is None:
                self.done = True
                break
            self.count += 1
            if (result := tried(self.found, change)) is not None:
                self.results.append(result)
            if time.monotonic() > end:
                break
        return {"done": self.done, "tried": self.count, "next": self._next()}

    def _next(self) -> list[dict[str, Any]]:
        steps = (*self.rescue, *next_steps(self.found, self.results))
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
