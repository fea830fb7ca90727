"""Turning what went wrong into one clear message and the promised exit code."""

from __future__ import annotations

import errno
import functools
import sys
from collections.abc import Callable
from contextlib import nullcontext
from typing import ParamSpec, TypeVar

import typer

from holders.core.bounds import bounded_time
from holders.core.errors import HoldersError, printable
from holders.core.interrupts import once_is_enough
from holders.core.plain_text import escaped

ENDLESS = ("page",)  # its workers are bounded, each order by itself

P = ParamSpec("P")
R = TypeVar("R")


def told(command: Callable[P, R]) -> Callable[P, R]:
    """Wrap a command so that a user never meets a traceback for input or machine trouble, nor waits without end."""
    bounded = nullcontext if command.__name__ in ENDLESS else bounded_time

    @functools.wraps(command)
    def wrapped(*args: P.args, **kwargs: P.kwargs) -> R:
        try:
            with bounded():
                return command(*args, **kwargs)
        except HoldersError as error:
            typer.echo(escaped(f"holders: {error}"), err=True)
            raise typer.Exit(error.exit_code) from None
        except BrokenPipeError:
            sys.stderr.close()  # the reader has gone; nothing is left to tell
            raise typer.Exit(0) from None
        except OSError as error:
            typer.echo(f"holders: {_machine(error)}", err=True)
            raise typer.Exit(3) from None
        except MemoryError:
            typer.echo("holders: the machine ran out of memory; close other programs and try again", err=True)
            raise typer.Exit(3) from None
        except KeyboardInterrupt:
            once_is_enough()
            typer.echo("holders: stopped; nothing was half-written", err=True)
            raise typer.Exit(130) from None

    return wrapped


def _machine(error: OSError) -> str:
    where = f"{printable(str(error.filename))}: " if error.filename else ""
    hint = {
        errno.ENOSPC: "the disk is full; make room and try again",
        errno.EACCES: "no right to write there; choose another folder with --out",
        errno.EROFS: "the disk is read-only; choose another folder with --out",
    }.get(error.errno or 0, f"{error.strerror or error}; check the disk and the folder's rights")
    return where + hint
