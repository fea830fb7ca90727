"""Tables and prose on a terminal: colours only where a terminal wants them, progress on standard error."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from holders.core.errors import printable
from holders.core.findings import Finding, number_words
from holders.face.cli.markup import escape

PIPED_WIDTH = 160  # a pipe has no width of its own; tables fold sooner than this on a terminal
LOOK = {"pass": "green", "warn": "yellow", "stop": "bold red", "skip": "dim"}
QUIET = ("pass", "skip")


def out() -> Console:
    """Standard output (rich honours NO_COLOR and pipes)."""
    console = Console(highlight=False)
    if not console.is_terminal:
        console.width = PIPED_WIDTH
    return console


def err() -> Console:
    """Standard error, for progress and prose beside JSON."""
    return Console(stderr=True, highlight=False)


def table(title: str, columns: Sequence[str], rows: Sequence[Sequence[str]]) -> Table:
    """A plain table, narrow; long cells fold."""
    made = Table(
        title=title,
        title_justify="left",
        header_style="bold",
        box=SIMPLE_HEAD,
        show_edge=False,
        padding=(0, 1, 0, 0),
    )
    for name in columns:
        made.add_column(name, overflow="fold", min_width=len(name))  # a head stays on one line
    for row in rows:
        made.add_row(*(escape(cell) for cell in row))
    return made


def grid(rows: Sequence[tuple[str, str]]) -> Table:
    """Names and values in two columns, without lines."""
    made = Table.grid(padding=(0, 2))
    for name, value in rows:
        made.add_row(escape(name), escape(value))
    return made


def blocks(rows: Sequence[tuple[str, Sequence[str]]]) -> Table:
    """Names, each with its lines beside it; lines wrap at words, so that any width of terminal will do."""
    made = Table.grid(padding=(0, 2))
    made.add_column(no_wrap=True)
    made.add_column(overflow="fold")
    for name, lines in rows:
        made.add_row(name, "\n".join(lines))
    return made


def findings_rows(findings: Sequence[Finding], everything: bool) -> Table:
    """What says stop or warns, in full, the serious first; with ``everything`` also what passed or does not apply."""
    from holders.checks.runner import worst_first

    rows = []
    for f in worst_first(tuple(findings)):
        if f.level in QUIET and not everything:
            continue
        head = f"[bold]{escape(f.title)}[/] ({escape(f.code)})"
        rest = [escape(printable(words, 10_000)) for words in (number_words(f), f.where, f.advice) if words]
        if f.advice and f.level not in QUIET:
            rest[-1] = f"[italic]what to do:[/] {rest[-1]}"
        rows.append((f"[{LOOK[f.level]}]{f.level}[/]", (head, *rest)))
    return blocks(rows)


def counted(findings: Sequence[Finding]) -> str:
    """How many findings there are of each kind."""
    count = {level: sum(f.level == level for f in findings) for level in LOOK}
    return ", ".join(
        f"{number} {one if number == 1 else more}"
        for number, one, more in (
            (count["stop"], "stop", "stops"),
            (count["warn"], "warning", "warnings"),
            (count["pass"], "passed", "passed"),
            (count["skip"], "does not apply", "do not apply"),
        )
    )


@contextmanager
def working(text: str) -> Iterator[None]:
    """A progress line on standard error while something takes long (only on a terminal)."""
    console = err()
    if not console.is_terminal:
        yield
        return
    with console.status(escape(text)):
        yield


@contextmanager
def counting(what: str) -> Iterator[Callable[[int, int, str], None]]:
    """Progress of a batch on standard error: a line that changes on a terminal, else a line for each that is done."""
    console = err()
    if not console.is_terminal:
        yield lambda done, count, name: console.print(f"{what} {done} of {count}: {escape(printable(name))}")
        return
    with console.status(f"{what}: 0") as status:
        yield lambda done, count, name: status.update(f"{what} {done} of {count}: {escape(printable(name))}")
