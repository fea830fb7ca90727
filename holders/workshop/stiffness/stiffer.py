"""What would make a frame on feet hang less: tried on the design itself, so that only what helps is named."""

from __future__ import annotations

from collections.abc import Callable
from dataclasses import replace
from typing import Any

from holders.core.errors import InputError
from holders.design.model import Design
from holders.design.resolve import design
from holders.preset.resolve import Job
from holders.workshop.stiffness.standing import Hanging, hanging

FEET = (6, 8)  # an odd one more stands on one side only
THICKER_MM = (1.0, 2.0, 3.0, 4.0, 6.0)


def cures(job: Job, made: Design, good: Callable[[Hanging], bool]) -> tuple[str, ...]:
    """In words, each way out that brings the sag to where ``good`` wants it: feet, thickness, stiffness."""
    ways = [_more_feet(job, made, good), _thicker(job, made, good), _stiffer(job, made, good)]
    return tuple(way for way in ways if way)


def _more_feet(job: Job, made: Design, good: Callable[[Hanging], bool]) -> str:
    feet = job.preset.feet
    for count in (n for n in FEET if n > len(made.feet)):
        if feet is not None and _holds(_with(job, "feet", count=count), good):
            return f"{count} feet"
    return ""


def _thicker(job: Job, made: Design, good: Callable[[Hanging], bool]) -> str:
    for more in THICKER_MM:
        if job.preset.lid is not None:
            name, value = "lid.thickness_mm", job.preset.lid.thickness_mm + more
        else:
            name, value = "layout.pocket_depth_mm", made.pocket_depth + more
        table, key = name.split(".")
        if _holds(_with(job, table, **{key: round(value, 2)}), good):
            return f"a thicker frame, {name} = {value:.1f}"
    return ""


def _stiffer(job: Job, made: Design, good: Callable[[Hanging], bool]) -> str:
    for times in (1.5, 2.0, 3.0, 4.0):
        stiff = job.material.model_copy(update={"modulus_mpa": times * job.material.modulus_mpa})
        if _good(replace(job, material=stiff), made, good):
            return f"a material {times:g} times as stiff"
    return ""


def _with(job: Job, table: str, **changes: Any) -> Job:
    old = getattr(job.preset, table)
    return replace(job, preset=job.preset.model_copy(update={table: old.model_copy(update=changes)}))


def _holds(job: Job, good: Callable[[Hanging], bool]) -> bool:
    try:
        # finding seams takes longest, and a frame hangs no less for being cut: whole ones are tried first
        if not _good(job, design(job, uncut=True), good):
            return False
        cut = design(job)
        return not cut.seams or _good(job, cut, good)
    except InputError:
        return False


def _good(job: Job, made: Design, good: Callable[[Hanging], bool]) -> bool:
    found = hanging(job, made)
    return found is not None and good(found)
