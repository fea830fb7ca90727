"""Tables of what carries the film: lip and feet. Each fitting's own table stands with the fitting."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holders.preset.tables.base import EdgeName, SmallLength, Table
from holders.preset.words import Words


class Lip(Table):
    """How far the ledge reaches under the film on each edge; an edge left out takes ``all_mm``."""

    all_mm: Annotated[
        SmallLength | None,
        Words(
            "Lip on every edge",
            help="How far the ledge reaches under the film. Left open: 2 mm, or less where the clear border is "
            "narrower, but never less than the film's cutting tolerance asks.",
            asked=("extras", 2),
        ),
    ] = Field(
        default=None,
        description="The lip on every edge that is not given below. Left out: 2 mm, or the clear border if that is "
        "less, but never less than the film's tolerance asks.",
    )
    left_mm: Annotated[SmallLength | None, Words("Lip, left")] = Field(
        default=None, description="Lip at the left edge."
    )
    right_mm: Annotated[SmallLength | None, Words("Lip, right")] = Field(
        default=None, description="Lip at the right edge."
    )
    head_mm: Annotated[SmallLength | None, Words("Lip, head")] = Field(
        default=None, description="Lip at the head, the edge away from home."
    )
    foot_mm: Annotated[SmallLength | None, Words("Lip, foot")] = Field(
        default=None, description="Lip at the foot, the edge toward home."
    )
    rebate_edge: Annotated[
        EdgeName | None, Words("Edge that shows clear film border", asked=("extras", 3))
    ] = Field(
        default=None, description="The edge that leaves clear film border visible, for colour inversion."
    )
    rebate_mm: Annotated[SmallLength, Words("Clear border shown", asked=("extras", 4))] = Field(
        default=2.0, description="How much clear border that edge leaves visible."
    )


class Feet(Table):
    """Anti-slip feet under the holder. Leave the table out for none."""

    count: Annotated[int, Field(ge=3, le=8), Words("How many feet")] = Field(
        default=4, description="How many feet."
    )
    diameter_mm: Annotated[float, Field(ge=2, le=30, allow_inf_nan=False)] = Field(
        default=8.0, description="Diameter of one foot; the width of a strip."
    )
    form: Annotated[
        Literal["strip", "round"],
        Words("Their form", choices={"strip": "strips along the rails", "round": "round"}),
    ] = Field(
        default="strip", description="Strips along the rails, cut from anti-slip rubber, or round feet."
    )
    length_mm: Annotated[float, Field(ge=2, le=120, allow_inf_nan=False), Words("Strip, length")] = Field(
        default=30.0, description="Length of one strip; where that finds no room, all are shorter."
    )
    thickness_mm: Annotated[float, Field(ge=0.1, le=10, allow_inf_nan=False)] = Field(
        default=1.5, description="Thickness of one foot, measured."
    )
    recess_mm: Annotated[SmallLength | None, Words("Set into the underside by")] = Field(
        default=None,
        description="How deep each foot sits in the underside; the rest adds height. Left out: 1 mm printed, 0 cut.",
    )
