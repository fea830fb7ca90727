"""A scan comes in, measured or inspected: first what it shows, in numbers, then the file itself, then the answer."""

from __future__ import annotations

import math
from collections.abc import Mapping
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.responses import JSONResponse

from holders.core.errors import InputError
from holders.face.page.bodies import BadBody, read_json, save
from holders.face.page.form.values import preset_of, text_of
from holders.face.page.work.jobs import SCANS
from holders.face.shared.slope import geometry_of
from holders.facts.tables import film_base
from holders.preset.load import MAX_BYTES

NAMES = {"--rise": "rise", "--run": "run", "--start-height": "start_height", "--ramp": "ramp"}


def add_scan_routes(app: FastAPI) -> None:
    """Two steps, so that a wrong number is told before a large file is sent."""

    @app.post("/api/measure")
    async def begin(request: Request) -> dict[str, Any]:
        order = slope_of(await read_json(request, MAX_BYTES + 4096))
        job = app.state.room.jobs.open("measure")
        if "ramp_text" in order:
            path = job.folder / "ramp.json"
            path.write_text(order.pop("ramp_text"), encoding="utf-8")
            order["ramp"] = str(path)
        try:
            geometry_of(path if order.get("ramp") else None, order.get("rise"), order.get("run"),
                        order.get("start_height") or 0.0, bool(order.get("reverse")))  # fmt: skip
        except InputError as error:
            app.state.room.jobs.cancel(job)
            field = f"measure.{NAMES.get(error.field, 'ramp')}"
            value = "the ramp's file" if field == "measure.ramp" else error.value
            raise InputError(field, value, error.way_out) from None
        job.order = order
        return {"ok": True, "most_bytes": app.state.room.limits.upload_bytes, **job.told()}

    @app.post("/api/curl")
    async def stood(request: Request) -> dict[str, Any]:
        order = stood_of(await read_json(request))
        job = app.state.room.jobs.open("curl")
        job.order = order
        return {"ok": True, "most_bytes": app.state.room.limits.upload_bytes, **job.told()}

    @app.post("/api/inspect")
    async def look(request: Request) -> dict[str, Any]:
        order = look_of(await read_json(request))
        job = app.state.room.jobs.open("inspect")
        job.order = order
        return {"ok": True, "most_bytes": app.state.room.limits.upload_bytes, **job.told()}

    @app.put("/api/scan/{key}")
    async def upload(request: Request, key: str) -> Response:
        room = app.state.room
        job = room.jobs.get(key)
        if job is None or job.kind not in SCANS or job.state != "waiting":
            return Response(status_code=404)
        job.state = "uploading"
        target = job.folder / "scan"
        try:
            await save(request, target, most=room.limits.upload_bytes, stall_s=room.limits.stall_s)
        except BaseException:
            room.jobs.cancel(job)
            raise
        if job.state != "uploading":
            return JSONResponse({"ok": True, **job.told()})
        room.jobs.run(job, {**job.order, "scan": str(target)})
        return JSONResponse({"ok": True, **job.told()})


def stood_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What to measure the curl of a stood film with: its hollow side, its base, the resolution; all optional.

    Raises ``InputError`` and ``BadBody`` as :func:`slope_of`.
    """
    if not given.keys() <= {"hollow", "base", "dpi"}:
        raise BadBody(400, "an unknown question about the film")
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


def look_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """What to look at a finished scan with: the form's holder as a preset's text, the resolution; both optional.

    Raises ``Refused`` for a form that is no preset, ``InputError`` and ``BadBody`` as :func:`slope_of`.
    """
    if not given.keys() <= {"values", "dpi"}:
        raise BadBody(400, "an unknown question about the scan")
    order: dict[str, Any] = {}
    if isinstance(given.get("values"), dict):
        preset_of(given["values"])
        order["text"] = text_of(given["values"])[0]
    if given.get("dpi") not in (None, ""):
        order["dpi"] = _dpi("inspect.dpi", given["dpi"])
    return order


def slope_of(given: Mapping[str, Any]) -> dict[str, Any]:
    """The slope's numbers as the form gives them.

    Raises ``InputError`` for one that is no number, ``BadBody`` for a key that is not known.
    """
    order: dict[str, Any] = {}
    for key, value in given.items():
        if value is None or value == "":
            continue
        if key in ("rise", "run", "start_height"):
            order[key] = _number(f"measure.{key}", value)
        elif key == "dpi":
            order[key] = _dpi("measure.dpi", value)
        elif key == "reverse":
            order[key] = value is True
        elif key == "ramp_text" and isinstance(value, str):
            order[key] = value
        else:
            raise BadBody(400, "an unknown question about the slope")
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
