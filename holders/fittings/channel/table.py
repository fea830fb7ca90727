"""The preset's table ``[channel]``."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from holders.preset.tables.base import Table
from holders.preset.words import Words


class ChannelTable(Table):
    """Rails that hold a strip on a gentle arc across its width (print, with a lid). Leave the table out for none."""

    radius_mm: Annotated[float, Field(ge=60, le=2000, allow_inf_nan=False), Words("Radius of the arc")] = (
        Field(
            default=200.0,
            description="Radius of the arc across the strip; about that of the strip's own curl.",
        )
    )
    rail_mm: Annotated[float, Field(ge=0.4, le=5, allow_inf_nan=False), Words("Width of the rail")] = Field(
        default=1.0, description="Width of the rail beside the window, on whose outer corner the film lies."
    )
