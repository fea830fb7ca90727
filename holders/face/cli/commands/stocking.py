"""``stock``: which of the sheets at hand to stack for a holder, ranked."""

from __future__ import annotations

from pathlib import Path

from holders.face.cli import show
from holders.face.cli.markup import escape


def stock(path: Path, record: Path | None, as_json: bool) -> None:
    """Tell how every stack of the sheets at hand would do."""
    from holders.face.cli.answer import print_json
    from holders.output.words.stacks import (
        stacks_columns,
        stacks_of,
        stacks_rows,
        stacks_summary,
        stacks_title,
        stacks_words,
    )
    from holders.study import study_file

    with show.working("designing the holder"):
        studied = study_file(path, record)
    found = stacks_of(studied.job, studied.design)
    if as_json:
        print_json(
            {"preset": str(path), "slug": studied.design.slug, "route": studied.design.route}
            | stacks_summary(found)
        )
        return
    console = show.out()
    wanted, sheets, verdict = stacks_words(found)
    console.print(f"[bold]{escape(studied.design.title)}[/]  ({escape(studied.job.material.name)})")
    console.print(escape(wanted))
    console.print(escape(sheets))
    console.print(show.table(stacks_title(found), stacks_columns(found), stacks_rows(found)))
    console.print(escape(verdict))
