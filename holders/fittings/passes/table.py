"""The preset's table ``[passes]``."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from holders.preset.tables.base import Table
from holders.preset.words import Words


class PassesTable(Table):
    """Film larger than the lamp area, scanned in passes as the holder moves. Leave the table out for none."""

    overlap_mm: Annotated[
        float,
        Field(ge=2, le=150, allow_inf_nan=False),
        Words(
            "Least overlap of two passes",
            help="What both of two passes show, so that they can be joined. There is more where the steps allow it.",
        ),
    ] = Field(
        default=15.0,
        description="Least overlap of two neighbouring passes on the film; the steps leave more where they can.",
    )
