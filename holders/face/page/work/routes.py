"""What each way of making asks of the holder in the form, and that holder made the other way."""

from __future__ import annotations

import copy
from collections.abc import Collection, Mapping, Sequence
from typing import Any

from holders.core.errors import HoldersError, InputError
from holders.design.held.film_in_holder import designed
from holders.design.model import Design
from holders.face.page.form.form import form
from holders.face.page.form.values import OPTIONAL, Refused, preset_of
from holders.face.page.form.words import label_of
from holders.face.shared.starts import STARTS
from holders.facts.tables import material
from holders.preset.resolve import Job
from holders.search.effort import effort_of
from holders.study import job_of, on_sheets
from holders.workshop.nest.nest_job import Nested

ROUTES = ("print", "laser", "knife")
SHORT_MIN = 90.0  # up to here in minutes, beyond in hours
MOST = 12  # keys that may have to go until the holder can be made the other way
SIZES = (
    "outer_width_mm",
    "outer_length_mm",
    "wall_mm",
    "pocket_depth_mm",
    "corner_radius_mm",
)  # of the layout
PRINTED_ONLY = ("printer", "split")
Made = tuple[Job, Design, Sequence[Nested]]


def effort_by_route(values: Mapping[str, Any], by_hand: Collection[str] = ()) -> dict[str, str]:
    """Words for each way of making that ``values`` has not chosen: what this holder takes when it is made that way, as
    :func:`rerouted` brings it there.

    "" where the film cannot be held that way.
    """
    others = [route for route in ROUTES if route != values.get("route")]
    return {route: effort_for(_tried({**values, "route": route}, by_hand)[0]) for route in others}


def effort_for(values: Mapping[str, Any]) -> str:
    """What the holder of the form's values takes, as the page says it of that holder once it stands there; "" where
    it cannot be made.
    """
    try:
        job = job_of(preset_of(_titled(values)))[0]
        made, _ = designed(job, ranges=False)
    except (HoldersError, Refused):
        return ""
    return effort_words(job, made, on_sheets(job, made)[0])


def _titled(values: Mapping[str, Any]) -> Mapping[str, Any]:
    """The values with the title that the page gives a holder without one: it is written on it."""
    if values.get("title") is not None:
        return values
    films = {row["key"]: row["name"] for row in form()["rows"]["formats"]}
    film = values.get("film")
    name = films.get(film.get("format"), "holder") if isinstance(film, Mapping) else "holder"
    return {"title": f"{name}, {form()['usual']['route_words'].get(values.get('route'), '')}", **values}


def effort_words(job: Job, made: Design, nested: Sequence[Nested]) -> str:
    """Hours and grams, or sheets and the time of cutting, and the price where one is known."""
    effort = effort_of(job, made, nested)
    amount = []
    if effort.grams is not None:
        amount = [_time(effort.minutes), f"{effort.grams:.0f} g"]
    elif effort.sheets is not None:
        amount = [f"{effort.sheets} {'sheet' if effort.sheets == 1 else 'sheets'}", _time(effort.minutes)]
    return ", ".join([*amount, *([f"cost {effort.cost:.2f}"] if effort.cost is not None else [])])


def rerouted(values: Mapping[str, Any], by_hand: Collection[str] = ()) -> tuple[dict[str, Any], str]:
    """The form's values with what must change for the way of making they ask for, and that in words ("" for nothing).

    Material and printer are the usual ones, parts whose usual sizes differ between the ways (lid, feet) begin with
    those but for the keys set ``by_hand``, a key that the holder is still refused for goes, and a shipped preset's
    title and note stay its own. Of a holder that cannot be made that way the values come back as far as they were
    brought; designing them says why.
    """
    made, said, _ = _tried(values, by_hand)
    return made, said


