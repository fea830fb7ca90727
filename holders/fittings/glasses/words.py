"""What the checks of two glasses say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "rings between film and lower glass": Said(
            "The lower glass gives no rings that show",
            "Where the film touches the lower glass, rings will show",
            "rings lighter and darker than the tone around them by",
        ),
        "rings between film and upper glass": Said(
            "The upper glass gives no rings that show",
            "Where the film touches the upper glass, rings will show",
            "rings lighter and darker than the tone around them by",
        ),
        "texture between lens and film": Said(
            "The lens looks through smooth glass",
            "The lens looks through etched glass, which may show as grain",
            "below",
        ),
        "upper glass heavy enough": Said(
            "The upper glass keeps the film flat",
            "The most curled film lifts the upper glass",
            "presses with",
        ),
        "light past film between glasses": Said(
            "No lamp light passes beside the film",
            "Lamp light passes beside the film and lifts its dark parts",
            "bare glass lit",
        ),
    }
)
