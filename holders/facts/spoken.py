"""Plain words for rows of the trade tables, as typed on a command line: "8 x 10 in", "35 mm", "plywood", "a4 wide"."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Callable, Mapping
from dataclasses import dataclass
from functools import cache
from importlib import resources
from typing import Any

from holders.core.errors import InputError, printable
from holders.facts.models import Fact
from holders.facts.tables import absent, keys, nearest, table

MOST_NAMED = 8  # choices given with their names; of more only the keys
MOST_LETTERS = 80
SIZE = re.compile(r"(\d+(?:\.\d+)?)x(\d+(?:\.\d+)?)")
THICKNESS = re.compile(
    r"(?<![\w.,/-])(\d{1,4}(?:[.,]\d{1,4})?)\s*(?:mm|millimet(?:er|re)s?)\b", re.IGNORECASE
)
BETWEEN = re.compile(r"\s*(?:(?<!\d),|,(?!\d)|[;&+]|\band\b)\s*", re.IGNORECASE)  # 1,5 is one number
BARE = re.compile(r"\d{1,4}(?:[.,]\d{1,4})?")
WORD = re.compile(r"\"|[\w.]+")
UNITS = {"in": "in", "inch": "in", "inches": "in", '"': "in", "cm": "cm"}


@dataclass(frozen=True, slots=True)
class Spoken:
    """The row that a word means, and what to say of that: "" where the word was the row's own key."""

    key: str
    said: str


def spoken(name: str, word: str, *, field: str, fits: Callable[[Fact], bool] | None = None) -> Spoken:
    """The row of table ``name`` that a plain word means.

    ``field`` names the option in errors; ``fits`` narrows the rows down by what else is known, where that leaves any.

    Raises
    ------
    InputError
        For a word that fits several rows, with their keys and names; or none, with the nearest key, or with what to
        do where a thing has no row on purpose.
    """
    if word in keys(name):
        return Spoken(word, "")
    rows = _meant(name, word[:MOST_LETTERS])
    if fits is not None and len(rows) > 1:
        rows = [row for row in rows if fits(row)] or rows
    if len(rows) == 1:
        return Spoken(rows[0].key, f"{printable(word)}: taken as {_called(rows[0])}")
    if rows:
        return _usual(name, word, rows, field)
    asked = _tokens(word[:MOST_LETTERS])[0]
    instead = absent(name, "-".join(asked))
    if instead:
        raise InputError(field, word, instead)
    close = nearest("-".join(asked) or word, keys(name))
    sizes = [each for each in asked if SIZE.fullmatch(each)]
    like = close and all(size in close for size in sizes)  # another size is not what was meant
    hint = f'did you mean "{close}"? ' if like else ""
    raise InputError(field, word, f"{hint}`holders list {name}` shows every name that exists")


def thickness_apart(word: str) -> tuple[str, tuple[float, ...]]:
    """What is left of the words for a material without thicknesses in mm, and these: "3 mm plywood" has one of 3.0."""
    found = tuple(float(each.replace(",", ".")) for each in THICKNESS.findall(word[:MOST_LETTERS]))
    rest = " ".join(THICKNESS.sub(" ", word[:MOST_LETTERS]).split())
    return (rest, found) if rest and found else (word, ())


def sheets_listed(word: str) -> tuple[tuple[str, tuple[float, ...]], ...]:
    """Names of materials, each with the thicknesses in mm that are listed of it, in the order of the words.

    "3 mm plywood, 2 mm mat board" has plywood with 3.0 and mat board with 2.0. What has no name of its own is of the
    next one, else of the last: "3 and 2 mm plywood" are two sheets of plywood. Without any thickness all of the words
    are one name.
    """
    if not THICKNESS.search(word[:MOST_LETTERS]):
        return ((word, ()),)
    parts = [part for part in BETWEEN.split(word[:MOST_LETTERS]) if part]
    each = [thickness_apart(f"{part} mm ?" if BARE.fullmatch(part) else f"{part} ?") for part in parts]
    named = [(rest.removesuffix("?").strip(), found) for rest, found in each]
    last = next((name for name, _ in reversed(named) if name), "")
    listed: dict[str, tuple[float, ...]] = {}
    for name, found in reversed(named):  # what is without a name is of the one that follows
        last = name or last
        listed[last] = (*found, *listed.get(last, ()))
    return tuple(reversed(listed.items()))


def _usual(name: str, word: str, rows: list[Fact], field: str) -> Spoken:
    """The one of several that is usual, said with the others; else a refusal that lists them."""
    usual = _data()["usual"].get(" ".join(_tokens(word)[0]))
    for row in rows:
        if row.key == usual:
            others = ", ".join(_called(other) for other in rows if other is not row)
            return Spoken(row.key, f"{printable(word)}: taken as {_called(row)}; there is also {others}")
    named = len(rows) <= MOST_NAMED
    each = ", ".join(_called(row) if named else row.key for row in rows)
    more = "" if named else f" (`holders list {name}` says what they are)"
    raise InputError(field, word, f"may be any of these; name one: {each}{more}")


def _called(row: Fact) -> str:
    return f"{row.key} ({row.name})"


def _meant(name: str, word: str) -> list[Fact]:
    """The rows that a word fits; one alone where it is that row's key, hyphens and spaces aside."""
    asked, unit = _tokens(word)
    if not asked:
        return []
    rows = table(name)
    same = [row for row in rows if "".join(_tokens(row.key)[0]) == "".join(asked) and _agrees(row, unit)]
    if len(same) == 1:
        return same
    wanted = set(asked)
    return [row for row in rows if _agrees(row, unit) and wanted <= _words(name, row)]


def _agrees(row: Fact, unit: str) -> bool:
    """Whether a size in that unit can be the row's; without a unit any may be."""
    own = _tokens(f"{row.key} {row.name}")[1]
    return not unit or not own or own == unit


def _words(name: str, row: Fact) -> set[str]:
    """Every word that a row goes by."""
    found = {*_tokens(row.key)[0], *_tokens(row.name)[0]}
    for by, words in _data().get(name, {}).items():
        found |= set(words.get(getattr(row, by), ()))
    found |= {each.removesuffix("mm") for each in found}
    return found | {each[1:] for each in found if re.fullmatch(r"p\d+", each)}


def _tokens(text: str) -> tuple[list[str], str]:
    """The words of a text in plain form, sizes with the smaller number first; the unit of a size: "in", "cm" or ""."""
    plain = text.lower().replace("×", "x").replace("″", '"').replace("”", '"').replace(",", ".")
    plain = re.sub(r"(?<=\d)\s*(?:x|by)\s*(?=\d)", "x", plain)
    plain = re.sub(r"(?<=\d)\s*(mm|cm|inches|inch|in|\")(?![a-z])", r"\1 ", plain)
    plain = re.sub(r"(?<=\d)(cm|inches|inch|in|\")", r" \1", plain)
    plain = re.sub(r"\"x(?=\d)", "x", plain)
    words, unit = [], ""
    for each in (found.strip(".") for found in WORD.findall(plain)):
        if each in UNITS:
            unit = unit or UNITS[each]
        elif size := SIZE.fullmatch(each):
            words.append("x".join(sorted(size.groups(), key=float)))
        elif each and each not in _data()["drop"]:
            words.append(each)
    return words, unit


@cache
def _data() -> Mapping[str, Any]:
    text = resources.files("holders.facts").joinpath("data", "spoken.toml").read_text(encoding="utf-8")
    return tomllib.loads(text)
