"""``new``: a commented preset to start from."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import typer

from holders.core.atomic_write import new_file, not_taken
from holders.core.errors import InputError
from holders.core.plain_text import escaped
from holders.face.cli import show
from holders.face.shared.starts import ROUTE_WORDS, STARTS, USUAL, first_values
from holders.facts import tables
from holders.facts.models import Fact, FilmFormat, Material, Route
from holders.facts.spoken import MOST_LETTERS, sheets_listed, spoken
from holders.preset.blanked import blanked
from holders.preset.load import load, parse
from holders.preset.resolve import resolve
from holders.preset.schema import Preset
from holders.preset.tables.rows import LEAST_SHEET_MM, MOST_KINDS, MOST_SHEET_MM
from holders.preset.tables.supposed import entry
from holders.preset.template import short_template, template

# of a preset's first word: the option of ``new`` that gives it
OPTIONS = {
    "title": "--title", "route": "--route", "film": "--format", "layout": "--count", "more_films": "--also",
    "bed": "--bed", "material": "--material", "printer": "--printer", "coupon": "--reading", "lid": "--lid",
    "feet": "--feet",
}  # fmt: skip


def start(
    file: Path,
    *,
    title: str | None,
    film_format: str,
    count: int = 1,
    also: Sequence[str] = (),
    bed: str,
    route: str,
    material: str | None,
    printer: str | None,
    lid: bool,
    feet: bool,
    coupon: bool = False,
    readings: Sequence[str] = (),
    full: bool = False,
    plain: bool = False,
) -> None:
    """Write the preset; every name is looked up first, so that the file is valid from the start.

    ``full`` writes every key with its meaning, else a page of what matters for this holder; ``plain`` adds no part that
    was not asked for, else what gains on this very holder is chosen by trying.
    ``coupon`` asks for the readings of a test piece one by one; ``readings`` are such as ``KEY=VALUE``.
    """
    not_taken("FILE", file)
    film_format = _plain("formats", film_format, "--format")
    film = tables.film_format(film_format, field="--format")
    bed = _plain("beds", bed, "--bed")
    route = _plain("processes", route, "--route")
    chosen, sheets = _material(material, route) if material else (USUAL[route], ())
    printer = _plain("printers", printer, "--printer") if printer else None
    values: dict[str, Any] = {
        "title": title or title_from(file) or f"{film.name}, {ROUTE_WORDS[route]}",
        **first_values(
            film_format=film_format, bed=bed, route=route, material=chosen, printer=printer, count=count
        ),
        **({"more_films": [_further(word) for word in also]} if also else {}),
    }
    if printer is not None and route != "print":
        raise InputError(
            "--printer", printer, f"route {route} takes no printer; leave it out or take --route print"
        )
    if sheets:
        values["material"]["sheets_mm"] = list(sheets)
        values["supposed"] = [entry({"material.sheets_mm": list(sheets)})]
    values |= _asked_for(film, route, feet=feet, lid=lid)
    told = _readings(values, coupon, readings)
    with _of_options():
        values, added = (values, "") if told or plain else _proposed(values, named=printer is not None)
        text = (template if full else short_template)(values, file.name)
        preset = parse(text, str(file))
    if told:
        from holders.study import job_of

        _, notes = job_of(preset)
    else:
        resolve(preset)
        notes = ()
    if not file.parent.is_dir():
        raise InputError("FILE", str(file), f"there is no folder {file.parent}; make it first")
    new_file("FILE", file, text.encode())
    if added:
        typer.echo(escaped(f"added, since it gains on this holder: {added}"))
    for note in (*notes, *_printer_words(preset, printer)):
        typer.echo(escaped(note))
    typer.echo(escaped(f"wrote {file}; open it in any text editor, then: holders make {file}"))


def _printer_words(preset: Preset, asked: str | None) -> tuple[str, ...]:
    """For which size of printer a holder was chosen, and how to name another; none where one was asked for."""
    if asked is not None or preset.printer is None:
        return ()
    row = tables.printer(preset.printer.name)
    return (
        f"for a printer that prints {row.build_x_mm:g} x {row.build_y_mm:g} mm; for yours: --printer NAME "
        "(holders list printers has the names)",
    )


def start_from(
    file: Path,
    source: Path,
    *,
    title: str | None,
    bed: str | None,
    printer: str | None,
    full: bool = False,
    asked: Mapping[str, object] | None = None,
) -> None:
    """Write somebody else's preset without what they measured on their own scanner, stock, printer and film.

    ``asked`` are options that would describe another holder; one that is set is refused. The terminal lists what was
    taken out and how one finds one's own value.
    """
    for option, value in (asked or {}).items():
        if value:
            raise InputError(option, value, "describes another holder than --from; leave one of the two out")
    not_taken("FILE", file)
    theirs = load(source)
    values, blanks = blanked(theirs.model_dump(mode="json", exclude_unset=True, exclude_none=True))
    values.pop("holders_preset", None)
    if title:
        values["title"] = title
    if bed:
        bed = _plain("beds", bed, "--bed")
        values["bed"] = {"name": bed}
    if printer:
        if values["route"] != "print":
            raise InputError(
                "--printer", printer, f"a {values['route']} holder takes no printer; leave it out"
            )
        values["printer"] = {"name": _plain("printers", printer, "--printer")}
    text = (template if full else short_template)(values, file.name)
    with _of_options():
        preset = parse(text, str(file))
    resolve(preset)
    if not file.parent.is_dir():
        raise InputError("FILE", str(file), f"there is no folder {file.parent}; make it first")
    new_file("FILE", file, text.encode())
    if blanks:
        typer.echo("taken out, as it was measured on their scanner, stock, printer or film:")
    for blank in blanks:
        typer.echo(escaped(f"  {blank.key} = {blank.theirs}  yours: {blank.how}"))
    if not bed:
        typer.echo(
            escaped(f"the bed is still {values['bed']['name']}: with another one, --bed (holders list beds)")
        )
    typer.echo(escaped(f"wrote {file}; check it: holders check {file}"))


@contextmanager
def _of_options() -> Iterator[None]:
    """Within it a refused value is named by the option that gave it: the file whose line it would be is not there."""
    try:
        yield
    except InputError as refused:
        table, _, key = refused.field.partition(".")
        option = OPTIONS.get(table)
        if refused.file is None or option is None:
            raise
        name = f"{option} {key}" if option == "--reading" and key else option
        raise InputError(name, refused.value, refused.way_out) from None


def _plain(table: str, word: str, option: str, route: str | None = None) -> str:
    """The key of the row that a plain word means; what it was taken as goes to standard error.

    Of several materials only those are asked for that the route takes.
    """

    def fits(row: Fact) -> bool:
        return route is None or not isinstance(row, Material) or route in row.routes

    found = spoken(table, word, field=option, fits=fits)
    if found.said:
        typer.echo(escaped(found.said), err=True)
    return found.key


def _material(word: str, route: str) -> tuple[str, tuple[float, ...]]:
    """The key of the material that plain words mean, and the thicknesses of its sheets where they list any, mm.

    Raises
    ------
    InputError
        For words that mean no material or several, for a thickness of what is printed, and for one that no sheet has.
    """
    if len(word) > MOST_LETTERS:  # the rest would not be read
        raise InputError("--material", word, f"say it in at most {MOST_LETTERS} letters")
    listed = sheets_listed(word)
    sheets = tuple(dict.fromkeys(thick for _, each in listed for thick in each))
    if not sheets:
        try:
            return _plain("materials", word, "--material", route), ()
        except InputError as refused:
            if not any(letter.isdigit() for letter in word):
                raise
            way_out = f'{refused.way_out}; a thickness is given in mm, as in "3 mm plywood"'
            raise InputError("--material", word, way_out) from None
    names = [name for name, _ in listed]
    if not any(names):
        raise InputError("--material", word, 'say also what the sheets are of, as in "3 mm, 2 mm plywood"')
    if route == "print":
        raise InputError(
            "--material", word, f"a print has no sheets: give the material without thickness, {names[0]}"
        )
    _thick_enough(word, sheets)
    keys = list(dict.fromkeys(_plain("materials", name, "--material", route) for name in names))
    if len(keys) > 1:
        raise InputError(
            "--material",
            word,
            f"the sheets of a holder are all of one material: list those of one, {' or '.join(keys)}",
        )
    numbers = ", ".join(f"{thick:g}" for thick in sheets)
    what = "the sheet" if len(sheets) == 1 else "the sheets"
    typer.echo(
        escaped(
            f"{numbers} mm: taken as {what} you have, material.sheets_mm = [{numbers}] in the preset; supposed until "
            "you measure it with a caliper"
        ),
        err=True,
    )
    return keys[0], sheets


def _thick_enough(word: str, sheets: Sequence[float]) -> None:
    """Refuse a thickness that no sheet has, and more thicknesses than a preset lists."""
    for thick in sheets:
        if not LEAST_SHEET_MM <= thick <= MOST_SHEET_MM:
            raise InputError(
                "--material", word,
                f"a sheet must be at least {LEAST_SHEET_MM:g} and at most {MOST_SHEET_MM:g} mm thick, not {thick:g} mm",
            )  # fmt: skip
    if len(sheets) > MOST_KINDS:
        raise InputError(
            "--material", word, f"lists {len(sheets)} thicknesses; a preset takes at most {MOST_KINDS}"
        )


def _proposed(values: dict[str, Any], *, named: bool) -> tuple[dict[str, Any], str]:
    """The values with what holds the film, and what was added, in words; ``named``: the printer was, so it stays."""
    from holders.search.propose import least_printer, proposed

    with show.working("trying what holds this film"):
        values, added = proposed(values, template)
        if named or not added:
            return values, added
        return least_printer(values, template), added


def _further(word: str) -> dict[str, Any]:
    """The table of a further kind of film, given as FORMAT or FORMAT:COUNT."""
    name, colon, count = word.partition(":")
    name = _plain("formats", name, "--also")
    if not colon:
        return {"format": name}
    if not count.isascii() or not count.isdigit() or int(count) < 1:
        raise InputError("--also", word, f"give how many after the colon: {name}:2")
    return {"format": name, "count": int(count)}


def _asked_for(film: FilmFormat, route: str, *, feet: bool, lid: bool) -> dict[str, Any]:
    """What a part that was asked for starts with."""
    if lid:
        _lid_useful(film)
    wished = [name for name, asked in (("feet", feet), ("lid", lid)) if asked]
    return {name: dict(STARTS[name].get(route, STARTS[name][""])) for name in wished}


def _lid_useful(film: FilmFormat) -> None:
    """Refuse a lid where it does nothing."""
    if film.kind == "mount":
        raise InputError(
            "--lid", film.key, "a mount holds its film by itself, so a lid does nothing; leave it out"
        )


def title_from(file: Path) -> str:
    """A title after the file's name, so that two presets do not write one folder; "" without letter or digit."""
    words = " ".join("".join(c if c.isalnum() else " " for c in file.stem).split())[:80]
    return words if any(c.isascii() and c.isalnum() for c in words) else ""


def _of_route(route: Route, found: Mapping[str, Any]) -> None:
    """Refuse what the test piece of another route tells; nobody would look at it again."""
    from holders.face.cli.reading import OF_ROUTE

    for key in found:
        if key not in OF_ROUTE[route]:
            raise InputError(
                f"--reading {key}",
                found[key],
                f"the test piece of route {route} tells no such thing; it tells {', '.join(OF_ROUTE[route])}",
            )


def _readings(values: dict[str, Any], coupon: bool, options: Sequence[str]) -> bool:
    """Put the readings of a test piece into ``values``; whether there are any."""
    if not coupon and not options:
        return False
    from holders.face.cli.reading import asked, given

    found = given(options)
    _of_route(values["route"], found)
    if coupon:
        found = asked(values["route"], found)
    if found:
        values["coupon"] = found
    return bool(found)
