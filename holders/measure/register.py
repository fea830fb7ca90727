"""The register of the holders that were made: which, when, how high their ledges came out, what put them right."""

from __future__ import annotations

import datetime as dt
import os
import tomllib
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError, model_validator

from holders.core.atomic_write import replace_file
from holders.core.errors import InputError
from holders.core.plain_text import ONE_LINE
from holders.core.toml_text import TooDeep, parsed, quoted
from holders.measure.files import unreadable

MAX_BYTES = 2 * 2**20
MOST_KEYS = 50_000
HEAD = """# Holders that were made: [[holder]] for each reading of a ledge, [[empty]] for each scan without film.
# ledge_mm: above a flat glass at left, right, head and foot. expected_mm: what the design promised.
# made: the day the holder was made, where that is known.
# edges_stops: how much lighter each window is along left, right, head and foot of the scan than beside them.
"""
STARTS = "`holders measured PRESET LEFT RIGHT HEAD FOOT --register FILE` starts one"
Line = Annotated[str, ONE_LINE]
Height = Annotated[float, Field(ge=-5, le=60, allow_inf_nan=False)]


class MadeHolder(BaseModel):
    """One holder: its code, its preset and bed by name, the day of its readings, and the heights of its ledge, mm.

    ``made`` is the day on which the holder itself was made; None where nobody said.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    code: Line = Field(max_length=20)
    preset: Line = Field(max_length=200)
    bed: Line = Field(max_length=200)
    date: dt.date
    made: dt.date | None = None
    ledge_mm: tuple[Height, Height, Height, Height]
    expected_mm: Height
    chance: float = Field(ge=0, le=1)
    rescue: Line = Field(default="", max_length=1000)

    @model_validator(mode="after")
    def _made_before_it_was_measured(self) -> MadeHolder:
        if self.made is not None and self.made > self.date:
            raise ValueError(f"a holder measured on {self.date} cannot have been made on {self.made}")
        return self


Stops = Annotated[float, Field(ge=-10, le=10, allow_inf_nan=False)]
EdgeStops = tuple[Stops, Stops, Stops, Stops]


class EmptyLight(BaseModel):
    """What a scan of one empty holder showed: how much lighter each window is along its edges than beside them, stops.

    ``edges_stops`` has left, right, head and foot of the scan as shown, for each window that was found, by ``windows``.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    code: Line = Field(max_length=20)
    date: dt.date
    scan: Line = Field(max_length=200)
    windows: tuple[Annotated[int, Field(ge=1, le=1000)], ...]
    edges_stops: tuple[EdgeStops, ...]

    @model_validator(mode="after")
    def _each_has_its_edges(self) -> EmptyLight:
        if len(self.windows) != len(self.edges_stops):
            raise ValueError("windows and edges_stops differ in length")
        return self


class Register(BaseModel):
    """All entries, in the order of the file."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    holder: tuple[MadeHolder, ...] = ()
    empty: tuple[EmptyLight, ...] = ()

    def made(self, code: str) -> MadeHolder | None:
        """The latest readings of the holder of that code."""
        return next((one for one in reversed(self.holder) if one.code == code), None)

    def made_on(self, code: str) -> dt.date | None:
        """The day that holder was made, as it was last said; None where nobody did."""
        said = (one.made for one in reversed(self.holder) if one.code == code and one.made is not None)
        return next(said, None)

    def light_of(self, code: str) -> EmptyLight | None:
        """The latest scan of the empty holder of that code; none from before the day that holder was made."""
        made = self.made_on(code)
        found = (
            one for one in reversed(self.empty) if one.code == code and (made is None or one.date >= made)
        )
        return next(found, None)


def load_register(path: str | Path) -> Register:
    """Read a register.

    Raises ``InputError`` where the file is missing, too large, or no register (table and key are named).
    """
    name = os.fspath(path)
    try:
        with Path(name).open("rb") as stream:
            data = stream.read(MAX_BYTES + 1)
        text = data.decode("utf-8")
    except (OSError, UnicodeDecodeError, ValueError) as error:
        raise unreadable("register", name, error, STARTS) from error
    if len(data) > MAX_BYTES:
        raise InputError("register", name, f"larger than {MAX_BYTES // 2**20} MiB, so it is none")
    return _read(text, name)


def _read(text: str, name: str) -> Register:
    try:
        return Register.model_validate(parsed(text, MOST_KEYS))
    except ValidationError as error:
        first = error.errors(include_url=False)[0]
        where = ".".join(str(part) for part in first["loc"])
        raise InputError(
            "register", where, f"{first['msg']}; correct it, or move the file away", file=name
        ) from error
    except (tomllib.TOMLDecodeError, TooDeep, RecursionError, ValueError) as error:
        raise InputError("register", name, f"is no register; {STARTS}") from error


def append_holder(path: str | Path, new: MadeHolder | EmptyLight) -> Register:
    """Add an entry at the end; what stands in the file, comments too, stays. Raises as :func:`load_register`."""
    file, name = Path(path), os.fspath(path)
    old = load_register(file) if file.exists() else Register()
    text = file.read_text(encoding="utf-8") if file.exists() else HEAD
    text = text.rstrip("\n") + "\n\n" + as_toml(new)
    table = "holder" if isinstance(new, MadeHolder) else "empty"
    grown = old.model_copy(update={table: (*getattr(old, table), new)})
    if _read(text, name) != grown:
        raise InputError("register", name, "an entry cannot be added at its end; put tables last")
    replace_file(file, text.encode())
    return grown


def as_toml(made: MadeHolder | EmptyLight) -> str:
    """One entry as a table."""
    if isinstance(made, EmptyLight):
        edges = ", ".join(f"[{', '.join(repr(value) for value in four)}]" for four in made.edges_stops)
        return (
            f"[[empty]]\ncode = {quoted(made.code)}\ndate = {made.date.isoformat()}\nscan = {quoted(made.scan)}\n"
            f"windows = [{', '.join(map(str, made.windows))}]\nedges_stops = [{edges}]\n"
        )
    plain = {key: quoted(getattr(made, key)) for key in ("code", "preset", "bed", "rescue")}
    heights = ", ".join(repr(value) for value in made.ledge_mm)
    day = "" if made.made is None else f"made = {made.made.isoformat()}\n"
    return (
        f"[[holder]]\ncode = {plain['code']}\npreset = {plain['preset']}\nbed = {plain['bed']}\n"
        f"date = {made.date.isoformat()}\n{day}ledge_mm = [{heights}]\nexpected_mm = {made.expected_mm!r}\n"
        f"chance = {made.chance!r}\nrescue = {plain['rescue']}\n"
    )
