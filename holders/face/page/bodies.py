"""Reading what a browser sends, never more than asked for and never for longer than that takes."""

from __future__ import annotations

import asyncio
import json
import shutil
from collections.abc import AsyncIterator
from pathlib import Path
from typing import Any

from fastapi import Request
from starlette.requests import ClientDisconnect

JSON_BYTES = 128 * 1024  # a form with its note is some kilobytes
READ_S = 10.0
UPLOAD_BYTES = 2 * 1024**3
UPLOAD_S = 1200.0
STALL_S = 20.0
BROKEN_OFF = "the request broke off"
SPARE_BYTES = 256 * 1024**2  # left free on the disk


class BadBody(Exception):
    """What came cannot be taken: the HTTP status and words for a person."""

    def __init__(self, status: int, words: str) -> None:
        self.status = status
        self.words = words
        super().__init__(words)


async def read_bytes(request: Request, most: int) -> bytes:
    """The whole body, at most ``most`` bytes.

    Raises ``BadBody``.
    """
    _announced(request, most)
    data = bytearray()
    try:
        async with asyncio.timeout(READ_S):
            async for piece in request.stream():
                data += piece
                if len(data) > most:
                    raise too_large(most)
    except TimeoutError:
        raise BadBody(408, "the request came too slowly") from None
    except ClientDisconnect:
        raise BadBody(400, BROKEN_OFF) from None
    return bytes(data)


async def read_json(request: Request, most: int = JSON_BYTES) -> dict[str, Any]:
    """The body as a JSON object.

    Raises ``BadBody``.
    """
    if request.headers.get("content-type", "").partition(";")[0].strip() != "application/json":
        raise BadBody(415, "JSON is wanted")
    data = await read_bytes(request, most)
    try:
        found = json.loads(data)
        json.dumps(found, ensure_ascii=False).encode(
            "utf-8"
        )  # half a character (a lone surrogate) is no text
    except (ValueError, RecursionError):
        raise BadBody(400, "that is not JSON") from None
    if not isinstance(found, dict):
        raise BadBody(400, "a JSON object is wanted")
    return found


async def save(
    request: Request,
    target: Path,
    *,
    most: int = UPLOAD_BYTES,
    stall_s: float = STALL_S,
    most_s: float = UPLOAD_S,
) -> int:
    """Stream the body to a new file and return its size; nothing is kept of a body that is refused.

    Raises ``BadBody``.
    """
    size = _announced(request, most)
    if shutil.disk_usage(target.parent).free < (size or 0) + SPARE_BYTES:
        raise BadBody(507, "the disk has no room for the scan: free some space")
    try:
        async with asyncio.timeout(most_s):
            return await _stream(request, target, most, stall_s)
    except TimeoutError:
        target.unlink(missing_ok=True)
        raise BadBody(408, "the scan came too slowly") from None
    except ClientDisconnect:
        target.unlink(missing_ok=True)
        raise BadBody(400, BROKEN_OFF) from None
    except OSError as error:
        target.unlink(missing_ok=True)
        raise BadBody(507, f"the scan could not be stored: {error.strerror or error}") from None
    except BaseException:
        target.unlink(missing_ok=True)
        raise


async def _stream(request: Request, target: Path, most: int, stall_s: float) -> int:
    taken = 0
    with target.open("xb") as file:
        async for piece in _paced(request, stall_s):
            taken += len(piece)
            if taken > most:
                raise too_large(most)
            file.write(piece)
    if not taken:
        raise BadBody(400, "the file is empty")
    return taken


async def _paced(request: Request, stall_s: float) -> AsyncIterator[bytes]:
    pieces = request.stream()
    while True:
        try:
            async with asyncio.timeout(stall_s):
                piece = await anext(pieces)
        except StopAsyncIteration:
            return
        yield piece


def _announced(request: Request, most: int) -> int | None:
    text = request.headers.get("content-length")
    if text is None:
        return None
    if not text.isascii() or not text.isdigit():
        raise BadBody(400, "the length of the request is no number")
    if int(text) > most:
        raise too_large(most)
    return int(text)


def too_large(most: int) -> BadBody:
    """The refusal of a body of more than ``most`` bytes."""
    size = f"{most / 1024**3:g} GiB" if most >= 1024**3 else f"{most // 1024} KiB"
    return BadBody(413, f"too large: at most {size}")
