"""What the tables of a preset share: bounded types, and a model that takes no key it does not know."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import BaseModel, ConfigDict, Field

from holders.core.plain_text import ONE_LINE

Length = Annotated[float, Field(ge=0, le=1000, allow_inf_nan=False)]
SmallLength = Annotated[float, Field(ge=0, le=50, allow_inf_nan=False)]
Price = Annotated[float, Field(ge=0, le=1e6, allow_inf_nan=False)]
Key = Annotated[str, Field(min_length=1, max_length=40), ONE_LINE]
RecordName = Annotated[
    str, Field(min_length=6, max_length=80, pattern=r"^[A-Za-z0-9_][A-Za-z0-9_. -]*\.toml$")
]
EdgeName = Literal["left", "right", "head", "foot"]
Reading = Annotated[float, Field(gt=0, le=100, allow_inf_nan=False)]
Readings = Annotated[tuple[Reading, ...], Field(max_length=12, strict=False)]  # TOML gives a list
Engraved = Annotated[int, Field(ge=0, le=40, multiple_of=10)]


class Table(BaseModel):
    """A table of a preset: frozen, strict, and closed to unknown keys."""

    model_config = ConfigDict(frozen=True, extra="forbid", strict=True)
