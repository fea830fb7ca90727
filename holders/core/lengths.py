"""Lengths as people write them: "3.1 mm", "3,1", "1/8 in", "1 1/2 inch"."""

from __future__ import annotations

import math
import re

MOST = 40  # characters
# millimetres in one; the inch is 25.4 mm exactly (NIST SP 811, appendix B)
UNITS = {
    "": 1.0,
    "mm": 1.0,
    "cm": 10.0,
    "m": 1000.0,
    "in": 25.4,
    "inch": 25.4,
    "inches": 25.4,
    '"': 25.4,
    "″": 25.4,
}
_WRITTEN = re.compile(
    r"(?P<sign>[-+]?)(?:(?P<whole>\d{1,6})\s+)?(?:(?P<over>\d{1,6})/(?P<under>\d{1,6})|(?P<number>\d{1,9}(?:[.,]\d{1,9})?))"
    r"\s*(?P<unit>[a-z\"″]*)"
)


def length_mm(text: str) -> float | None:
    """The length in mm; None where the text is no length. Without a unit it is mm; a decimal comma is a point."""
    found = _WRITTEN.fullmatch(text.strip().lower()) if len(text) <= MOST else None
    if found is None or found["unit"] not in UNITS or (found["whole"] and found["number"]):
        return None
    if found["number"]:
        value = float(found["number"].replace(",", "."))
    elif int(found["under"]) == 0:
        return None
    else:
        value = int(found["whole"] or 0) + int(found["over"]) / int(found["under"])
    value *= UNITS[found["unit"]]
    return math.copysign(value, -1.0) if found["sign"] == "-" else value


def measure(value: float, decimals: int = 2) -> str:
    """A length as it is written on a drawing: no needless zeros."""
    text = f"{value:.{decimals}f}"
    if "." in text:
        text = text.rstrip("0").rstrip(".")
    return "0" if text == "-0" else text
