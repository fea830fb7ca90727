"""Who may talk to the page: this machine's own browser, from the page's own address, with this run's token.

Another site can make a browser send requests here. It does not know the token, cannot set our header without asking
first (which is never granted), and a name of its own that it points at this machine does not match the Host header
that is wanted.

Another user of this machine can ask for the page's files, which hold no secret. The token stands behind the # of the
address that is shown to whoever started the page, and reaches a browser through a file that only this user may read:
neither an answer nor a command line holds it.
"""

from __future__ import annotations

import secrets
from collections.abc import Awaitable, Callable, MutableMapping
from pathlib import Path
from typing import Any

Scope = MutableMapping[str, Any]
Message = MutableMapping[str, Any]
Receive = Callable[[], Awaitable[Message]]
Send = Callable[[Message], Awaitable[None]]
App = Callable[[Scope, Receive, Send], Awaitable[None]]

TOKEN_HEADER = "x-holders-token"
METHODS = ("GET", "POST", "PUT", "DELETE")
HEADERS = {
    "content-security-policy": "default-src 'self'; img-src 'self' data:; object-src 'none'; base-uri 'none'; "
    "form-action 'none'; frame-ancestors 'none'",
    "x-content-type-options": "nosniff",
    "x-frame-options": "DENY",
    "referrer-policy": "no-referrer",
    "cross-origin-opener-policy": "same-origin",
    "cross-origin-resource-policy": "same-origin",
    "cache-control": "no-store",
}


class Guard:
    """Turns away every request that does not come from the page itself, and adds the protecting headers."""

    def __init__(
        self, app: App, port: int, token: str, folder: Callable[[], Path], leave: Callable[[], None]
    ) -> None:
        self.app = app
        self.token = token
        self.folder = folder  # of this run, while it lasts
        self.leave = leave  # ends the answers that are under way
        self.hosts = frozenset({f"127.0.0.1:{port}", f"localhost:{port}"})
        self.origins = frozenset(f"http://{host}" for host in self.hosts)

    async def __call__(self, scope: Scope, receive: Receive, send: Send) -> None:
        """Let a request in, or answer it here."""
        if scope["type"] == "lifespan":
            await self.app(scope, receive, send)
            return
        if scope["type"] != "http":
            await send({"type": "websocket.close", "code": 1008})
            return
        why = self.refusal(scope)
        if why is None:
            await self.app(scope, receive, _with_headers(send))
        else:
            await _refuse(_with_headers(send), why)

    def refusal(self, scope: Scope) -> str | None:
        """Why a request is turned away, or None."""
        headers: dict[str, list[str]] = {}
        for name, value in scope["headers"]:
            headers.setdefault(name.decode("latin-1").lower(), []).append(value.decode("latin-1"))
        if len(headers.get("host", [])) != 1 or headers["host"][0].lower() not in self.hosts:
            return "this page answers only to its own address on this machine"
        if scope["method"] not in METHODS:
            return "this page knows no such request"
        api = scope["path"].startswith("/api/")
        if any(origin not in self.origins for origin in headers.get("origin", [])):
            return "requests from other sites are refused"
        allowed = {"same-origin"} if api else {"same-origin", "none"}
        opened = scope["path"] == "/" and _opens(headers)
        if not opened and any(site not in allowed for site in headers.get("sec-fetch-site", [])):
            return "requests from other sites are refused"
        given = headers.get(TOKEN_HEADER, [""])
        if api and not (len(given) == 1 and secrets.compare_digest(given[0].encode(), self.token.encode())):
            return (
                "this page has no key of this run: open it by the whole address that holders page has shown"
            )
        return None


def _opens(headers: dict[str, list[str]]) -> bool:
    """Whether a window is led to the page, as our own file does; no other site reads what it then shows."""
    return headers.get("sec-fetch-mode") == ["navigate"] and headers.get("sec-fetch-dest") == ["document"]


def _with_headers(send: Send) -> Send:
    async def sending(message: Message) -> None:
        if message["type"] == "http.response.start":
            ours = [(name.encode(), value.encode()) for name, value in HEADERS.items()]
            kept = [
                pair
                for pair in message.get("headers", ())
                if pair[0].decode("latin-1").lower() not in HEADERS
            ]
            message = {**message, "headers": [*kept, *ours]}
        await send(message)

    return sending


async def _refuse(send: Send, why: str) -> None:
    body = why.encode()
    head = [(b"content-type", b"text/plain; charset=utf-8"), (b"content-length", str(len(body)).encode())]
    await send({"type": "http.response.start", "status": 403, "headers": [*head, (b"connection", b"close")]})
    await send({"type": "http.response.body", "body": body})
