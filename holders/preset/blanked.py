"""A preset that came from somebody else, without what belongs to their scanner, stock, printer and film.

What they measured is true on their table alone: a focus height of another scanner puts the film where this one is soft.
"""

from __future__ import annotations

from collections.abc import Mapping
from dataclasses import dataclass
from types import MappingProxyType
from typing import Any

# table -> keys that somebody measured on their own bed, sheets, printer or film, with how one measures them here
THEIRS: Mapping[str, Mapping[str, str]] = MappingProxyType(
    {
        "bed": dict.fromkeys(
            ("focus_height_mm", "focus_sigma_mm", "focus_band_mm", "lens_distance_mm", "useful_ppi"),
            "scan a focus ramp: holders ramp, then holders focus",
        )
        | dict.fromkeys(
            (
                "glass_width_mm", "glass_length_mm", "lamp_x_mm", "lamp_y_mm", "lamp_width_mm", "lamp_length_mm",
                "calibration_x_mm", "calibration_y_mm", "calibration_width_mm", "calibration_length_mm", "lid_room_mm",
            ),
            "choose your own bed (--bed), or measure it with a ruler",
        )
        | dict.fromkeys(("lamp_rise_k", "face_difference_k"), "feel how warm the holder gets, or leave it open"),
        "film": dict.fromkeys(
            ("cut_width_mm", "cut_height_mm", "thickness_mm", "plane_offset_mm", "record"),
            "measure your own film with a caliper",
        ),
        "base": dict.fromkeys(
            ("thickness_mm", "thickness_low_mm", "thickness_high_mm", "modulus_mpa", "modulus_low_mpa",
             "modulus_high_mpa", "curl_low_per_m", "curl_per_m", "curl_high_per_m"),
            "measure your own film: holders curl",
        ),
        "material": dict.fromkeys(("sheets_mm", "sheet_width_mm", "sheet_height_mm"), "measure your own sheets")
        | dict.fromkeys(("kerf_mm",), "cut a test piece: holders make PRESET --coupon")
        | dict.fromkeys(("sheet_prices", "price_per_kg"), "fill in what you pay"),
        "printer": dict.fromkeys(
            ("build_x_mm", "build_y_mm", "build_z_mm", "margin_mm", "nozzle_mm",
             "z_tolerance_mm"),
            "choose your own printer (--printer)",
        ),
        "coupon": {"": "make and measure a test piece: holders make PRESET --coupon"},
        "room": {"": "say when you scan, and read your own thermometer"},
    }
)  # fmt: skip


@dataclass(frozen=True, slots=True)
class Blank:
    """A key that was taken out: its name, what the other person had there, and how one finds one's own."""

    key: str
    theirs: object
    how: str


def blanked(values: Mapping[str, Any]) -> tuple[dict[str, Any], tuple[Blank, ...]]:
    """The values without what belongs to somebody else's bed, stock, printer and film; and what was taken out.

    Names of rows (bed, material, printer, film) stay, as does everything that describes the holder.
    """
    kept: dict[str, Any] = {}
    out: list[Blank] = []
    for name, table in values.items():
        if name == "supposed":  # of values that are taken out
            continue
        theirs = THEIRS.get(name)
        if theirs is None or not isinstance(table, Mapping):
            kept[name] = table
            continue
        whole = theirs.get("")
        for key, value in table.items():
            how = whole or theirs.get(key)
            if how is None:
                kept.setdefault(name, {})[key] = value
            elif value is not None:
                out.append(Blank(f"{name}.{key}", value, how))
    return kept, tuple(out)
