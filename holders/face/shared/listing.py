"""Trade tables, checks and shipped presets as plain rows."""

from __future__ import annotations

from typing import Any

from holders.core.errors import InputError
from holders.facts.tables import nearest, table

TABLES = (
    "formats", "bases", "materials", "beds", "printers", "papers", "processes", "lamps", "hazards", "bars",
)  # fmt: skip
WHAT = (*TABLES, "checks", "presets")


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


def preset_rows() -> list[dict[str, Any]]:
    """The shipped presets."""
    from holders.preset.load import load
    from holders.preset.shipped import shipped_paths

    found = []
    for path in shipped_paths():
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
