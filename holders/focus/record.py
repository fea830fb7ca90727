"""The record of a bed: measured focus heights at places on the glass, over time, in a small readable file."""

from __future__ import annotations

import datetime as dt
import math
import os
import tomllib
from pathlib import Path

from pydantic import BaseModel, ConfigDict, Field, ValidationError, field_validator

from holders.aside import replace_file
from holders.errors import InputError

MAX_BYTES = 2 * 2**20
MAX_NOTE = 400
HEAD = """# Focus heights measured on one bed: one [[measured]] table for each.
# x_mm, y_mm: place on the glass from its home corner. height_mm: above the glass, with its standard deviation sigma_mm.
"""


class Measured(BaseModel):
    """One measurement: place (mm from the home corner), height and sigma (mm above the glass), day, resolution."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    x_mm: float = Field(ge=-50, le=2000)
    y_mm: float = Field(ge=-50, le=2000)
    height_mm: float = Field(ge=-20, le=60)
    sigma_mm: float = Field(gt=0, le=20)
    date: dt.date
    dpi: float = Field(gt=0, le=50000)
    note: str = Field(default="", max_length=MAX_NOTE)

    @field_validator("x_mm", "y_mm", "height_mm", "sigma_mm", "dpi")
    @classmethod
    def _finite(cls, value: float) -> float:
        if not math.isfinite(value):
            raise ValueError("not a finite number")
        return value


class BedRecord(BaseModel):
    """All measurements of one bed, in the order of the file."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    measured: tuple[Measured, ...] = ()


def load_record(path: str | Path) -> BedRecord:
    """Read a record.

    Raises
    ------
    InputError
        Missing, too large, not TOML, or a measurement that cannot be true (field and value are named).
    """
    name = os.fspath(path)
    try:
        size = Path(name).stat().st_size
        if size > MAX_BYTES:
            raise InputError("record", name, "this is too large to be a bed record")
        text = Path(name).read_text(encoding="utf-8")
    except (OSError, UnicodeDecodeError, ValueError) as err:
        raise InputError(
            "record", name, f"it cannot be read ({type(err).__name__}); give a bed record"
        ) from err
    try:
        return BedRecord.model_validate(tomllib.loads(text))
    except tomllib.TOMLDecodeError as err:
        raise InputError("record", name, f"it is not TOML: {err}", file=name) from err
    except ValidationError as err:
        first = err.errors()[0]
        where = ".".join(str(p) for p in first["loc"])
        raise InputError(
            where, first.get("input"), f"{first['msg']}; correct it in the record", file=name
        ) from err


def append_measured(path: str | Path, new: Measured) -> BedRecord:
    """Add a measurement; the file is written aside and renamed, so that it is whole at any moment.

    What a person wrote into the file (comments, order) stays. Raises InputError as ``load_record``, MachineError
    where the folder cannot be written.
    """
    file = Path(path)
    old = load_record(file) if file.exists() else BedRecord()
    text = file.read_text(encoding="utf-8") if file.exists() else HEAD
    text = text.rstrip("\n") + "\n\n" + as_toml(new)
    grown = BedRecord(measured=(*old.measured, new))
    # what is about to be kept must read back as what was meant
    if BedRecord.model_validate(tomllib.loads(text)) != grown:
        raise InputError(
            "record", os.fspath(path), "a measurement cannot be added at its end; put tables last"
        )
    replace_file(file, text.encode())
    return grown


def as_toml(m: Measured) -> str:
    """One measurement as a table."""
    note = m.note.replace("\\", "\\\\").replace('"', '\\"')
    note = "".join(c if c.isprintable() else f"\\U{ord(c):08x}" for c in note)
    return (
        "[[measured]]\n"
        f"x_mm = {m.x_mm!r}\ny_mm = {m.y_mm!r}\nheight_mm = {m.height_mm!r}\nsigma_mm = {m.sigma_mm!r}\n"
        f'date = {m.date.isoformat()}\ndpi = {m.dpi!r}\nnote = "{note}"\n'
    )
