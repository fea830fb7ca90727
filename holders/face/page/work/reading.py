"""Text from outside is read in a worker, never in the server's own loop: what takes long there keeps nobody waiting."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from typing import Any

from holders.core.errors import InputError
from holders.face.page.form.values import Refused, preset_of, text_of, told, values_of
from holders.face.page.work.orders import Unknown, lies_of, look_of, measure_of, ruler_of, stood_of
from holders.preset.blanked import blanked
from holders.preset.folder_name import slug_of
from holders.preset.load import text_of_bytes
from holders.preset.versions import current_text

Answer = dict[str, Any]


def opened(given: Mapping[str, Any]) -> Answer:
    """The form's values of a preset file, or of a file that carries one; a refusal shows its line."""
    text = ""
    try:
        text = text_of_bytes(given["data"], given["name"])
        return {"ok": True, "values": values_of(text, given["name"]), "notes": list(current_text(text)[1])}
    except InputError as error:
        lines = text.splitlines()
        shown = lines[error.line - 1].strip()[:200] if error.line and error.line <= len(lines) else ""
        return {"ok": False, "errors": [{**told(error), "text": shown}], "carried": bool(text)}


def own(values: Mapping[str, Any]) -> Answer:
    """The form without what somebody else measured on their scanner, stock, printer and film, and what that was."""
    kept, blanks = blanked(values)
    return {
        "ok": True,
        "values": kept,
        "blanks": [{"field": b.key.removesuffix("."), "theirs": str(b.theirs), "how": b.how} for b in blanks],
    }


def saved(values: Mapping[str, Any]) -> Answer:
    """The preset file of the form's values, and what it is called."""
    try:
        preset_of(values)
        text, preset = text_of(values)
        return {"ok": True, "name": f"{slug_of(preset.title)}.toml", "text": text}
    except Refused as refused:
        return {"ok": False, "errors": [told(error) for error in refused.errors]}
    except InputError as error:
        return {"ok": False, "errors": [told(error)]}


def ruled(given: Mapping[str, Any]) -> Answer:
    """The curl of a stood film from what a ruler shows, as a scan of it gives it; ``message`` for an unknown key."""
    from holders.face.page.work.curled import curled
    from holders.measure.curl.ruler import from_ruler

    read = ordered(ruler_of, given)
    if not read["ok"]:
        return read
    order = read["order"]
    try:
        found = from_ruler(order["chord"], order["rise"], base=order.get("base", ""))
    except InputError as error:
        field = f"curl.{error.field.removeprefix('--')}"
        return {"ok": False, "errors": [told(InputError(field, error.value, error.way_out))]}
    hollow = order.get("hollow")
    curl = -found.curl_per_m if hollow == "base" else found.curl_per_m
    return {"ok": True, **curled(curl, found.sigma, found.chord_mm, found.rise_mm, hollow)}


def ordered(order_of: Callable[[Mapping[str, Any]], Answer], given: Mapping[str, Any]) -> Answer:
    """What is asked of a scan, ready for the job that looks at it."""
    try:
        return {"ok": True, "order": order_of(given)}
    except Unknown as error:
        return {"ok": False, "message": str(error)}
    except Refused as refused:
        return {"ok": False, "errors": [told(error) for error in refused.errors]}
    except InputError as error:
        return {"ok": False, "errors": [told(error)]}


KINDS: Mapping[str, Callable[[Mapping[str, Any]], Answer]] = {
    "opened": opened,
    "saved": saved,
    "own": own,
    "ruler": ruled,
    "measure": partial(ordered, measure_of),
    "curl": partial(ordered, lambda given: stood_of(given["asked"])),
    "inspect": partial(ordered, lambda given: look_of(given["asked"])),
    "surface": partial(ordered, lambda given: lies_of(given["asked"])),
}
