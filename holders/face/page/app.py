"""The page's requests. Each is a few lines: read what came, ask a worker, answer."""

from __future__ import annotations

import secrets
import shutil
from collections.abc import AsyncIterator
from contextlib import asynccontextmanager
from dataclasses import dataclass
from pathlib import Path
from typing import Any

from fastapi import FastAPI, Request, Response
from fastapi.responses import FileResponse, JSONResponse

from holders.core.errors import InputError
from holders.core.limits import PAGE_MAKE_S
from holders.face.page import bodies
from holders.face.page.assets import assets
from holders.face.page.bodies import BadBody, read_bytes, read_json
from holders.face.page.form.form import form, shipped
from holders.face.page.form.values import Refused, told
from holders.face.page.guard import Guard
from holders.face.page.runfolder import make_folder
from holders.face.page.work.jobs import Busy, Jobs
from holders.face.page.work.orders import ramp_of
from holders.face.page.work.scans import add_scan_routes
from holders.face.page.work.worker import AnswerWorker, NoAnswer, TooBusy
from holders.preset.carried import MAX_CARRIER_BYTES, carries
from holders.preset.code import pictured
from holders.preset.load import MAX_BYTES


@dataclass
class Limits:
    """Bounds that tests set lower."""

    upload_bytes: int = bodies.UPLOAD_BYTES
    stall_s: float = bodies.STALL_S
    answer_s: float = 20.0
    job_s: float = 900.0
    make_s: float = PAGE_MAKE_S
    unwatched_s: float = 180.0


class Room:
    """What lives as long as the page: four workers, two of them with a helper, the jobs, the temporary folder."""

    def __init__(self, limits: Limits) -> None:
        self.limits = limits
        self.folder = make_folder()
        self.workers = {
            kind: AnswerWorker(limits.answer_s, helped=kind == "whole")
            for kind in ("sketch", "film", "whole")
        }
        # on a busy machine it comes last
        self.workers["steps"] = AnswerWorker(9 * limits.answer_s, aside=True, helped=True)
        self.jobs = Jobs(self.folder, limits.job_s, limits.unwatched_s, limits.make_s)

    def leave(self) -> None:
        """End the workers: whoever waits for an answer of theirs learns at once that there is none."""
        for worker in self.workers.values():
            worker.close()

    async def close(self) -> None:
        """End every process and remove every file."""
        self.leave()
        await self.jobs.close()
        shutil.rmtree(self.folder, ignore_errors=True)


def make_app(port: int, token: str | None = None, limits: Limits | None = None) -> Guard:
    """The page as an ASGI application, guarded. ``port`` is the one it is reached at; workers live in its lifespan."""
    token = token or secrets.token_urlsafe(32)

    @asynccontextmanager
    async def life(app: FastAPI) -> AsyncIterator[None]:
        app.state.room = Room(limits or Limits())
        try:
            yield
        finally:
            await app.state.room.close()

    def leave() -> None:
        app.state.room.leave()

    app = FastAPI(docs_url=None, redoc_url=None, openapi_url=None, lifespan=life)
    _add_errors(app)
    _add_files(app)
    _add_answers(app)
    _add_presets(app)
    _add_making(app)
    add_scan_routes(app)
    return Guard(app, port, token, lambda: Path(app.state.room.folder), leave)


def _add_errors(app: FastAPI) -> None:
    def words(status: int, text: str) -> JSONResponse:
        return JSONResponse(
            {"ok": False, "message": text}, status, {"connection": "close"} if status > 399 else None
        )

    @app.exception_handler(BadBody)
    async def bad_body(_request: Request, error: BadBody) -> JSONResponse:
        return words(error.status, error.words)

    @app.exception_handler(TooBusy)
    async def too_busy(_request: Request, _error: TooBusy) -> JSONResponse:
        return words(429, "too many questions at once")

    @app.exception_handler(NoAnswer)
    async def no_answer(_request: Request, error: NoAnswer) -> JSONResponse:
        return words(503, f"that holder could not be worked out: {error}")

    @app.exception_handler(Busy)
    async def busy(_request: Request, _error: Busy) -> JSONResponse:
        return words(409, "one is under way already: wait for it, or cancel it")

    @app.exception_handler(InputError)
    async def refused(_request: Request, error: InputError) -> JSONResponse:
        return JSONResponse({"ok": False, "errors": [told(error)]}, 422)

    @app.exception_handler(Refused)
    async def all_refused(_request: Request, error: Refused) -> JSONResponse:
        return JSONResponse({"ok": False, "errors": [told(one) for one in error.errors]}, 422)


def _add_files(app: FastAPI) -> None:
    @app.get("/")
    async def page() -> Response:
        return Response(assets()["index.html"].data, media_type="text/html; charset=utf-8")

    @app.get("/favicon.ico")
    async def icon() -> Response:
        return Response(status_code=204)

    @app.get("/static/{name}")
    async def static(name: str) -> Response:
        asset = assets().get(name)
        if asset is None or name == "index.html":
            return Response(status_code=404)
        return Response(asset.data, media_type=asset.media_type)


