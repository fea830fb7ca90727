"""The preset's table ``[cover]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holders.preset.tables.base import Length, SmallLength, Table
from holders.preset.words import Words


class Cover(Table):
    """A plate of glass that lies on the film in a pocket above it. Leave the table out for none."""

    thickness_mm: Annotated[float, Field(ge=0.7, le=10, allow_inf_nan=False), Words("Plate, thickness")] = (
        Field(default=2.0, description="Thickness of the glass, measured.")
    )
    width_mm: Annotated[Length | None, Words("Plate, width")] = Field(
        default=None,
        description="Size of the plate along the film's width, measured; left out: as large as the pocket takes.",
    )
    length_mm: Annotated[Length | None, Words("Plate, length")] = Field(
        default=None, description="Size of the plate along the film's length, measured; left out: the same."
    )
    clearance_mm: Annotated[SmallLength, Words("Gap round the plate")] = Field(
        default=0.5,
        description="Gap between the plate and its pocket, each side; glass is cut to about 0.5 mm.",
    )
    face: Annotated[
        Literal["etched", "coated", "plain"],
        Words(
            "Face that lies on the film",
            choices={
                "etched": "finely etched: no Newton's rings",
                "coated": "coated against reflection",
                "plain": "plain",
            },
        ),
    ] = Field(
        default="etched",
        description="The face that lies on the film: finely etched (no Newton's rings), coated against reflection, "
        "or plain.",
    )
    gap_mm: Annotated[SmallLength, Words("Room between plate and catches")] = Field(
        default=0.2,
        description="Least room between the plate and the catches over it, so that none presses on it.",
    )
    catches: Annotated[Annotated[int, Field(ge=0, le=8)] | None, Words("Catches for each plate")] = Field(
        default=None,
        description="Spring catches that keep each plate in its pocket, pinned and glued to the frame beside it; left "
        "out: 4, or 2 where 4 find no room, else none, and none of board or foam.",
    )
    catch_thickness_mm: Annotated[
        float, Field(ge=0.8, le=6, allow_inf_nan=False), Words("Catch, thickness")
    ] = Field(default=3.0, description="Thickness of a catch (print); laser takes the nearest sheet.")
