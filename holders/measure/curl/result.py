"""What a scan of stood film says of its curl."""

from __future__ import annotations

import math
from dataclasses import dataclass, field
from typing import Any, Literal

from holders.measure.curl.parts import Part

Hollow = Literal["emulsion", "base"]


@dataclass(frozen=True)
class ScanCurl:
    """Curl of one stood film from one scan.

    ``curl_per_m`` 1000 / R[mm], positive toward the emulsion where the hollow side is known, else without sign;
    ``sigma`` its standard deviation. ``chord_mm``, ``rise_mm``: of the curled part, as fitted. ``length_mm``: the
    whole line. ``parts``: where it is curled, straight or bent. ``arc``, ``line`` (x, y in mm in the picture): the
    fitted arc and the foot that was found. ``shares``: what the uncertainty is made of, per metre.
    """

    file: str
    curl_per_m: float
    sigma: float
    chord_mm: float
    rise_mm: float
    length_mm: float
    dpi: float
    parts: tuple[Part, ...]
    arc: tuple[tuple[float, float], ...]
    line: tuple[tuple[float, float], ...]
    shares: dict[str, float]
    warnings: tuple[str, ...] = ()
    signed: bool = False

    def to_answer(self) -> dict[str, Any]:
        """The JSON object of one scan."""
        return {
            "curl_per_m": self.curl_per_m,
            "sigma": self.sigma,
            "chord_mm": self.chord_mm,
            "rise_mm": self.rise_mm,
            "length_mm": self.length_mm,
            "signed": self.signed,
            "parts": [
                {"kind": p.kind, "from_mm": p.start_mm, "to_mm": p.end_mm, "curl_per_m": abs(p.curl_per_m)}
                for p in self.parts
            ],
            "sigma_parts": dict(self.shares),
            "warnings": list(self.warnings),
        }


@dataclass(frozen=True)
class FilmCurl:
    """Curl of one film: of one scan, or along its long side and across it from two."""

    along: ScanCurl | None
    across: ScanCurl | None
    only: ScanCurl | None = None
    warnings: tuple[str, ...] = field(default=())

    @property
    def scans(self) -> tuple[ScanCurl, ...]:
        """The scans in the order along, across, or the only one."""
        return tuple(s for s in (self.only, self.along, self.across) if s is not None)

    @property
    def largest(self) -> ScanCurl:
        """The scan with the greater curl, whichever way it bends."""
        return max(self.scans, key=lambda s: abs(s.curl_per_m))

    def to_answer(self) -> dict[str, Any]:
        """The JSON object of the command line: of one scan as it is; of two that of the greater curl, and both."""
        answer = self.largest.to_answer()
        if self.only is None:
            answer["along"] = None if self.along is None else self.along.to_answer()
            answer["across"] = None if self.across is None else self.across.to_answer()
        answer["warnings"] = [*answer["warnings"], *self.warnings]
        return answer


def chord_rise(curl_per_m: float, length_mm: float) -> tuple[float, float]:
    """Chord and rise of an arc of that curl and arc length, mm."""
    half = abs(curl_per_m) / 1000 * length_mm / 2
    if half < 1e-9:
        return length_mm, 0.0
    radius = 1000 / abs(curl_per_m)
    return 2 * radius * math.sin(half), radius * (1 - math.cos(half))
