"""A holder begun afresh for the form's film, way of making and flatbed: what was set by hand stays, all else goes."""

from __future__ import annotations

import copy
from collections.abc import Collection, Mapping
from typing import Any

from holders.core.errors import InputError
from holders.face.page.work.routes import until_made
from holders.face.shared.starts import USUAL, first_values
from holders.facts.tables import material

# the choices themselves; the rest of the film's table is of that one film, which stays with its format
CHOICES = frozenset({"film.format", "route", "bed.name"})
PRINTED_ONLY = ("printer", "split")


def begun_afresh(values: Mapping[str, Any], by_hand: Collection[str]) -> tuple[dict[str, Any], str]:
    """The three choices of ``values`` with what is usual for them and what was set ``by_hand``, before anything is
    proposed to hold the film; and what of that had to be left out, in words ("" for nothing).

    ``by_hand`` holds keys (``lip.all_mm``) and tables (``lid``); one that ``values`` has not is left away. Raises
    ``holders.core.errors.InputError`` for a film, bed or way that is not known.
    """
    route = str(values.get("route", ""))
    if route not in USUAL:
        raise InputError("route", route, f"choose one of {', '.join(USUAL)}")
    made = first_values(film_format=_at(values, "film.format"), bed=_at(values, "bed.name"), route=route)
    own = _at(values, "material.name") if "material.name" in by_hand else made["material"]["name"]
    if own and route in material(own).routes:
        made["material"] = {"name": own}
    for path in sorted(set(by_hand) - CHOICES):
        table = path.partition(".")[0]
        other_sheet = table == "material" and made["material"]["name"] != _at(values, "material.name")
        value = _at(values, path)
        if value is None or other_sheet or (table in PRINTED_ONLY and route != "print"):
            continue
        _put(made, path, value)
    brought, gone, holder = until_made(made)
    if holder is None:
        return made, ""
    return brought, f"left out: {', '.join(gone)}" if gone else ""


def _at(values: Mapping[str, Any], path: str) -> Any:
    here: Any = values
    for name in path.split("."):
        here = here.get(name) if isinstance(here, Mapping) else None
    return here


def _put(made: dict[str, Any], path: str, value: Any) -> None:
    table, _, key = path.partition(".")
    if key:
        made.setdefault(table, {})[key] = copy.deepcopy(value)
    elif isinstance(value, Mapping):
        made[table] = {**copy.deepcopy(dict(value)), **made.get(table, {})}
    else:
        made[table] = copy.deepcopy(value)
