"""``list``: trade tables, checks and shipped presets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rich.markup import escape

from holders.face.shared.listing import TABLES, rows

SHORT: dict[str, tuple[str, ...]] = {
    "formats": ("cut_width_mm", "cut_height_mm", "image_width_mm", "image_height_mm", "base", "thickness_mm"),
    "bases": ("thickness_mm", "modulus_mpa", "density_kg_m3", "refractive_index"),
    "materials": ("routes", "laser", "limit_c", "stock_mm"),
    "beds": ("glass_width_mm", "glass_length_mm", "lamp_width_mm", "lamp_length_mm", "focus_height_mm"),
    "printers": ("build_x_mm", "build_y_mm", "build_z_mm", "nozzle_mm", "layer_mm"),
    "papers": ("width_mm", "height_mm"),
    "processes": ("wall_mm", "land_mm", "shoulder_mm"),
}

UNITS = {"_kg_m3": "kg/m³", "_mpa": "MPa", "_mm": "mm", "_c": "°C"}  # ends of keys


def show(what: str, as_json: bool) -> None:
    """Print a listing."""
    found = rows(what)
    if as_json:
        from holders.face.cli.answer import print_json

        print_json({"what": what, "rows": found})
        return
    from holders.face.cli import show as terminal

    terminal.out().print(terminal.blocks([_block(what, row) for row in found]))


def _block(what: str, row: Mapping[str, Any]) -> tuple[str, list[str]]:
    """A row's name, and its lines: what it is called, its values, where they are from."""
    if what in TABLES:
        values = [_value(key, row[key]) for key in SHORT[what] if row.get(key) not in (None, [], "")]
        source = f"[dim]{escape(str(row['source']))} ({escape(str(row['status']))})[/]"
        return f"[bold]{escape(str(row['key']))}[/]", [
            escape(str(row.get("name", ""))),
            escape("; ".join(values)),
            source,
        ]
    name, *rest = (escape(str(value)) for value in row.values() if value != "")
    if what == "presets":
        return f"[bold]{escape(Path(str(row['file'])).stem)}[/]", [
            *rest[:1],
            "; ".join(rest[1:]),
            f"[dim]{name}[/]",
        ]
    return f"[bold]{name}[/]", [*rest[:-1], f"[dim]{rest[-1]}[/]"]


def _value(key: str, value: object) -> str:
    end = next((end for end in UNITS if key.endswith(end)), "")
    text = ", ".join(map(str, value)) if isinstance(value, (list, tuple)) else str(value)
    return f"{key.removesuffix(end).replace('_', ' ')} {text} {UNITS.get(end, '')}".rstrip()
