"""What the checks of steel bars say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "room between bars and frame": Said(
            "The steel bars clear the frame, and all their weight is on the film",
            "The steel bars may rest on the frame instead of the film",
            "room below the bars",
            stop="The steel bars rest on the frame",
        ),
        "lid above the bars": Said(
            "The lid covers the steel bars well",
            "Little of the lid covers the steel bars",
            "left above a bar",
        ),
        "strip that a bar is glued to": Said(
            "The steel bars are glued to a wide enough strip of the lid",
            "The steel bars are glued to a narrow strip of the lid",
            "glued width",
        ),
    }
)
