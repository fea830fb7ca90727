"""What a browser asks of a scan, read in a worker: the slope, the stood film, the finished scan with its holder."""

from __future__ import annotations

import math
from collections.abc import Mapping
from pathlib import Path
from typing import Any

from holders.core.errors import InputError
from holders.face.page.form.values import preset_of, text_of
from holders.face.shared.ramp import ON_PAGE, RampWish, refuse_too_high
from holders.face.shared.slope import geometry_of
from holders.facts.tables import film_base
from holders.measure.slope.target.shape import TargetShape

NAMES = {
    "--rise": "rise", "--run": "run", "--start-height": "start_height", "--ramp": "ramp",
    "--target-thickness": "target_thickness", "--span": "span",
    "--target": "target",
}  # fmt: skip


SHEET_MM = (0.5, 12.0)
WISHED = {"sheet_mm": "sheet", "frame_mm": "frame"}  # of a ramp's numbers, those that the page asks for


class Unknown(Exception):
    """A question with a key that the page never sends; in words."""


def measure_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What to measure a slope with; a ramp's own file is written into the folder ``given["folder"]``.

    Raises ``InputError`` for a number or a file that makes no slope, ``Unknown`` for a key that is not known.
    """
    order = slope_of(given["asked"])
    path = None
    if "ramp_text" in order:
        path = Path(given["folder"]) / "ramp.json"
        path.write_text(order.pop("ramp_text"), encoding="utf-8")
        order["ramp"] = str(path)
    try:
        geometry_of(path, order.get("rise"), order.get("run"),
                    order.get("start_height") or 0.0, bool(order.get("reverse")))  # fmt: skip
        TargetShape(order.get("target"), order.get("target_thickness"), order.get("span"))
    except InputError as error:
        field = f"measure.{NAMES.get(error.field, 'ramp')}"
        value = "the ramp's file" if field == "measure.ramp" else error.value
        raise InputError(field, value, error.way_out) from None
    return order


def ramp_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What to make a focus ramp with: to which height its slope climbs, how thick its frame is, the measured thickness
    of the sheet that it is also to be cut from, the room below the closed lid; all optional.

    Raises ``InputError`` for a thickness that no sheet has, a ramp that cannot be built or does not fit below the lid.
    """
    numbers = {
        key: _number(f"ramp.{key}", given[key])
        for key in ("sheet", "high", "frame", "lid_room")
        if given.get(key) is not None
    }
    sheet, room = numbers.pop("sheet", None), numbers.pop("lid_room", None)
    if sheet is not None and not SHEET_MM[0] <= sheet <= SHEET_MM[1]:
        raise InputError("ramp.sheet", sheet, "give the sheet's measured thickness in mm, 0.5 to 12")
    wish = RampWish(**numbers)
    try:
        geometry = wish.geometry()
        if sheet is not None:
            geometry.from_sheet(sheet)
    except InputError as error:
        raise InputError(f"ramp.{WISHED.get(error.field, 'high')}", error.value, error.way_out) from None
    if room is not None:
        refuse_too_high(wish, sheet, room, ON_PAGE)
    return {"sheet": sheet, "wish": numbers}


def stood_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What to measure the curl of a stood film with: its hollow side, its base, the resolution; all optional.

    Raises ``InputError`` and ``Unknown`` as :func:`slope_of`.
    """
    if not given.keys() <= {"hollow", "base", "dpi"}:
        raise Unknown("an unknown question about the film")
    order: dict[str, Any] = {}
    if given.get("hollow") not in (None, ""):
        if given["hollow"] not in ("emulsion", "base"):
            raise InputError("curl.hollow", str(given["hollow"])[:40], "say emulsion or base")
        order["hollow"] = given["hollow"]
    if given.get("base") not in (None, ""):
        order["base"] = film_base(str(given["base"])[:80]).key
    if given.get("dpi") not in (None, ""):
        order["dpi"] = _dpi("curl.dpi", given["dpi"])
    return order


def ruler_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """Chord and rise of a stood film as a ruler shows them, its hollow side and its base.

    Raises ``InputError`` and ``Unknown`` as :func:`stood_of`.
    """
    order = stood_of({key: value for key, value in given.items() if key not in ("chord", "rise")})
    for key, words in (
        ("chord", "the distance between the film's two ends"),
        ("rise", "how far its middle is off"),
    ):
        if given.get(key) in (None, ""):
            raise InputError(f"curl.{key}", "(missing)", f"give {words}, in mm")
        order[key] = _number(f"curl.{key}", given[key])
    return order


def look_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What to look at a finished scan with: the form's holder as a preset's text, the resolution; both optional.

    Raises ``Refused`` for a form that is no preset, ``InputError`` and ``Unknown`` as :func:`slope_of`.
    """
    if not given.keys() <= {"values", "dpi"}:
        raise Unknown("an unknown question about the scan")
    order: dict[str, Any] = {}
    if isinstance(given.get("values"), dict):
        preset_of(given["values"])
        order["text"] = text_of(given["values"])[0]
    if given.get("dpi") not in (None, ""):
        order["dpi"] = _dpi("inspect.dpi", given["dpi"])
    return order


def lies_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What to measure a film's surface with: the form's holder, whose ledge carries the heights, the resolution, and
    whether a third scan comes, with the holder slid back.

    Raises ``InputError`` without a holder, and as :func:`look_of`.
    """
    if not isinstance(given.get("values"), dict):
        raise InputError(
            "surface.values", "(missing)", "fill in the form first: the holder's ledge carries the heights"
        )
    look = look_of({key: value for key, value in given.items() if key != "back"})
    return look | {"back": given.get("back") is True}


def slope_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """The slope's numbers as the form gives them.

    Raises ``InputError`` for one that is no number, ``Unknown`` for a key that is not known.
    """
    order: dict[str, Any] = {}
    for key, value in given.items():
        if value is None or value == "":
            continue
        if key in ("rise", "run", "start_height", "target_thickness", "span"):
            order[key] = _number(f"measure.{key}", value)
        elif key == "target" and isinstance(value, str):
            order[key] = value[:80]
        elif key == "dpi":
            order[key] = _dpi("measure.dpi", value)
        elif key == "reverse":
            order[key] = value is True
        elif key == "ramp_text" and isinstance(value, str):
            order[key] = value
        else:
            raise Unknown("an unknown question about the slope")
    if not order.get("ramp_text"):
        for key, words in (
            ("rise", "by how many mm the far end is higher"),
            ("run", "over what length, in mm"),
        ):
            if key not in order:
                raise InputError(f"measure.{key}", "(missing)", f"say {words}")
    return order


def _dpi(field: str, value: Any) -> float:
    number = _number(field, value)
    if not 1 <= number <= 50_000:
        raise InputError(field, number, "give pixels per inch, such as 2400")
    return number


def _number(field: str, value: Any) -> float:
    if isinstance(value, bool) or not isinstance(value, (int, float)) or not math.isfinite(value):
        raise InputError(field, value, "must be a plain number")
    return float(value)
