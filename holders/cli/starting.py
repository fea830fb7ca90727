"""``new``: a commented preset to start from."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import typer

from holders.facts import tables
from holders.preset.load import parse, writable
from holders.preset.resolve import resolve
from holders.preset.template import template

USUAL = {"print": "petg", "laser": "acrylic-cast", "knife": "mat-board"}


def start(
    file: Path,
    *,
    title: str | None,
    film_format: str,
    bed: str,
    route: str,
    material: str | None,
    lid: bool,
    feet: bool,
) -> None:
    """Write the preset; every name is looked up first, so that the file is valid from the start."""
    film = tables.film_format(film_format, field="--format")
    tables.bed(bed, field="--bed")
    tables.process(route, field="--route")
    chosen = material or USUAL[route]
    tables.material(chosen, field="--material")
    values: dict[str, Any] = {
        "title": title or f"{film.name}, {route}",
        "route": route,
        "bed": {"name": bed},
        "film": {"format": film_format, "emulsion": "down"},
        "material": {"name": chosen},
        "lip": {"all_mm": 2.0},
        "layout": {"count": 1},
    }
    if feet:
        values["feet"] = {"count": 4}
    if lid:
        values["lid"] = {"thickness_mm": 2.0}
    text = template(values, file.name)
    resolve(parse(text, str(file)))
    writable(file, text)
    typer.echo(f"wrote {file}; open it in any text editor, then: holders make {file}")
