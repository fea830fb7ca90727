"""What the checks of a lid say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "lid's side clearance": Said(
            "The lid drops into its pocket",
            "The lid may jam in its pocket",
            "gap beside the lid",
            much="The lid rattles in its pocket",
            stop="The lid does not go into its pocket",
        ),
        "lid's play over the film": Said(
            "The lid lies right on film of any usual thickness",
            "The lid does not lie right on film much thinner or thicker than usual",
            "room over the film",
        ),
        "lid heavy enough": Said(
            "The lid is heavy enough", "The lid is too light for its film", "presses with"
        ),
        "lid's height over the frame, for a weight": Said(
            "A weight on the lid lies on it and not on the frame",
            "A weight laid on the lid rests on the frame beside it",
            "lid over the frame",
        ),
        "material above magnets": Said(
            "The magnets are well covered",
            "Little or nothing covers the magnets",
            "left over the magnet",
            stop="A magnet pocket breaks through",
        ),
        "warp of the lid that its weight leaves": Said(
            "The lid lies flat", "The lid may stay warped and let the film's edge lift", "warp left"
        ),
    }
)
