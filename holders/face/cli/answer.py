"""The machine-readable answer of a command."""

from __future__ import annotations

import json
from typing import Any

import typer


def print_json(value: dict[str, Any]) -> None:
    """One JSON object on standard output; nan and inf never leave here."""
    typer.echo(json.dumps(value, allow_nan=False))
