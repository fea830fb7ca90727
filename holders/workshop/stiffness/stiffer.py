"""What would make a frame on feet hang less: tried on the design itself, so that only what helps is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from functools import partial

from holders.core.errors import InputError
from holders.design.model import Design
from holders.design.resolve import design
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset
from holders.workshop.stiffness.standing import Hanging, hanging

FEET = (6, 8)  # an odd one more stands on one side only
THICKER_MM = (1.0, 2.0, 3.0, 4.0, 6.0)


class Trials:
    """What a holder would do with more feet, thicker or of stiffer material; each way is tried once, when asked for."""

    def __init__(self, job: Job, made: Design) -> None:
        self.job, self.made = job, made
        self._hung: dict[tuple[str, float, bool], Hanging | None] = {}

    def cures(self, good: Callable[[Hanging], bool]) -> tuple[str, ...]:
        """In words, each cure that brings the sag to where ``good`` wants it: feet, thickness, stiffness."""
        ways = [self._more_feet(good), self._thicker(good), self._stiffer(good)]
        return tuple(way for way in ways if way)

    def _more_feet(self, good: Callable[[Hanging], bool]) -> str:
        for count in (n for n in FEET if n > len(self.made.feet)):
            if self.job.preset.feet is not None and self._holds("feet.count", count, good):
                return f"{count} feet"
        return ""

    def _thicker(self, good: Callable[[Hanging], bool]) -> str:
        fitted = next((one.stiff_key for one in self.made.fitted if one.stiff_key), "")
        name = fitted or "layout.pocket_depth_mm"
        now = _now(self.job.preset, fitted) if fitted else self.made.pocket_depth
        for value in (now + more for more in THICKER_MM):
            if self._holds(name, round(value, 2), good):
                return f"a thicker frame, {name} = {value:.1f}"
        return ""

    def _stiffer(self, good: Callable[[Hanging], bool]) -> str:
        material = self.job.material
        for times in (1.5, 2.0, 3.0, 4.0):
            across = material.modulus_across_mpa
            stiff = material.model_copy(
                update={
                    "modulus_mpa": times * material.modulus_mpa,
                    "modulus_across_mpa": None if across is None else times * across,
                }
            )
            tried = partial(hanging, replace(self.job, material=stiff), self.made)
            if self._good(("stiff", times, False), tried, good):
                return f"a material {times:g} times as stiff"
        return ""

    def _holds(self, name: str, value: float, good: Callable[[Hanging], bool]) -> bool:
        job = _with(self.job, name, value)
        # finding seams takes longest, and a frame hangs no less for being cut: whole ones are tried first
        whole = self._good((name, value, True), lambda: hanging(job, design(job, uncut=True)), good)
        return whole and self._good((name, value, False), lambda: hanging(job, design(job)), good)

    def _good(
        self,
        what: tuple[str, float, bool],
        tried: Callable[[], Hanging | None],
        good: Callable[[Hanging], bool],
    ) -> bool:
        if what not in self._hung:
            try:
                self._hung[what] = tried()
            except InputError:  # it cannot be made so
                self._hung[what] = None
        found = self._hung[what]
        return found is not None and good(found)


def _now(preset: PlainPreset, name: str) -> float:
    table, key = name.split(".")
    return float(getattr(getattr(preset, table), key))


def _with(job: Job, name: str, value: float) -> Job:
    table, key = name.split(".")
    old = getattr(job.preset, table)
    return replace(job, preset=job.preset.model_copy(update={table: old.model_copy(update={key: value})}))
