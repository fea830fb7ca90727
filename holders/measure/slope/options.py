"""What a caller wants of a measurement beside the height."""

from __future__ import annotations

from dataclasses import dataclass

from holders.core.errors import InputError
from holders.measure.slope import band as bands

WANTED_SIGMA = 0.005


@dataclass(frozen=True)
class Options:
    """Band definition (frequency in lp/mm, share of contrast kept) and how certain is certain enough (mm)."""

    frequency_lp_mm: float = bands.FREQUENCY
    band_share: float = bands.SHARE
    sigma_mm: float = WANTED_SIGMA

    def __post_init__(self) -> None:
        if not 0.5 <= self.frequency_lp_mm <= 500:
            raise InputError("frequency", self.frequency_lp_mm, "give lp/mm between 0.5 and 500")
        if not 0.05 <= self.band_share <= 0.99:
            raise InputError("band share", self.band_share, "give a share between 0.05 and 0.99")
