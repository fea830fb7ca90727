"""The ``holders`` program: the commands of the command line, and the page beside them."""

from __future__ import annotations

import atexit
import os
import sys
from contextlib import suppress
from typing import Annotated

import typer

from holders.core.bounds import bound_memory
from holders.core.interrupts import never_lost, once_is_enough
from holders.core.safe_text import safe_streams
from holders.face.cli.main import app
from holders.face.cli.told import told
from holders.film.folder import FOLDER, users_folder


@app.command(short_help="Open the page in your browser; nothing leaves this computer.")
@told
def page(
    port: Annotated[
        int | None, typer.Option("--port", metavar="N", help="Port; left out: the usual one.")
    ] = None,
    browser: Annotated[bool, typer.Option(help="Open it in the browser.")] = True,
) -> None:
    """Open the local page in your browser; nothing leaves this computer. Stop it with Ctrl-C."""
    from holders.face.page.server import serve

    serve(port, tell=typer.echo, open_browser=browser)


def run() -> None:
    """The ``holders`` program.

    Its end is cut short: unloading the CAD kernel piece by piece takes a quarter of a second and gives nothing.
    """
    safe_streams()
    never_lost()
    bound_memory()
    if folder := users_folder():
        os.environ.setdefault(FOLDER, str(folder))  # children inherit it
    ending = [1]
    atexit.register(lambda: _leave(ending[0]))  # the first to be registered runs last
    try:
        app()
    except SystemExit as done:
        ending[0] = done.code if isinstance(done.code, int) else int(done.code is not None)
        raise
    except KeyboardInterrupt:  # before a command has begun
        once_is_enough()
        ending[0] = 130
        raise


def _leave(code: int) -> None:
    """End at once, once all that was printed is out."""
    for stream in (sys.stdout, sys.stderr):
        with suppress(OSError, ValueError):  # its reader has gone
            stream.flush()
    os._exit(code)
