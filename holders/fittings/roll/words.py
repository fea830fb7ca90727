"""What the checks of open ends say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "room light through the open ends": Said(
            "Hardly any room light comes in at the open ends",
            "Room light comes in at the open ends and lifts dark parts",
            "room light",
        ),
        "film beside the calibration zone": Said(
            "The film leaves the calibration zone free",
            "The film lies over the calibration zone",
            "covered",
            stop="The film lies over the calibration zone and spoils every colour",
        ),
        "floor under the film at the open ends": Said(
            "The film is carried beyond the window at its open ends",
            "Little carries the film at its open ends: it sags or lifts there",
            "floor",
        ),
        "curl along the film": Said(
            "The film's curl along its length is counted",
            "The film was kept on a core, and its curl along is not known",
            "curl along",
            much="The curl along is more than the film's core can give",
        ),
    }
)
