"""``list``: trade tables, checks and shipped presets."""

from __future__ import annotations

from collections.abc import Mapping
from pathlib import Path
from typing import Any

from rich.markup import escape

import holders
from holders.errors import InputError
from holders.facts.tables import nearest, table

TABLES = ("formats", "bases", "materials", "beds", "printers", "papers", "processes")
WHAT = (*TABLES, "checks", "presets")
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


def rows(what: str) -> list[dict[str, Any]]:
    """The rows of a listing as plain values.

    Raises ``InputError`` for a listing that does not exist.
    """
    if what in TABLES:
        return [row.model_dump(mode="json") for row in table(what)]
    if what == "checks":
        from holders.checks.catalogue import rows as check_rows

        return [dict(row) for row in check_rows()]
    if what == "presets":
        return preset_rows()
    close = nearest(what, WHAT)
    hint = f'did you mean "{close}"? ' if close else ""
    raise InputError("WHAT", what, f"{hint}one of {', '.join(WHAT)}")


def preset_folder() -> Path:
    """Where the shipped presets are: beside the package in a clone, else in the current folder."""
    beside = Path(holders.__file__).resolve().parent.parent / "presets"
    return beside if beside.is_dir() else Path("presets")


def preset_rows() -> list[dict[str, Any]]:
    """The shipped presets."""
    from holders.preset.load import load

    found = []
    for path in sorted(preset_folder().glob("*.toml")):
        preset = load(path)
        found.append(
            {
                "file": str(path),
                "title": preset.title,
                "route": preset.route,
                "film": getattr(preset.film, "format", ""),
                "material": getattr(preset.material, "name", ""),
            }
        )
    return found


def show(what: str, as_json: bool) -> None:
    """Print a listing."""
    found = rows(what)
    if as_json:
        from holders.cli.main import print_json

        print_json({"what": what, "rows": found})
        return
    from holders.cli import show as terminal

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