def _tried(
    values: Mapping[str, Any], by_hand: Collection[str] = ()
) -> tuple[dict[str, Any], str, Made | None]:
    """What :func:`rerouted` gives, and the holder that it found can be made."""
    if values.get("route") not in ROUTES:
        return copy.deepcopy(dict(values)), "", None
    begun, fresh = _begun(values, values["route"], by_hand)
    made, gone, holder = until_made(begun)
    if holder is None:
        return made, "", None
    fresh = [title for title in fresh if title not in gone]
    said = [f"{', '.join(fresh)} (the usual ones for this way)"] if fresh else []
    said += [f"left out: {', '.join(gone)}"] if gone else []
    return made, "; ".join(said), holder


def until_made(values: Mapping[str, Any]) -> tuple[dict[str, Any], list[str], Made | None]:
    """The form's values without the keys that the holder is refused for, what these are called, and the holder; None
    where none comes of it.
    """
    made, gone = copy.deepcopy(dict(values)), dict[str, None]()
    for _ in range(MOST):
        try:
            holder = _made(made)
        except Refused as refused:
            error = refused.errors[0]
        except InputError as refusal:
            error = refusal
        else:
            return made, list(gone), holder
        went = _without(made, error.field) or _smaller(made)
        if not went:
            break
        gone[went] = None
    return made, list(gone), None


def _begun(
    values: Mapping[str, Any], route: str, by_hand: Collection[str]
) -> tuple[dict[str, Any], list[str]]:
    """The values with what is usual for a way of making, and the parts that begin fresh."""
    made, usual, fresh = copy.deepcopy(dict(values)), form()["usual"], []
    if made.get("title") in {row["title"] for row in form()["presets"]}:  # it may say how that one is made
        made.pop("title")
        made.pop("note", None)
    if route not in _routes(made):
        made["material"] = {"name": usual["material"][route]}
    if route == "print":
        made.setdefault("printer", {"name": usual["printer"].get(_name(made, "bed"))})
    else:
        for key in PRINTED_ONLY:
            made.pop(key, None)
    for key in sorted(OPTIONAL & made.keys() & STARTS.keys()):
        starts = STARTS[key]
        if route in starts or "print" in starts:
            own = {k: v for k, v in made[key].items() if f"{key}.{k}" in by_hand}
            made[key] = {**copy.deepcopy(starts.get(route) or starts.get("", {})), **own}
            fresh.append(_title(key))
    return made, fresh


def _routes(values: Mapping[str, Any]) -> Sequence[str]:
    try:
        return material(_name(values, "material")).routes
    except HoldersError:
        return ()


def _name(values: Mapping[str, Any], table: str) -> str:
    inner = values.get(table)
    return str(inner.get("name", "")) if isinstance(inner, dict) else ""


def _title(table: str) -> str:
    parts = (part for group in form()["groups"] for part in group["more"])
    return str(next((part["title"] for part in parts if part["optional"] == table), table)).lower()


def _without(made: dict[str, Any], field: str) -> str:
    """Take away what a refusal speaks of; what that was, "" where nothing can go."""
    table, _, key = field.partition(".")
    inner = made.get(table)
    if isinstance(inner, dict) and key in inner and table not in ("film", "bed", "material"):
        del inner[key]
        if not inner and table not in OPTIONAL:
            del made[table]
        return label_of(field).lower()
    if table in OPTIONAL and inner is not None:
        del made[table]
        return _title(table)
    return ""


def _smaller(made: dict[str, Any]) -> str:
    """Take away a size that was meant for another way, where a refusal names what cannot go: film, bed or material."""
    layout = made.get("layout")
    key = next((key for key in SIZES if isinstance(layout, dict) and key in layout), "")
    return _without(made, f"layout.{key}") if key else ""


def _made(values: Mapping[str, Any]) -> Made:
    job = job_of(preset_of({"title": "holder", **values}))[0]
    made, _ = designed(job, ranges=False, draft=True)
    nested, _ = on_sheets(job, made)
    return job, made, nested


def _time(minutes: float) -> str:
    return f"{minutes:.0f} min" if minutes < SHORT_MIN else f"{minutes / 60:.1f} h"
