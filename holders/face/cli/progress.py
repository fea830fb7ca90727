"""A progress bar on standard error."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from contextlib import contextmanager

from holders.face.cli import show
from holders.face.cli.markup import escape

Progress = Callable[[str, float], None]


@contextmanager
def progress_line() -> Iterator[Progress]:
    """A progress bar on standard error of a terminal; elsewhere one line, if it takes long."""
    console = show.err()
    if not console.is_terminal:
        with show.said_if_long("reading the scan"):
            yield lambda _what, _share: None
        return
    from rich.progress import BarColumn, TextColumn
    from rich.progress import Progress as Bar

    with Bar(TextColumn("{task.description}"), BarColumn(), console=console, transient=True) as bar:
        task = bar.add_task("reading", total=1.0)
        yield lambda what, share: bar.update(task, description=escape(what), completed=share)
