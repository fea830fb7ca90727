"""The record of a bed: measured focus heights at places on the glass, over time, in a small readable file."""

from __future__ import annotations

import datetime as dt
import math
from pathlib import Path
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from holders.core.errors import InputError
from holders.core.plain_text import ONE_LINE
from holders.core.toml_text import quoted
from holders.measure.bed.distortion import MeasuredDistortion
from holders.measure.bed.distortion import as_toml as distortion_as_toml
from holders.measure.bed.lens import MeasuredLens
from holders.measure.bed.lens import as_toml as lens_as_toml
from holders.measure.files import line_of_measured
from holders.measure.record_file import RecordFile

MAX_NOTE = 400
HEAD = """# Focus heights measured on one bed: one [[measured]] table for each.
# x_mm, y_mm: place on the glass from its home corner. height_mm: above the glass, with its standard deviation sigma_mm.
# band_mm: how far above and below that height the scan was still sharp, where all of it was seen.
# colours_mm: the heights of red, green and blue, where they were seen apart.
"""


STARTS = "`holders focus SCAN... --record FILE --place X Y` starts a record"
WANTED = {
    "x_mm": "x_mm: mm across from the home corner, -50 to 2000",
    "y_mm": "y_mm: mm away from the home corner, -50 to 2000",
    "height_mm": "height_mm: mm above the glass, -20 to 60",
    "sigma_mm": "sigma_mm: standard deviation of the height in mm, above 0, at most 20",
    "band_mm": "band_mm: how far above and below the height it is sharp in mm, above 0, at most 20; or leave it out",
    "colours_mm": "colours_mm: heights of red, green and blue, three numbers in brackets; or leave it out",
    "date": "date: a day such as 2026-11-25, without quotes",
    "dpi": "dpi: pixels per inch of the scan, above 0, at most 50000",
    "note": f"note: text in quotes, at most {MAX_NOTE} letters, on one line, without control characters",
}


Height = Annotated[float, Field(ge=-20, le=60, allow_inf_nan=False, strict=True)]


class Measured(BaseModel):
    """One measurement: place (mm from the home corner), height and sigma (mm above the glass), day, resolution.

    ``band_mm``: how far above and below the height the scan is still sharp; None where that was not seen whole.
    ``colours_mm``: the heights of red, green and blue, where they were seen apart.
    """

    model_config = ConfigDict(frozen=True, extra="forbid")

    x_mm: float = Field(ge=-50, le=2000)
    y_mm: float = Field(ge=-50, le=2000)
    height_mm: float = Field(ge=-20, le=60)
    sigma_mm: float = Field(gt=0, le=20)
    band_mm: float | None = Field(default=None, gt=0, le=20)
    colours_mm: tuple[Height, Height, Height] | None = None
    date: dt.date
    dpi: float = Field(gt=0, le=50000)
    note: Annotated[str, ONE_LINE] = Field(default="", max_length=MAX_NOTE)

    @field_validator("x_mm", "y_mm", "height_mm", "sigma_mm", "band_mm", "dpi", mode="before")
    @classmethod
    def _number(cls, value: object) -> object:
        if isinstance(value, bool):  # else taken for 0 or 1
            raise ValueError("not a number")
        return value

    @field_validator("x_mm", "y_mm", "height_mm", "sigma_mm", "band_mm", "dpi")
    @classmethod
    def _finite(cls, value: float | None) -> float | None:
        if value is not None and not math.isfinite(value):
            raise ValueError("not a finite number")
        return value


class BedRecord(BaseModel):
    """All measurements of one bed, in the order of the file: heights of best focus, its lens's numbers."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    measured: tuple[Measured, ...] = ()
    lens: tuple[MeasuredLens, ...] = ()
    distortion: tuple[MeasuredDistortion, ...] = ()


def load_record(path: str | Path) -> BedRecord:
    """Read a record.

    Raises
    ------
    InputError
        Missing, too large, not TOML, or a measurement that cannot be true (line, key and value are named).
    """
    return FILE.load(path)


def _told(error: ValidationError, text: str, name: str) -> InputError:
    """The most telling complaint: place, key, value and what would do."""
    found = sorted(error.errors(include_url=False), key=lambda item: item["type"] != "extra_forbidden")
    first = found[0]
    loc = first["loc"]
    place = next((part for part in loc if isinstance(part, int)), None)
    table = str(loc[0]) if loc else ""
    key = (str(loc[-1]) if loc else "") if place is None else str(loc[2]) if len(loc) > 2 else table
    line = None if place is None or table != "measured" else line_of_measured(text, place, key)
    value = "(missing)" if first["type"] == "missing" else first["input"]
    value = "a table" if isinstance(value, dict) else "a list" if isinstance(value, list) else value
    if first["type"] == "extra_forbidden":
        own = {"lens": MeasuredLens.model_fields, "distortion": MeasuredDistortion.model_fields}
        keys = own.get(table, WANTED)
        way_out = f"there is no such key; a measurement has {', '.join(keys)}: correct or remove it"
        if place is None:
            way_out = (
                "there is no such key; a record holds [[measured]], [[lens]] and [[distortion]] tables only"
            )
    else:
        way_out = f"give {WANTED.get(key, 'measurements as [[measured]] tables')}"
    if table == "lens" and first["type"] != "extra_forbidden":
        way_out = "give distance_mm (50 to 3000), sigma_mm (above 0) and date as [[lens]] tables"
    if table == "distortion" and first["type"] != "extra_forbidden":
        way_out = "give width_mm, slopes (shares below 0.1), sigma and date as [[distortion]] tables"
    number = "" if place is None else f" of measurement {place + 1}"
    return InputError(f"{key}{number}", value, way_out, file=name, line=line)


def append_measured(path: str | Path, new: Measured) -> BedRecord:
    """Add a measurement; the file is written aside and renamed, so that it is whole at any moment.

    What a person wrote into the file (comments, order) stays. Raises InputError as ``load_record``, MachineError
    where the folder cannot be written.
    """
    return FILE.append(
        path, as_toml(new), lambda old: old.model_copy(update={"measured": (*old.measured, new)})
    )


def append_lens(path: str | Path, new: MeasuredLens) -> BedRecord:
    """Add a measured lens distance, as ``append_measured`` adds a focus height: same file, same errors."""
    return FILE.append(path, lens_as_toml(new), lambda old: old.model_copy(update={"lens": (*old.lens, new)}))


def append_distortion(path: str | Path, new: MeasuredDistortion) -> BedRecord:
    """Add a measured distortion of the lens, as ``append_measured`` adds a focus height: same file, same errors."""
    return FILE.append(
        path,
        distortion_as_toml(new),
        lambda old: old.model_copy(update={"distortion": (*old.distortion, new)}),
    )


def as_toml(m: Measured) -> str:
    """One measurement as a table."""
    band = "" if m.band_mm is None else f"band_mm = {m.band_mm!r}\n"
    if m.colours_mm is not None:
        band += f"colours_mm = {list(m.colours_mm)!r}\n"
    return (
        "[[measured]]\n"
        f"x_mm = {m.x_mm!r}\ny_mm = {m.y_mm!r}\nheight_mm = {m.height_mm!r}\nsigma_mm = {m.sigma_mm!r}\n{band}"
        f"date = {m.date.isoformat()}\ndpi = {m.dpi!r}\nnote = {quoted(m.note)}\n"
    )


FILE = RecordFile(BedRecord, "bed record", STARTS, HEAD, "measurement", _told)
