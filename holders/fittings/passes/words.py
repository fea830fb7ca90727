"""What the checks of passes say: one sentence where all is well, one where it is not."""

from __future__ import annotations

from collections.abc import Mapping
from types import MappingProxyType

from holders.checks.words import Said

SAID: Mapping[str, Said] = MappingProxyType(
    {
        "overlap of neighbouring passes": Said(
            "Neighbouring passes overlap enough to be joined",
            "Neighbouring passes overlap too little to be joined",
            "overlap",
            stop="A strip of the film lies between two passes",
        ),
        "step blocks off the calibration zone": Said(
            "The step blocks stay off the calibration zone in every pass",
            "A step block covers the calibration zone",
            "covered",
        ),
        "holder and step blocks clear of one another": Said(
            "Holder and step blocks find room in every pass",
            "Holder and step blocks do not fit on the glass together",
            "room left",
        ),
        "holder against its step blocks": Said(
            "The step blocks stop the holder in every pass",
            "A step block hardly touches the holder, which may turn",
            "touching along",
            stop="A step block misses the holder",
        ),
        "lit glass left bare beside the holder": Said(
            "No bare glass is lit beside the holder in any pass",
            "Bare glass is lit beside the holder: stray light reaches the lens",
            "bare",
        ),
        "shift of the picture from pass to pass": Said(
            "The passes match in their overlap",
            "Film that does not lie flat is seen from two sides, and the passes will not quite match",
            "mismatch",
        ),
    }
)
