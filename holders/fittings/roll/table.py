"""The preset's table ``[roll]``."""

from __future__ import annotations

from typing import Annotated, Literal

from pydantic import Field

from holders.preset.tables.base import Table
from holders.preset.words import Words


class Roll(Table):
    """Open ends through which a film longer than the holder passes (print). Leave the table out for none."""

    frames: Annotated[int, Field(ge=1, le=2000), Words("Frames on the whole film")] = Field(
        default=36,
        description="Frames on the whole film; film.frames is how many lie over the window at a time.",
    )
    ends: Annotated[
        Literal["both", "near", "far"],
        Words(
            "Ends that are open",
            choices={"both": "both", "near": "the left or home one", "far": "the right or head one"},
        ),
    ] = Field(
        default="both",
        description="Which ends are open: both, or only the near one (left, or foot) or the far one (right, or head).",
    )
    core_mm: Annotated[
        Annotated[float, Field(ge=5, le=300, allow_inf_nan=False)] | None,
        Words("Core it was wound on, diameter"),
    ] = Field(
        default=None,
        description="Diameter of the core or spool that the film was kept on; left out: it was kept flat.",
    )
    gap_mm: Annotated[float, Field(ge=0, le=10, allow_inf_nan=False), Words("Lamp's lid stands open by")] = (
        Field(
            default=1.0,
            description="How far the lamp's lid stands open over the film at the bed's rim, measured or guessed.",
        )
    )
