"""A curl in words, with what it means for the film at hand: how high the middle of its width stands on a table."""

from __future__ import annotations

import math

FLAT_MM = 0.05  # "0.0 mm high" would say less
MIDDLE = "high in the middle of its width"


def curl_height_mm(per_m: float, width_mm: float) -> float:
    """How high the middle of a film stands that lies on a table on its long edges, taken as without weight, mm.

    ``per_m`` is its curl, 1 over the radius in metres, ``width_mm`` its width along the arc. A film that would roll up
    past a half circle stands as high as its own arc reaches. Source: geometry, R (1 - cos(w / 2R)).
    """
    bend = abs(per_m) / 1000.0
    if bend * width_mm < 1e-6:
        return 0.0
    return (1.0 - math.cos(min(math.pi, bend * width_mm / 2.0))) / bend


def curl_words(per_m: float, width_mm: float, decimals: int | None = None, *, short: bool = False) -> str:
    """A curl with its meaning for a film so wide: "1 per m, 1.2 mm high in the middle of its width".

    ``decimals``: of the curl; None: as many as it has. ``short``: "1 per m (middle 1.2 mm high)".
    """
    said = f"{number(per_m, decimals)} per m"
    high = height_words(per_m, width_mm)
    if short:
        return f"{said} ({high if high == 'flat' else f'middle {high}'})"
    return f"{said}, {high}{'' if high == 'flat' else MIDDLE.removeprefix('high')}"


def curl_span_words(
    low: float, high: float, usual: float, width_mm: float, decimals: int | None = None
) -> str:
    """Least to greatest and usual curl: "-2 to 7.7 per m (2.6 mm high the other way, to 9.7 mm high in the middle of
    its width), usually 1 (1.2 mm high)".
    """
    other = " the other way" if low * high < 0 else ""
    return (
        f"{number(low, decimals)} to {number(high, decimals)} per m ({height_words(low, width_mm)}{other}, to "
        f"{height_words(high, width_mm)} in the middle of its width), usually {number(usual, decimals)} "
        f"({height_words(usual, width_mm)})"
    )


def height_words(per_m: float, width_mm: float) -> str:
    """How high the middle of the film stands: "1.2 mm high", or "flat"."""
    height = curl_height_mm(per_m, width_mm)
    if height < FLAT_MM:
        return "flat"
    return f"{height:.1f} mm high" if height < 9.95 else f"{height:.0f} mm high"


def number(per_m: float, decimals: int | None) -> str:
    """The curl itself, without a negative zero."""
    text = f"{per_m:g}" if decimals is None else f"{per_m:.{decimals}f}"
    return text.removeprefix("-") if float(text) == 0 else text
