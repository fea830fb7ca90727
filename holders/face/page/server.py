"""Running the page: bound to this machine alone, stopped with Ctrl-C, nothing left behind."""

from __future__ import annotations

import contextlib
import os
import signal
import socket
import sys
import webbrowser
from collections.abc import Callable
from typing import Any

import uvicorn

from holders.core.errors import InputError, MachineError
from holders.face.page.app import Limits, make_app
from holders.face.page.patience import Patient
from holders.face.page.runfolder import leading_to

ADDRESS = "127.0.0.1"
USUAL_PORT = 8620
AT_ONCE = 40  # connections
BACKLOG = 128


def serve(
    port: int | None = None,
    *,
    tell: Callable[[str], None] = print,
    open_browser: bool = True,
    limits: Limits | None = None,
) -> None:
    """Serve the page until Ctrl-C or a polite kill.

    Parameters
    ----------
    port:
        The port on 127.0.0.1; None takes the usual one or, where that is taken, any free one; 0 any free one.
    tell:
        Called with the page's address once it can be opened; the key to it stands behind the #.
    open_browser:
        Open it in the desktop's browser, where there is a desktop.
    limits:
        Bounds of uploads and jobs.

    Raises
    ------
    holders.core.errors.InputError
        The port is no port, or is taken.
    holders.core.errors.MachineError
        The machine lets no server start.
    """
    with contextlib.closing(bound(port)) as listener:
        number = listener.getsockname()[1]
        app = make_app(number, limits=limits)
        address = f"http://{ADDRESS}:{number}/#{app.token}"

        def ready() -> None:
            tell(address)
            if open_browser and _desktop():
                webbrowser.open(leading_to(address, app.folder()).as_uri())

        server = _Server(uvicorn.Config(
            app, log_level="warning", access_log=False, server_header=False,
            limit_concurrency=AT_ONCE, timeout_keep_alive=30, timeout_graceful_shutdown=2, ws="none",
            lifespan="on", loop="asyncio", http=Patient,
        ), ready, app.leave)  # fmt: skip
        with contextlib.suppress(KeyboardInterrupt):
            server.run(sockets=[listener])


def bound(port: int | None) -> socket.socket:
    """A socket that listens on this machine alone.

    Raises as :func:`serve`.
    """
    if port is not None and not 0 <= port <= 65535:
        raise InputError("--port", port, "give a number from 1024 to 65535")
    for wish in (USUAL_PORT, 0) if port is None else (port,):
        found = socket.socket(socket.AF_INET, socket.SOCK_STREAM)
        if sys.platform != "win32":
            found.setsockopt(socket.SOL_SOCKET, socket.SO_REUSEADDR, 1)
        try:
            found.bind((ADDRESS, wish))
            found.listen(BACKLOG)  # now: two that start together may both bind, and only one of them listen
        except PermissionError:
            found.close()
            raise InputError(
                "--port", wish, "is kept for the system: give a number from 1024 to 65535"
            ) from None
        except OSError as error:
            found.close()
            if port is not None:
                raise InputError("--port", wish, f"{error.strerror}: give another number") from None
            continue
        return found
    raise MachineError("no free port on this machine: close some programs and try again")


class _Server(uvicorn.Server):
    """Tells when the page can be opened, and treats a closed terminal like Ctrl-C."""

    def __init__(self, config: uvicorn.Config, ready: Callable[[], None], leave: Callable[[], None]) -> None:
        super().__init__(config)
        self._ready, self._leave = ready, leave

    async def shutdown(self, sockets: list[socket.socket] | None = None) -> None:
        self._leave()  # else what is under way would be waited for, then cancelled with a traceback
        await super().shutdown(sockets=sockets)

    async def startup(self, sockets: list[socket.socket] | None = None) -> None:
        await super().startup(sockets=sockets)
        if self.started:
            if hasattr(signal, "SIGHUP"):
                with contextlib.suppress(ValueError):  # not in the main thread
                    signal.signal(signal.SIGHUP, self._closed)
            self._ready()

    def _closed(self, *_: Any) -> None:
        self.should_exit = True


def _desktop() -> bool:
    return sys.platform in ("win32", "darwin") or any(
        os.environ.get(n) for n in ("DISPLAY", "WAYLAND_DISPLAY")
    )
