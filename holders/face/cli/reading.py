"""Asking for what was read off a test piece, one reading after the other; or taking the readings as options."""

from __future__ import annotations

import sys
from collections.abc import Callable, Sequence
from typing import Any

import typer

from holders.core.errors import InputError
from holders.facts.models import Route
from holders.facts.tables import nearest

MANY = ("holes_mm", "plugs_mm", "heights_mm", "glued_sheets_mm")
ENGRAVED = ("pocket", "slot")
NUMBERS = ("0", "10", "20", "30", "40")
SIDES = "mm, as many readings as you like, spaces between"
QUESTIONS: dict[str, str] = {
    "thickness_mm": "Thickness engraved after the material's name, mm",
    "holes_mm": f"Sides of the square hole, {SIDES}",
    "plugs_mm": f"Sides of the loose plug, {SIDES}",
    "pocket": f"Number beside the tightest pocket that the plug goes into ({', '.join(NUMBERS)})",
    "slot": f"Number beside the tightest slot that the tongue goes into, on edge ({', '.join(NUMBERS)})",
    "tongue_mm": "Thickness of the tongue, measured, mm",
    "heights_mm": "The three steps of the stair, lowest first, mm, spaces between",
    "glued_sheets_mm": "Thickness of each scrap before gluing, mm, spaces between",
    "glued_mm": "Height of the glued pile when set, mm",
}
OF_ROUTE: dict[Route, tuple[str, ...]] = {
    "print": ("thickness_mm", "pocket", "slot", "tongue_mm", "heights_mm"),
    "laser": ("thickness_mm", "holes_mm", "plugs_mm", "pocket", "glued_sheets_mm", "glued_mm"),
    "knife": ("thickness_mm", "pocket", "glued_sheets_mm", "glued_mm"),
}


def given(options: Sequence[str]) -> dict[str, Any]:
    """Readings from options ``KEY=VALUE``.

    Raises ``InputError`` for an unknown key or what is no number.
    """
    found: dict[str, Any] = {}
    for option in options:
        key, equals, text = option.partition("=")
        key = key.strip()
        if not equals or key not in QUESTIONS:
            close = nearest(key, list(QUESTIONS))
            hint = f"; did you mean {close}?" if close and close != key else ""
            raise InputError("--reading", option, f"give KEY=VALUE, KEY one of {', '.join(QUESTIONS)}{hint}")
        found[key] = value_of(key, text, "--reading")
    return found


def asked(route: Route, known: dict[str, Any], ask: Callable[[str], str] | None = None) -> dict[str, Any]:
    """Readings asked for one by one; an empty answer skips one. ``known`` are not asked for again.

    Raises ``InputError`` when nobody answers (no terminal).
    """
    put: Callable[[str], str] = _prompt if ask is None else ask
    typer.echo(
        "What did the test piece tell? Press Enter to skip a reading. A decimal comma is read as a point."
    )
    found = dict(known)
    for key in OF_ROUTE[route]:
        while key not in known:
            answer = put(QUESTIONS[key]).strip()
            if not answer:
                break
            try:
                found[key] = value_of(key, answer, QUESTIONS[key])
            except InputError as error:
                typer.echo(f"  {error.way_out}")
                continue
            break
    return found


def _prompt(question: str) -> str:
    try:
        return str(typer.prompt(question, default="", show_default=False))
    except typer.Abort:
        if sys.stdin.isatty():
            raise KeyboardInterrupt from None
        raise InputError(
            "--coupon", "(no answer)", "nobody is at the keyboard: give the readings as --reading KEY=VALUE"
        ) from None


def value_of(key: str, text: str, field: str) -> Any:
    """One answer as the preset wants it.

    Raises ``InputError`` for what is no length or no number of the test piece.
    """
    words = text.replace(";", " ").replace("mm", " ").split()
    if key in ENGRAVED:
        if len(words) != 1 or words[0] not in NUMBERS:
            raise InputError(field, text, f"is one of the numbers engraved: {', '.join(NUMBERS)}")
        return int(words[0])
    try:
        numbers = [float(word.replace(",", ".")) for word in words]
    except ValueError:
        numbers = []
    if not numbers or not all(0 < number <= 100 for number in numbers):
        raise InputError(field, text, "plain lengths in mm, such as 20.18")
    if key in MANY:
        return numbers
    if len(numbers) > 1:
        raise InputError(field, text, "give one length")
    return numbers[0]
