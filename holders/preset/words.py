"""What people read of a key beside its description: its label, its help on the page, where the form asks for it.

The words stand in the schema, beside the key (``typing.Annotated``); the form, the commented template and the refusals
read them there.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass, field
from types import MappingProxyType
from typing import Annotated, Any

from pydantic.fields import FieldInfo

# ends of keys -> unit as it is written; the longest end that fits counts
UNITS: Mapping[str, str] = MappingProxyType(
    {
        "_kg_m3": "kg/m³",
        "_per_rh": "per %",
        "_percent": "%",
        "_per_m": "per m",
        "_per_k": "per K",
        "_mpa": "MPa",
        "_mm": "mm",
        "_c": "°C",
        "_k": "K",
    }
)


@dataclass(frozen=True, slots=True)
class Words:
    """The words of a key.

    Parameters
    ----------
    label:
        Its name on the form; empty for the key itself in plain words.
    help:
        A sentence below it, where the schema's description does not serve.
    choices:
        Value to the words that stand for it.
    asked:
        The question of the form that asks everyone for it, and at which place; None for those who measured.
    hidden:
        Left out of the form.
    """

    label: str = ""
    help: str = ""
    choices: Mapping[str, str] = field(default_factory=dict)
    asked: tuple[str, int] | None = None
    hidden: bool = False


@dataclass(frozen=True, slots=True)
class Section:
    """The words of a table, or of a key that stands with a table.

    Parameters
    ----------
    key, title:
        Of the folded list of the form in which its keys stand.
    asked:
        The question of the form that the list belongs to, and at which place.
    intro:
        A sentence at the head of the list.
    heading:
        Over the table in a commented preset; empty for a key.
    """

    key: str
    title: str
    asked: tuple[str, int]
    intro: str = ""
    heading: str = ""


def words_in(info: FieldInfo) -> Words:
    """The words that stand beside a key in the schema; empty ones where none do."""
    return next((one for one in info.metadata if isinstance(one, Words)), Words())


def section_in(info: FieldInfo) -> Section | None:
    """The section that stands beside a table in the schema."""
    return next((one for one in info.metadata if isinstance(one, Section)), None)


def unit_of(key: str) -> str:
    """The unit at the end of a key, as it is written; empty where there is none."""
    return next((unit for end, unit in UNITS.items() if key.endswith(end)), "")


def plain_name(key: str) -> str:
    """A key in plain words, without its unit."""
    end = next((end for end in UNITS if key.endswith(end)), "")
    words = key.removesuffix(end).replace("_", " ")
    return words[:1].upper() + words[1:]


def labelled(kind: Any, words: Words | None) -> Any:
    """A type with its words beside it."""
    return kind if words is None else Annotated[kind, words]
