"""Tables and prose on a terminal: colours only where a terminal wants them, progress on standard error."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager

from rich.console import Console
from rich.markup import escape
from rich.table import Table

from holders.errors import printable
from holders.findings import Finding, amount

PIPED_WIDTH = 160  # a pipe has no width of its own; tables fold sooner than this on a terminal
LOOK = {"pass": "green", "warn": "yellow", "stop": "bold red", "skip": "dim"}


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
    """A plain table; long cells fold."""
    made = Table(title=title, title_justify="left", header_style="bold", show_lines=False)
    for name in columns:
        made.add_column(name, overflow="fold")
    for row in rows:
        made.add_row(*(escape(cell) for cell in row))
    return made


def grid(rows: Sequence[tuple[str, str]]) -> Table:
    """Names and values in two columns, without lines."""
    made = Table.grid(padding=(0, 2))
    for name, value in rows:
        made.add_row(escape(name), escape(value))
    return made


def findings_table(findings: Sequence[Finding]) -> Table:
    """Findings, the serious first."""
    from holders.checks.runner import worst_first

    made = Table(title="Checks", title_justify="left", header_style="bold")
    for name in ("", "check", "measured", "limit", "where and what to do"):
        made.add_column(name, overflow="fold")
    for f in worst_first(tuple(findings)):
        text = " - ".join(part for part in (f.where, f.advice) if part)
        made.add_row(
            f"[{LOOK[f.level]}]{f.level}[/]",
            escape(f"{f.title} ({f.code})"),
            escape(amount(f.measured, f.unit)),
            escape(amount(f.limit, f.unit)),
            escape(printable(text, 400)),
        )
    return made


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
