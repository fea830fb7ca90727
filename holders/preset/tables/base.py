"""What the tables of a preset share: bounded types, and a model that takes no key it does not know."""

from __future__ import annotations

from typing import Annotated, Any, Literal

from pydantic import BaseModel, ConfigDict, Field, model_validator

from holders.core.lengths import length_mm
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

    @model_validator(mode="before")
    @classmethod
    def _lengths(cls, data: Any) -> Any:
        """Lengths written as text, with a unit or a decimal comma, in mm; what is no length is left to be refused."""
        if not isinstance(data, dict):
            return data
        return {
            key: _in_mm(value) if isinstance(key, str) and key.endswith("_mm") else value
            for key, value in data.items()
        }


def _in_mm(value: Any) -> Any:
    if isinstance(value, (list, tuple)):
        return type(value)(_in_mm(one) for one in value)
    if not isinstance(value, str):
        return value
    length = length_mm(value)
    return value if length is None else length
