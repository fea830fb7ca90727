"""``list``: trade tables, checks and shipped presets."""

from __future__ import annotations

from collections import Counter
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from holders.face.cli.markup import escape
from holders.face.shared.listing import TABLES, rows
from holders.facts.sources import STRONG_TO_WEAK, Source, grouped, said

SHORT: dict[str, tuple[str, ...]] = {
    "formats": ("cut_width_mm", "cut_height_mm", "image_width_mm", "image_height_mm", "base", "thickness_mm"),
    "bases": ("thickness_mm", "modulus_mpa", "density_kg_m3", "refractive_index"),
    "materials": ("routes", "laser", "limit_c", "stock_mm"),
    "beds": ("glass_width_mm", "glass_length_mm", "lamp_width_mm", "lamp_length_mm", "focus_height_mm"),
    "printers": ("build_x_mm", "build_y_mm", "build_z_mm", "nozzle_mm", "layer_mm"),
    "papers": ("width_mm", "height_mm"),
    "processes": ("wall_mm", "land_mm", "shoulder_mm"),
    "lamps": ("wavelength_nm", "width_nm", "mercury"),
    "hazards": ("words",),
    "bars": ("width_mm", "height_mm"),
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
        return f"[bold]{escape(str(row['key']))}[/]", [
            escape(str(row.get("name", ""))),
            escape("; ".join(values)),
            *(f"[dim]{escape(line)}[/]" for line in _sources(row)),
        ]
    name, *rest = (escape(str(value)) for value in row.values() if value != "")
    if what == "presets":
        return f"[bold]{escape(Path(str(row['file'])).stem)}[/]", [
            *rest[:1],
            "; ".join(rest[1:]),
            f"[dim]{name}[/]",
        ]
    return f"[bold]{name}[/]", [*rest[:-1], f"[dim]{rest[-1]}[/]"]


def _sources(row: Mapping[str, Any]) -> list[str]:
    """How many of a row's values were read, guessed and so on, and then each source with the values it is for."""
    sources = [Source(value=k, status=s["status"], text=s["source"]) for k, s in row["sources"].items()]
    if not sources:
        return [f"{row['status']}: {row['source']}"]
    counts = Counter(source.status for source in sources)
    summary = "; ".join(f"{counts[word]} {word}" for word in STRONG_TO_WEAK if counts[word])
    values = f"{len(sources)} values" if len(sources) > 1 else "1 value"
    return [
        f"{values}: {summary}; weakest: {row['status']}",
        *(f"{', '.join(_named(s.value)[0] for s in alike)}: {said(alike[0])}" for alike in grouped(sources)),
    ]


def _value(key: str, value: object) -> str:
    name, end = _named(key)
    text = ", ".join(map(str, value)) if isinstance(value, (list, tuple)) else str(value)
    return f"{name} {text} {UNITS.get(end, '')}".rstrip()


def _named(key: str) -> tuple[str, str]:
    """What a key names, in words, and the unit at its end."""
    end = next((end for end in UNITS if key.endswith(end)), "")
    return key.removesuffix(end).replace("_", " "), end
