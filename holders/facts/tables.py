"""Looking rows up: ``table("beds")`` and ``find("beds", "a4-wide")``. Read once, never written."""

from __future__ import annotations

import difflib
import tomllib
from collections.abc import Mapping
from functools import cache
from importlib import resources
from types import MappingProxyType
from typing import TypeVar

from holders.core.errors import InputError
from holders.facts.models import (
    Bar,
    Bed,
    Fact,
    FilmBase,
    FilmFormat,
    Finish,
    Hazard,
    Lamp,
    Material,
    Paper,
    Printer,
    Process,
    Target,
)

MODELS: Mapping[str, type[Fact]] = MappingProxyType(
    {
        "formats": FilmFormat,
        "bases": FilmBase,
        "materials": Material,
        "beds": Bed,
        "printers": Printer,
        "papers": Paper,
        "processes": Process,
        "lamps": Lamp,
        "finishes": Finish,
        "hazards": Hazard,
        "targets": Target,
        "bars": Bar,
    }
)

T = TypeVar("T", bound=Fact)


@cache
def table(name: str) -> tuple[Fact, ...]:
    """All rows of one trade table, in the order of its data file.

    Raises ``KeyError`` for a table that does not exist (a bug in the caller, not user input).
    """
    model = MODELS[name]
    text = resources.files("holders.facts").joinpath("data", f"{name}.toml").read_text(encoding="utf-8")
    return tuple(model.model_validate(row) for row in tomllib.loads(text)["row"])


def keys(name: str) -> tuple[str, ...]:
    """The keys of a table's rows."""
    return tuple(row.key for row in table(name))


def nearest(word: str, known: tuple[str, ...] | list[str]) -> str | None:
    """The known word most like ``word``, or None when nothing is close."""
    close = difflib.get_close_matches(word.lower(), known, n=1, cutoff=0.6)
    return close[0] if close else None


def absent(name: str, word: str) -> str:
    """What to do for a thing that a table has no row for on purpose, by one of its words; "" for any other word."""
    return _absent().get(name, {}).get(word.lower(), "")


@cache
def _absent() -> Mapping[str, Mapping[str, str]]:
    text = resources.files("holders.facts").joinpath("data", "absent.toml").read_text(encoding="utf-8")
    return {
        name: {word: row["way_out"] for row in rows for word in row["words"]}
        for name, rows in tomllib.loads(text).items()
    }


def find(name: str, key: str, model: type[T], *, field: str) -> T:
    """The row of table ``name`` called ``key``; ``field`` names the user's key in the error.

    Raises
    ------
    InputError
        With what to do instead for a thing that has no row on purpose, else the nearest known key, or the command
        that lists them.
    """
    for row in table(name):
        if row.key == key and isinstance(row, model):
            return row
    instead = absent(name, key)
    if instead:
        raise InputError(field, key, instead)
    close = nearest(key, keys(name))
    hint = f'did you mean "{close}"? ' if close else ""
    raise InputError(field, key, f"{hint}`holders list {name}` shows every name that exists")


def bed(key: str, field: str = "bed.name") -> Bed:
    """A bed by key."""
    return find("beds", key, Bed, field=field)


def film_format(key: str, field: str = "film.format") -> FilmFormat:
    """A film format by key."""
    return find("formats", key, FilmFormat, field=field)


def film_base(key: str, field: str = "base.name") -> FilmBase:
    """A film base by key."""
    return find("bases", key, FilmBase, field=field)


def material(key: str, field: str = "material.name") -> Material:
    """A holder material by key."""
    return find("materials", key, Material, field=field)


def printer(key: str, field: str = "printer.name") -> Printer:
    """A printer by key."""
    return find("printers", key, Printer, field=field)


def paper(key: str, field: str = "paper") -> Paper:
    """A paper size by key."""
    return find("papers", key, Paper, field=field)


def process(key: str, field: str = "route") -> Process:
    """A route's process rules by key."""
    return find("processes", key, Process, field=field)


def lamp(key: str, field: str = "bed.lamp") -> Lamp:
    """A lamp by key."""
    return find("lamps", key, Lamp, field=field)


def finish(key: str, field: str = "material.finish") -> Finish:
    """A finish by key."""
    return find("finishes", key, Finish, field=field)


def hazard(key: str, field: str = "hazard") -> Hazard:
    """A hazard by key."""
    return find("hazards", key, Hazard, field=field)


def target(key: str, field: str = "--target") -> Target:
    """A focus target by key."""
    return find("targets", key, Target, field=field)


def bar(key: str, field: str = "bars.sides") -> Bar:
    """A steel bar by key."""
    return find("bars", key, Bar, field=field)
