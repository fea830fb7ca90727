"""What the checks of a strip channel say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "arc over the picture against the focus band": Said(
            "The strip's arc stays within the sharp heights",
            "The strip's arc is too high to be sharp all over",
            "height of the arc",
        ),
        "strips of every curl in the channel": Said(
            "Strips of every curl stay within the sharp heights",
            "Some strips will not be sharp in this channel",
            "heights of all strips span",
        ),
        "rails clear of the picture": Said(
            "The rails stay off the picture",
            "A rail comes close to the picture",
            "from rail to picture",
            stop="A rail covers the picture",
        ),
        "corners of the rails on the arc": Said(
            "The rails follow the arc", "The rails miss the arc and may dent the strip", "off the arc"
        ),
        "arc that the strip would take by itself": Said(
            "The arc suits the strip's own curl",
            "The strip is flatter than the arc and is bent by it",
            "the strip's curl",
            much="The strip is more curled than the arc and may rise from it",
        ),
        "curl along a strip in its channel": Said(
            "The curl along the strip hardly moves the picture",
            "The curl along the strip moves the picture",
            "by as much as",
        ),
    }
)
