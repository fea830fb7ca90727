"""The distance from a bed's glass to its lens, as measured: rows of the bed's record."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Sequence
from typing import Annotated

from pydantic import BaseModel, ConfigDict, Field, field_validator

from holders.core.plain_text import ONE_LINE
from holders.core.toml_text import quoted

MAX_NOTE = 400


class MeasuredLens(BaseModel):
    """One measured lens distance (optical path from the glass, mm) with its standard deviation, and the day."""

    model_config = ConfigDict(frozen=True, extra="forbid")

    distance_mm: float = Field(ge=50, le=3000)
    sigma_mm: float = Field(gt=0, le=500)
    date: dt.date
    note: Annotated[str, ONE_LINE] = Field(default="", max_length=MAX_NOTE)

    @field_validator("distance_mm", "sigma_mm", mode="before")
    @classmethod
    def _number(cls, value: object) -> object:
        if isinstance(value, bool) or (isinstance(value, float) and not math.isfinite(value)):
            raise ValueError("not a number")
        return value


def lens_distance(rows: Sequence[MeasuredLens]) -> tuple[float, float] | None:
    """Mean of the measured distances, weighted by certainty, with its standard deviation (mm); None without any.

    Where the measurements scatter more than they say, the scatter counts.
    """
    if not rows:
        return None
    weights = [1 / r.sigma_mm**2 for r in rows]
    total = sum(weights)
    mean = sum(w * r.distance_mm for w, r in zip(weights, rows, strict=True)) / total
    sigma = total**-0.5
    if len(rows) > 1:
        square = sum(w * (r.distance_mm - mean) ** 2 for w, r in zip(weights, rows, strict=True)) / (
            len(rows) - 1
        )
        sigma *= max(1.0, square) ** 0.5
    return mean, sigma


def as_toml(row: MeasuredLens) -> str:
    """One measurement as a table."""
    return (
        f"[[lens]]\ndistance_mm = {row.distance_mm!r}\nsigma_mm = {row.sigma_mm!r}\n"
        f"date = {row.date.isoformat()}\nnote = {quoted(row.note)}\n"
    )
