"""The preset's table ``[carrier]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holders.preset.tables.base import Table
from holders.preset.words import Words


class CarrierTable(Table):
    """A carrier as large as the bed that takes small inserts, one for each format. Leave the table out for none."""

    insert_width_mm: Annotated[float, Field(ge=40, le=600, allow_inf_nan=False), Words("Insert, width")] = (
        Field(description="Width of the insert across the bed; all inserts of a carrier share it.")
    )
    insert_length_mm: Annotated[float, Field(ge=40, le=600, allow_inf_nan=False), Words("Insert, length")] = (
        Field(description="Length of the insert along the bed; all inserts of a carrier share it.")
    )
    clearance_mm: Annotated[
        float, Field(ge=0.05, le=2, allow_inf_nan=False), Words("Gap round the insert")
    ] = Field(default=0.25, description="Gap between insert and carrier, each side.")
    ledge_mm: Annotated[
        float, Field(ge=2, le=20, allow_inf_nan=False), Words("Carrier reaches under the insert by")
    ] = Field(default=4.0, description="How far the carrier reaches under the insert, each side.")
    floor_mm: Annotated[
        float, Field(ge=0.4, le=10, allow_inf_nan=False), Words("Carrier below the insert")
    ] = Field(default=1.0, description="Thickness of the carrier below the insert; in whole printer layers.")
    key_mm: Annotated[float, Field(ge=2, le=20, allow_inf_nan=False), Words("Corner that is taken off")] = (
        Field(
            default=6.0,
            description="How much of the insert's home corner is taken off, so that it goes in one way only.",
        )
    )
    corner: Annotated[
        Literal["hollow", "slanted"],
        Words(
            "Its form",
            choices={"hollow": "hollowed by a quarter circle", "slanted": "slanted, for carriers made so"},
        ),
    ] = Field(
        default="hollow",
        description="Form of that corner, alike on carrier and insert: hollowed by a quarter circle, or slanted.",
    )
