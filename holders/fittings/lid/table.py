"""The preset's table ``[lid]``."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from holders.preset.tables.base import SmallLength, Table
from holders.preset.words import Words


class Lid(Table):
    """A frame that drops in on top of the film. Leave the table out for none."""

    thickness_mm: Annotated[float, Field(ge=0.4, le=20, allow_inf_nan=False)] = Field(
        default=2.0, description="Thickness of the lid frame (print); laser and knife take the nearest sheet."
    )
    lip_mm: Annotated[SmallLength, Words("Lid reaches in over the film by")] = Field(
        default=2.0, description="How far the lid reaches in over the film."
    )
    play_mm: Annotated[SmallLength, Words("Room between film and lid")] = Field(
        default=0.0,
        description="Room between film and lid where the lid rests on a shoulder (print); in whole layers, so it comes "
        "out up to one larger. 0: the lid lies on the film itself, whatever its thickness.",
    )
    clearance_mm: Annotated[SmallLength, Words("Gap round the lid")] = Field(
        default=0.3, description="Gap between the lid and its pocket, each side."
    )
    bevel_mm: Annotated[SmallLength | None, Words("Lid's edges lean back by")] = Field(
        default=None,
        description="How far the lid's inner edges lean back from the picture at their top, so that they shade less of "
        "it (print); left out: as far as the rails allow, up to 2.5 mm and 45 degrees. 0: upright, as laser and knife "
        "cut them.",
    )
    tabs: Annotated[int, Field(ge=0, le=2), Words("Lift tabs")] = Field(default=2, description="Lift tabs.")
    magnets: Annotated[int, Field(ge=0, le=4), Words("Magnets")] = Field(
        default=0, description="Magnet pockets in frame and lid (print)."
    )
    magnet_diameter_mm: Annotated[float, Field(ge=2, le=20, allow_inf_nan=False)] = Field(
        default=4.0, description="Diameter of one magnet."
    )
    magnet_thickness_mm: Annotated[float, Field(ge=0.5, le=10, allow_inf_nan=False)] = Field(
        default=1.0, description="Thickness of one magnet."
    )
    extra_weight_n: Annotated[
        float, Field(ge=0, le=50, allow_inf_nan=False), Words("Presses on the lid besides, N")
    ] = Field(
        default=0.0,
        description="What else presses on each lid during the scan, N (100 g are 1 N): a weight, the scanner's lid if "
        "it reaches down to it.",
    )
