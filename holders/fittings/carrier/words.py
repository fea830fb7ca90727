"""What the checks of a carrier say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "gap round the insert": Said(
            "The insert drops into its carrier",
            "The insert may jam in its carrier",
            "gap round it",
            much="The insert rattles in its carrier",
            stop="The insert does not go into its carrier",
        ),
        "insert rests on the carrier's ledge all round": Said(
            "The insert rests on its carrier all round",
            "The insert hardly rests on its carrier",
            "left on the ledge",
            stop="The insert falls through its carrier",
        ),
        "insert goes in one way only": Said(
            "The insert goes in one way only", "The insert can be laid in the wrong way round", "in the way"
        ),
        "carrier and insert add up to the ledge's height": Said(
            "Carrier and insert together keep the height",
            "Carrier and insert together may miss the height",
            "may miss by",
        ),
        "carrier's ledge clear of the windows": Said(
            "The carrier stays clear of the windows", "The carrier's ledge reaches into a window", "clear by"
        ),
    }
)
