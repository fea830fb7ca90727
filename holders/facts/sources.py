"""Where each value of a row comes from: a status word and a source for every number.

A data file writes ``[row.sources]`` with one line a value, or for several values of one source::

    [row.sources]
    thickness_mm = "read: data sheet TI2375, section 1"
    "modulus_low_mpa, modulus_high_mpa" = "from memory"
    lamp_rise_k = "measure it: tape a thermometer under the holder and read it after an hour of scanning"

A row whose values share one source may write ``source`` and ``status`` instead; both together give the default for
the values that ``[row.sources]`` does not name.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from typing import Any, Literal, get_args

from pydantic import BaseModel, ConfigDict

Status = Literal[
    "measured",  # set in a preset or a bed's record: never in a data file
    "read",  # seen in the named source
    "read second-hand",  # seen in a quotation or copy of the named source
    "computed",  # worked out by arithmetic from other rows
    "from memory",  # known, not looked up
    "common practice, no source",
    "invented",  # a generic stand-in of ours, to be overridden by a measured value
    "measure it",  # a stand-in: nobody has published it, or it differs from one to the next; the source says how
]
STRONG_TO_WEAK: tuple[Status, ...] = get_args(Status)


class Source(BaseModel):
    """Where one value comes from; for "measure it", how to measure it."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    value: str  # the key of the value in its row
    status: Status
    text: str


def weakest(sources: Iterable[Source]) -> Status:
    """The weakest status word of some values. Raises ``ValueError`` where there is none."""
    return max((source.status for source in sources), key=STRONG_TO_WEAK.index)


def in_words(sources: Iterable[Source]) -> str:
    """All sources in one text, values of one source together, the strongest first."""
    return "; ".join(
        f"{', '.join(source.value for source in alike)}: {said(alike[0])}" for alike in grouped(sources)
    )


def said(source: Source) -> str:
    """Status word and text of one source."""
    return f"{source.status}: {source.text}" if source.text else source.status


def grouped(sources: Iterable[Source]) -> list[list[Source]]:
    """Sources that say the same together, the strongest first."""
    groups: dict[tuple[int, str], list[Source]] = {}
    for source in sources:
        groups.setdefault((STRONG_TO_WEAK.index(source.status), source.text), []).append(source)
    return [groups[key] for key in sorted(groups, key=lambda key: key[0])]


def number_keys(row: Mapping[str, Any]) -> list[str]:
    """The keys of a row's numbers, lists of numbers included."""
    return [key for key, value in row.items() if _is_number(value)]


def filled(row: Mapping[str, Any], fields: Iterable[str]) -> dict[str, Any]:
    """A row as it is written, with one source for every number, its text and its weakest status.

    Parameters
    ----------
    row:
        As the data file has it, or as a model gives it back.
    fields:
        The keys that a row of this table may have.

    Raises
    ------
    ValueError
        For a number without a source, a source of nothing, an unknown status, and "measure it" without how.
    """
    known = set(fields)
    made: dict[str, Source] = {}
    for source in _written(row.get("sources") or {}):
        if source.value not in known:
            raise ValueError(f"sources: this table has no value {source.value!r}")
        if source.value in made:
            raise ValueError(f"sources: {source.value!r} has two")
        if source.status == "measure it" and not source.text:
            raise ValueError(f"sources: {source.value!r} does not say how to measure it")
        made[source.value] = source
    own_text, own_status = row.get("source"), row.get("status")
    if own_status is not None and own_status not in STRONG_TO_WEAK:
        raise ValueError(f"status: {own_status!r} is none of {', '.join(STRONG_TO_WEAK)}")
    for key in number_keys(row):
        if key in made:
            continue
        if not own_text or not own_status:
            raise ValueError(f"{key} has no source")
        made[key] = Source(value=key, status=own_status, text=own_text)
    sources = tuple(made.values())
    if not sources:  # words only
        return {**row, "sources": sources}
    return {
        **row,
        "source": own_text or in_words(sources),
        "status": weakest(sources),
        "sources": sources,
    }


def _written(sources: object) -> Iterable[Source]:
    """The sources of a data file, of a model, or of a model's plain values."""
    if isinstance(sources, tuple | list):
        yield from (Source.model_validate(source) for source in sources)
        return
    if not isinstance(sources, Mapping):
        raise ValueError("sources: a table of values and their sources")
    for keys, told in sources.items():
        if isinstance(told, Mapping):
            yield Source(value=keys, status=told["status"], text=told["source"])
            continue
        status = next((word for word in reversed(STRONG_TO_WEAK) if _begins(str(told), word)), None)
        if status is None:
            raise ValueError(f"sources: {told!r} does not begin with a status word")
        text = str(told)[len(status) + 1 :].strip()
        for key in str(keys).split(","):
            yield Source(value=key.strip(), status=status, text=text)


def _begins(told: str, word: str) -> bool:
    return told == word or told.startswith(f"{word}:")


def _is_number(value: object) -> bool:
    if isinstance(value, bool):
        return False
    if isinstance(value, int | float):
        return True
    return isinstance(value, tuple | list) and bool(value) and all(_is_number(v) for v in value)