def _add_answers(app: FastAPI) -> None:
    @app.get("/api/form")
    async def fields() -> dict[str, Any]:
        return form()

    async def answered(
        worker: str, request: Request, kind: str | None = None, *, long: bool = False
    ) -> JSONResponse:
        values = await read_json(request)
        asked = app.state.room.workers[worker].ask(kind or worker, values, request.is_disconnected, long=long)
        return JSONResponse(await asked)

    @app.post("/api/sketch")
    async def sketch(request: Request) -> Response:
        return await answered("sketch", request)

    @app.post("/api/film")
    async def film(request: Request) -> Response:
        return await answered("film", request, "draft" if "drawing" in request.query_params else None)

    @app.post("/api/chance")
    async def chance(request: Request) -> Response:
        return await answered("whole", request, "chance")

    @app.post("/api/whole")
    async def whole(request: Request) -> Response:
        return await answered("whole", request)

    @app.post("/api/reroute")
    async def reroute(request: Request) -> Response:
        return await answered("sketch", request, "reroute")

    @app.post("/api/afresh")
    async def afresh(request: Request) -> Response:
        return await answered("sketch", request, "afresh")

    @app.post("/api/propose")
    async def propose(request: Request) -> Response:
        return await answered("steps", request, "propose", long=True)

    @app.post("/api/ahead")
    async def ahead(request: Request) -> Response:
        return await answered("steps", request, "ahead", long=True)

    @app.post("/api/routes")
    async def routes(request: Request) -> Response:
        return await answered("steps", request, "routes")

    @app.post("/api/steps")
    async def steps(request: Request) -> Response:
        return await answered("steps", request)


def _add_presets(app: FastAPI) -> None:
    @app.post("/api/open")
    async def open_preset(request: Request) -> Response:
        data = await read_bytes(request, MAX_CARRIER_BYTES)
        if len(data) > MAX_BYTES and carries(data) is None and not pictured(data):
            raise bodies.too_large(MAX_BYTES)
        return await _read(app, "opened", {"data": data, "name": "the file"})

    @app.post("/api/shipped")
    async def open_shipped(request: Request) -> Response:
        key = str((await read_json(request)).get("key"))
        row = shipped().get(key)
        if row is None:
            raise InputError("preset", key, "no such preset comes along")
        return await _read(app, "opened", {"data": Path(row["file"]).read_bytes(), "name": row["title"]})

    @app.post("/api/own")
    async def own_preset(request: Request) -> Response:
        return await _read(app, "own", await read_json(request))

    @app.post("/api/ruler")
    async def ruler(request: Request) -> Response:
        return await _read(app, "ruler", await read_json(request))

    @app.post("/api/save")
    async def save_preset(request: Request) -> Response:
        return await _read(app, "saved", await read_json(request))


async def _read(app: FastAPI, kind: str, given: dict[str, Any]) -> Response:
    """What a worker reads of it; refused, unless a preset was found and has a line to show."""
    answer = await app.state.room.workers["sketch"].ask(kind, given)
    return JSONResponse(answer, 200 if answer["ok"] or answer.get("carried") else 422)


def _add_making(app: FastAPI) -> None:
    @app.post("/api/make")
    async def make(request: Request) -> Response:
        wish = await read_json(request)
        values, anyway = wish.get("values"), wish.get("anyway")
        if not isinstance(values, dict) or not (anyway is None or isinstance(anyway, str)):
            raise BadBody(400, "the form's values are wanted")
        read = await app.state.room.workers["sketch"].ask("saved", values)
        if not read["ok"]:
            return JSONResponse(read, 422)
        reason = " ".join((anyway or "").split())[:500] or None
        job = app.state.room.jobs.open("make")
        app.state.room.jobs.run(job, {"text": read["text"], "folder": str(job.folder), "anyway": reason})
        return JSONResponse({"ok": True, **job.told()})

    @app.post("/api/ramp")
    async def ramp(request: Request) -> Response:
        order = ramp_of(await read_json(request))
        job = app.state.room.jobs.open("ramp")
        app.state.room.jobs.run(job, {**order, "folder": str(job.folder)})
        return JSONResponse({"ok": True, **job.told()})

    @app.get("/api/jobs/{key}")
    async def job_state(key: str) -> Response:
        job = app.state.room.jobs.get(key)
        return JSONResponse({"ok": True, **job.told()}) if job else Response(status_code=404)

    @app.delete("/api/jobs/{key}")
    async def job_cancel(key: str) -> Response:
        job = app.state.room.jobs.get(key)
        if job is None:
            return Response(status_code=404)
        app.state.room.jobs.cancel(job)
        return JSONResponse({"ok": True, **job.told()})

    @app.get("/api/jobs/{key}/zip")
    async def job_zip(key: str) -> Response:
        job = app.state.room.jobs.get(key)
        if job is None or job.kind not in ("make", "ramp") or job.state != "done":
            return Response(status_code=404)
        return FileResponse(job.folder / "holder.zip", media_type="application/zip")
