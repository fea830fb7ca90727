"""What each way of making asks of this film on this flatbed: hours and grams, or sheets and minutes of cutting."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
from typing import Any

from holders.core.errors import HoldersError
from holders.design.held.film_in_holder import designed
from holders.design.model import Design
from holders.face.page.form.form import form
from holders.face.page.form.values import Refused, preset_of
from holders.preset.resolve import Job
from holders.search.effort import effort_of
from holders.study import job_of, on_sheets
from holders.workshop.nest.nest_job import Nested

ROUTES = ("print", "laser", "knife")
SHORT_MIN = 90.0  # up to here in minutes, beyond in hours


def effort_by_route(values: Mapping[str, Any]) -> dict[str, str]:
    """Words for each way of making that ``values`` has not chosen, as a first plain holder with neither feet nor lid.

    "" where the film cannot be held that way.
    """
    return {route: _plain(values, route) for route in ROUTES if route != values.get("route")}


def effort_words(job: Job, made: Design, nested: Sequence[Nested]) -> str:
    """Hours and grams, or sheets and the time of cutting, and the price where one is known."""
    effort = effort_of(job, made, nested)
    amount = []
    if effort.grams is not None:
        amount = [_time(effort.minutes), f"{effort.grams:.0f} g"]
    elif effort.sheets is not None:
        amount = [f"{effort.sheets} {'sheet' if effort.sheets == 1 else 'sheets'}", _time(effort.minutes)]
    return ", ".join([*amount, *([f"cost {effort.cost:.2f}"] if effort.cost is not None else [])])


def _plain(values: Mapping[str, Any], route: str) -> str:
    usual = form()["usual"]
    plain: dict[str, Any] = {
        "title": "first holder",
        "route": route,
        "film": {"format": values.get("film", {}).get("format")},
        "bed": values.get("bed", {}),
        "material": {"name": usual["material"][route]},
    }
    if route == "print":
        plain["printer"] = {"name": usual["printer"].get(plain["bed"].get("name"))}
    try:
        job = job_of(preset_of(plain))[0]
        made, _ = designed(job, ranges=False, draft=True)
        nested, _ = on_sheets(job, made)
        return effort_words(job, made, nested)
    except (HoldersError, Refused):
        return ""


def _time(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < SHORT_MIN else f"{minutes / 60:.0f} h"
