"""The film record: curls measured on several films of one kind, in a small readable file that presets can name."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator, model_validator

from holders.core.errors import InputError
from holders.core.plain_text import ONE_LINE
from holders.core.toml_text import quoted
from holders.measure.files import line_of_measured
from holders.measure.record_file import RecordFile

MAX_NOTE = 400
HEAD = """# Curl measured on films of one kind: one [[measured]] table for each film.
# across_per_m, along_per_m: 1 over the radius in metres, across the film (stood on its short side) and along it
# (stood on its long side); positive: hollow toward the emulsion. *_sigma_per_m: standard deviation of each.
# date, humidity_percent and temperature_c: of the room when it was measured. Curl belongs to that humidity.
"""
STARTS = "`holders curl SCAN... --hollow emulsion --record FILE` starts a record"
WANTED = {
    "date": "date: a day such as 2026-11-25, without quotes",
    "across_per_m": "across_per_m: curl across the film, -300 to 300",
    "across_sigma_per_m": "across_sigma_per_m: its standard deviation, above 0, at most 100",
    "along_per_m": "along_per_m: curl along the film, -300 to 300",
    "along_sigma_per_m": "along_sigma_per_m: its standard deviation, above 0, at most 100",
    "format": 'format: the film\'s format in quotes, such as "8x10"; or leave it out',
    "base": 'base: the film\'s base in quotes, such as "polyester"; or leave it out',
    "humidity_percent": "humidity_percent: relative humidity of the room, 0 to 100; or leave it out",
    "temperature_c": "temperature_c: of the room, -10 to 60; or leave it out",
    "note": f"note: text in quotes, at most {MAX_NOTE} letters, on one line, without control characters",
}
Way = Literal["along", "across"]


class MeasuredCurl(BaseModel):
    """Curl of one film, per metre, positive toward the emulsion: across it (stood on its short side), along it, or
    both; with the day and, if known, the room's relative humidity (%) and temperature (°C).
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    date: dt.date
    across_per_m: float | None = Field(default=None, ge=-300, le=300)
    across_sigma_per_m: float | None = Field(default=None, gt=0, le=100)
    along_per_m: float | None = Field(default=None, ge=-300, le=300)
    along_sigma_per_m: float | None = Field(default=None, gt=0, le=100)
    format: Annotated[str, ONE_LINE] = Field(default="", max_length=40)
    base: Annotated[str, ONE_LINE] = Field(default="", max_length=40)
    humidity_percent: float | None = Field(default=None, ge=0, le=100)
    temperature_c: float | None = Field(default=None, ge=-10, le=60)
    note: Annotated[str, ONE_LINE] = Field(default="", max_length=MAX_NOTE)

    @field_validator(
        "across_per_m", "across_sigma_per_m", "along_per_m", "along_sigma_per_m", "humidity_percent", "temperature_c",
        mode="before",
    )  # fmt: skip
    @classmethod
    def _number(cls, value: object) -> object:
        if isinstance(value, bool) or (isinstance(value, float) and not math.isfinite(value)):
            raise ValueError("not a finite number")
        return value

    @model_validator(mode="after")
    def _whole(self) -> MeasuredCurl:
        for value, sigma in (
            (self.across_per_m, self.across_sigma_per_m),
            (self.along_per_m, self.along_sigma_per_m),
        ):
            if (value is None) != (sigma is None):
                raise ValueError("a curl needs its sigma beside it")
        if self.across_per_m is None and self.along_per_m is None:
            raise ValueError("neither across_per_m nor along_per_m is given")
        return self


class FilmRecord(BaseModel):
    """All films of a record, in the order of the file."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    measured: tuple[MeasuredCurl, ...] = ()


def load_film_record(path: str | Path) -> FilmRecord:
    """Read a film record.

    Raises
    ------
    InputError
        Missing, too large, not TOML, or a measurement that cannot be true (line, key and value are named).
    """
    return FILE.load(path)


def _refusal(error: ValidationError, text: str, name: str) -> InputError:
    """The most telling complaint: place, key, value and what would do."""
    found = sorted(error.errors(include_url=False), key=lambda item: item["type"] != "extra_forbidden")
    first = found[0]
    loc = first["loc"]
    place = next((part for part in loc if isinstance(part, int)), None)
    key = str(loc[-1]) if loc and (place is None or len(loc) > 2) else "measured"
    line = None if place is None else line_of_measured(text, place, key)
    value: object = "(missing)" if first["type"] == "missing" else first["input"]
    if isinstance(value, dict):
        value = str(first["msg"]).removeprefix("Value error, ")
    elif isinstance(value, list):
        value = "a list"
    way_out = f"give {WANTED.get(key, 'across_per_m or along_per_m, each with its sigma, and date')}"
    if first["type"] == "extra_forbidden":
        way_out = f"there is no such key; a measurement has {', '.join(WANTED)}: correct or remove it"
        if place is None:
            way_out = "there is no such key; a record holds [[measured]] tables only"
    number = "" if place is None else f" of measurement {place + 1}"
    return InputError(f"{key}{number}", value, way_out, file=name, line=line)


def append_curl(path: str | Path, new: MeasuredCurl) -> FilmRecord:
    """Add a film; the file is written beside the old one and renamed, so that it is whole at any moment.

    What a person wrote into the file (comments, order) stays. Raises InputError as ``load_film_record``, MachineError
    where the folder cannot be written.
    """
    return FILE.append(path, as_toml(new), lambda old: FilmRecord(measured=(*old.measured, new)))


def as_toml(film: MeasuredCurl) -> str:
    """One film as a table; what is not known is left out."""
    lines = ["[[measured]]"]
    for key in WANTED:
        value = getattr(film, key)
        if value is None or value == "":
            continue
        if isinstance(value, str):
            value = quoted(value)
        lines.append(f"{key} = {value}")
    return "\n".join(lines) + "\n"


def curl_range(record: FilmRecord, way: Way) -> tuple[float, float, float] | None:
    """Least, usual and greatest curl per metre of the films of a record; None where none was measured that way.

    Least and greatest reach two standard deviations beyond the films; usual is the median film.
    """
    pairs = [
        (getattr(film, f"{way}_per_m"), getattr(film, f"{way}_sigma_per_m"))
        for film in record.measured
        if getattr(film, f"{way}_per_m") is not None
    ]
    if not pairs:
        return None
    values = sorted(v for v, _ in pairs)
    half = len(values) // 2
    usual = values[half] if len(values) % 2 else 0.5 * (values[half - 1] + values[half])
    return min(v - 2 * s for v, s in pairs), usual, max(v + 2 * s for v, s in pairs)


FILE = RecordFile(FilmRecord, "film record", STARTS, HEAD, "film", _refusal)
