"""What the checks of a glass cover say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "plate in its pocket, gap each side": Said(
            "The cover glass drops into its pocket",
            "The cover glass may jam in its pocket",
            "gap each side",
            much="The cover glass slides about in its pocket",
            stop="The cover glass does not go into its pocket",
        ),
        "plate cut short and pushed to one side still reaches over the other lip": Said(
            "Even a cover glass cut small rests on all lips",
            "A cover glass cut small may slip off a lip",
            "left on the lip",
            stop="A cover glass cut small falls onto the film",
        ),
        "wall above the plate": Said(
            "The cover glass lies below the top of the frame", "", "wall above the glass"
        ),
        "room between plate and catches": Said(
            "The catches close over the glass",
            "Thick film or glass stands in the way of the catches",
            "room below the noses",
            much="The cover glass rattles below its catches",
            stop="The catches press on the glass and crack it",
        ),
        "plate heavy enough": Said(
            "The cover glass is heavy enough", "The cover glass is too light", "presses with"
        ),
        "rings between film and plate": Said(
            "The cover glass gives no rings that show",
            "Where the film touches the cover glass, rings will show",
            "rings lighter and darker than the tone around them by",
        ),
        "opposite edges of the plate with catches": Said(
            "Catches hold the glass at two opposite edges",
            "Catches hold the glass at one edge only: upside down it falls out at the other",
            "opposite edges with catches",
        ),
        "catch over a plate cut short that lies at the far wall": Said(
            "The catches hold even a glass cut small",
            "A cover glass cut small may slip from its catches",
            "nose over the glass",
        ),
        "strain of the catches, pushed back to their stop": Said(
            "The catches spring back for years",
            "The catches tire and stay bent back",
            "strain",
            stop="The catches break when they are pushed back",
        ),
        "nose lifted by twice the plate's weight": Said(
            "The catches hold the glass upside down",
            "The catches give way under the glass, upside down",
            "nose lifted by",
            stop="The glass falls out past its catches, upside down",
        ),
        "pins in the frame": Said(
            "The catches' pins hold in the frame", "The catches' pins may come loose", "hole deep"
        ),
        "frame left below the pins": Said(
            "The pins do not come through",
            "A pin may come through and scratch the scanner's glass",
            "left below the pin",
        ),
    }
)
