"""What the checks of wet mounting say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "fluid that does not burn": Said(
            "The mounting fluid is stated not to burn",
            "The mounting fluid is not known to be non-flammable",
            "the fluid",
            stop="The mounting fluid is not known to be non-flammable",
        ),
        "no acrylic at the fluid": Said(
            "No acrylic touches the fluid",
            "The fluid touches acrylic, which crazes",
            "holder of",
            stop="The fluid touches acrylic, which crazes and cracks",
        ),
        "rings across the fluid": Said(
            "The fluid leaves no rings that show",
            "The fluid's index is so far off that rings may show",
            "rings lighter and darker than the tone around them by",
        ),
        "dry glass around the overlay": Said(
            "Dry glass is left around the overlay",
            "Little dry glass is left around the overlay: fluid may creep into the frame",
            "dry glass",
            stop="The overlay reaches onto the ledge or past the glass, and fluid runs into the frame",
        ),
        "wall above the mounted glass": Said(
            "The pocket's wall stands above the glass and keeps a drop in",
            "The pocket's wall hardly stands above the glass: a drop may run over it",
            "wall above the glass",
            stop="The glass stands above the pocket's wall",
        ),
        "light past the mounted film": Said(
            "No lamp light passes beside the film",
            "Lamp light passes beside the film and lifts its dark parts",
            "bare glass lit",
        ),
    }
)
