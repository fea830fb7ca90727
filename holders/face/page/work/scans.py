"""Scans come in, measured or inspected: first what they show, in numbers, then the files, then the answer."""

from __future__ import annotations

from fastapi import FastAPI, Request, Response
from fastapi.responses import JSONResponse

from holders.face.page.bodies import JSON_BYTES, read_json, save
from holders.face.page.work.jobs import SCANS
from holders.preset.load import MAX_BYTES


def add_scan_routes(app: FastAPI) -> None:
    """Two steps, so that a wrong number is told before a large file is sent."""

    async def begun(kind: str, request: Request, most: int = JSON_BYTES) -> Response:
        asked = await read_json(request, most)
        room = app.state.room
        job = room.jobs.open(kind)
        try:  # a worker reads it: what takes long there keeps nobody waiting
            read = await room.workers["sketch"].ask(kind, {"asked": asked, "folder": str(job.folder)})
        except BaseException:
            room.jobs.cancel(job)
            raise
        if not read["ok"]:
            room.jobs.cancel(job)
            return JSONResponse(read, 400 if "message" in read else 422)
        job.order = read["order"]
        return JSONResponse({"ok": True, "most_bytes": room.limits.upload_bytes, **job.told()})

    @app.post("/api/measure")
    async def measure(request: Request) -> Response:
        return await begun("measure", request, MAX_BYTES + 4096)

    @app.post("/api/curl")
    async def curl(request: Request) -> Response:
        return await begun("curl", request)

    @app.post("/api/inspect")
    async def inspect(request: Request) -> Response:
        return await begun("inspect", request)

    @app.post("/api/surface")
    async def surface(request: Request) -> Response:
        return await begun("surface", request)

    @app.put("/api/scan/{key}")
    async def upload(request: Request, key: str) -> Response:
        room = app.state.room
        job = room.jobs.get(key)
        if job is None or job.kind not in SCANS or job.state != "waiting":
            return Response(status_code=404)
        job.state = "uploading"
        target = job.folder / f"scan{len(job.scans) + 1}"
        try:
            await save(request, target, most=room.limits.upload_bytes, stall_s=room.limits.stall_s)
        except BaseException:
            room.jobs.cancel(job)
            raise
        if job.state != "uploading":
            return JSONResponse({"ok": True, **job.told()})
        job.scans.append(str(target))
        if len(job.scans) < SCANS[job.kind] + bool(job.order.get("back")):
            job.state = "waiting"  # for the next
        else:
            room.jobs.run(job, {**job.order, "scan": job.scans[0], "scans": list(job.scans)})
        return JSONResponse({"ok": True, **job.told()})
