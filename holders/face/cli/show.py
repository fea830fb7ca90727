"""Tables and prose on a terminal: colours only where a terminal wants them, progress on standard error."""

from __future__ import annotations

from collections.abc import Callable, Iterator, Sequence
from contextlib import contextmanager, suppress
from threading import Timer

from rich.box import SIMPLE_HEAD
from rich.console import Console
from rich.table import Table

from holders.core.errors import printable
from holders.core.findings import (
    OUTSIDE,
    Finding,
    consequence_words,
    is_outside,
    number_words,
    with_consequences,
)
from holders.face.cli.markup import escape

PATIENCE_S = 3.0  # of silence before a line says what is being done
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


def findings_rows(findings: Sequence[Finding], everything: bool, *, helped: bool = False) -> Table:
    """What says stop or warns, in full, the serious first; with ``everything`` also what passed or does not apply.

    What follows from another finding is one line below it, and stands in full only with ``everything``. ``helped``: the
    steps that gain stand above.
    """
    from holders.checks.runner import worst_first

    rows = []
    for cause, following in with_consequences(worst_first(tuple(findings))):
        if cause.level in QUIET and not everything:
            continue
        rows.append(_block(cause, "" if everything else consequence_words(following), helped))
        rows += [_block(one, "", helped) for one in following if everything]
    return blocks(rows)


def _block(f: Finding, also: str, helped: bool) -> tuple[str, Sequence[str]]:
    """The level of a finding, and its lines."""
    lines = [f"[bold]{escape(f.title)}[/] ({escape(f.code)})"]
    lines += [escape(printable(words, 10_000)) for words in (number_words(f), f.where) if words]
    if f.follows_from:
        lines.append(escape(f"follows from: {f.follows_from}"))
    elif f.advice:
        do = escape(printable(advice_words(f.advice) if helped else f.advice, 10_000))
        lines.append(do if f.level in QUIET else f"[italic]what to do:[/] {do}")
    if also:
        lines.append(escape(also))
    return f"[{LOOK[f.level]}]{'outside' if is_outside(f) else f.level}[/]", lines


def advice_words(advice: str) -> str:
    """Advice as it is said where the steps that gain stand above it."""
    from holders.checks.base import TRIED

    return advice.replace(TRIED, "see what would help, above")


def outside_words(findings: Sequence[Finding]) -> str:
    """The numbers that lie outside their limits and do not warn, by name in one line; "" for none."""
    names = dict.fromkeys(f"{f.title[:1].lower()}{f.title[1:]}" for f in findings if is_outside(f))
    return f"{OUTSIDE}: {'; '.join(names)}" if names else ""


def counted(findings: Sequence[Finding]) -> str:
    """How many findings there are of each kind; of the stops how many only follow from another."""
    count = {level: sum(f.level == level for f in findings) for level in LOOK}
    outside = sum(is_outside(f) for f in findings)
    follow = sum(f.level == "stop" and bool(f.follows_from) for f in findings)
    words = [
        f"{number} {one if number == 1 else more}"
        for number, one, more in (
            (count["stop"], "stop", "stops"),
            (count["warn"], "warning", "warnings"),
            (count["pass"], "passed", "passed"),
            (outside, "outside its limit without a warning", OUTSIDE),
            (count["skip"] - outside, "does not apply", "do not apply"),
        )
        if number or more != OUTSIDE
    ]
    if follow:
        words[0] += f" ({follow} of them {'follows' if follow == 1 else 'follow'} from another)"
    return ", ".join(words)


@contextmanager
def working(text: str) -> Iterator[None]:
    """On standard error what is being done: a line that goes again on a terminal, else one line if it takes long."""
    console = err()
    if not console.is_terminal:
        with said_if_long(text):
            yield
        return
    with console.status(escape(text)):
        yield


@contextmanager
def said_if_long(text: str) -> Iterator[None]:
    """One line on standard error after ``PATIENCE_S``, where what is done within has not ended by then."""

    def say() -> None:
        with suppress(OSError, ValueError):  # nobody reads any more
            err().print(f"{escape(text)} ...", soft_wrap=True)

    timer = Timer(PATIENCE_S, say)
    timer.daemon = True
    timer.start()
    try:
        yield
    finally:
        timer.cancel()


@contextmanager
def counting(what: str) -> Iterator[Callable[[int, int, str], None]]:
    """Progress of a batch on standard error: a line that changes on a terminal, else a line for each that is done."""
    console = err()
    if not console.is_terminal:
        yield lambda done, count, name: console.print(f"{what} {done} of {count}: {escape(printable(name))}")
        return
    with console.status(f"{what}: 0") as status:
        yield lambda done, count, name: status.update(f"{what} {done} of {count}: {escape(printable(name))}")
