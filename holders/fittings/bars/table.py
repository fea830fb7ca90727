"""The preset's table ``[bars]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holders.preset.tables.base import Key, Table
from holders.preset.words import Words

FIT, NONE = "fit", "none"
IN, ON = "in", "on"


class Bars(Table):
    """Steel bars along the lid's rails, which make it heavier and stiffer. Leave the table out for none."""

    sides: Annotated[
        Key,
        Words(
            "Bars at left and right",
            help="Width x height in mm, such as 15x5; fit: the heaviest that has room, 5 mm high at most; none: no bar "
            "there.",
        ),
    ] = Field(
        default=FIT,
        description="Bar along the left and right rails: its width x height in mm, as `holders list bars` has them; "
        "fit: the heaviest that has room, 5 mm high at most; none: no bar there.",
    )
    ends: Annotated[Key, Words("Bars at head and foot")] = Field(
        default=FIT, description="Bar along the head and foot rails: as sides."
    )
    place: Annotated[
        Literal["in", "on"] | None,
        Words("Bars lie", choices={"in": "in pockets on the lid's underside (print)", "on": "on the lid"}),
    ] = Field(
        default=None,
        description="in: glued into pockets on the lid's underside, beside the film (print); on: glued on the lid; "
        "left out: in where the lid is printed, on where it is cut.",
    )


def lies_on(table: Bars, *, printed: bool) -> bool:
    """Whether the bars lie on the lid, not in it."""
    return (table.place or (IN if printed else ON)) == ON
