"""``curl``: how curled a film is, from a ruler, a paper gauge or scans of the film stood on its edge."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path
from typing import TYPE_CHECKING, Any, Literal

from holders.core.errors import InputError
from holders.face.cli import show
from holders.face.cli.answer import print_json
from holders.face.cli.markup import escape
from holders.face.cli.progress import progress_line

if TYPE_CHECKING:
    from holders.measure.curl.result import FilmCurl, Hollow
    from holders.measure.curl.ruler import RulerCurl
    from holders.measure.curl.scan import Reading

WAYS: tuple[Literal["along", "across"], ...] = ("along", "across")
USUAL_FILMS = ("4x5", "8x10")  # to show what a curl means where no film is named


@dataclass(frozen=True)
class Keep:
    """What goes into a film record beside the curl; ``record`` None: nothing is kept."""

    record: Path | None
    film_format: str
    base: str
    humidity: float | None
    temperature: float | None
    note: str


def gauge(paper: str, out: Path, as_json: bool) -> None:
    """Write the paper gauge."""
    from holders.facts.tables import paper as paper_row
    from holders.output.bundle.write import write_one
    from holders.output.formats.curl_gauge import gauge_pdf

    row = paper_row(paper)
    target = write_one(out, f"curl-gauge-{row.key}.pdf", gauge_pdf(row))
    if as_json:
        print_json({"path": str(target), "paper": row.key})
        return
    show.out().print(f"wrote {escape(str(target))}: print it at 100 %; both bars must measure 100 mm")


def ruler(
    chord: float | None,
    rise: float | None,
    reading: float,
    hollow: str | None,
    order: str | None,
    keep: Keep,
    as_json: bool,
) -> None:
    """Curl from a chord and a rise."""
    from holders.measure.curl.ruler import from_ruler

    if chord is None or rise is None:
        missing = "--chord" if chord is None else "--rise"
        raise InputError(
            missing, "(missing)", "give both: --chord MM between the film's two ends, --rise MM at its middle"
        )
    sides = hollows(hollow, 1)
    names = ways(order, 1) if order is not None or keep.record is not None else None
    _can_keep(keep, sides)
    found = from_ruler(chord, rise, reading_mm=reading, base=keep.base)
    signed = -found.curl_per_m if sides[0] == "base" else found.curl_per_m
    if keep.record is not None and names is not None:
        _store(keep, {names[0]: (signed, found.sigma)})
    if as_json:
        print_json({**found.to_answer(), "curl_per_m": signed})
        return
    _ruler_words(found, signed, sides[0], keep.film_format)
    _kept(keep)


def scanned(
    scans: Sequence[Path],
    *,
    hollow: str | None,
    order: str | None,
    dpi: float | None,
    axis: float | None,
    keep: Keep,
    out: Path,
    as_json: bool,
) -> None:
    """Curl from one scan, or along and across from two."""
    from holders.measure.curl.scan import measure_film, measure_scan

    if len(scans) > 2:
        raise InputError(
            "SCAN",
            f"{len(scans)} scans",
            "give one scan, or two of one film: on its long side, on its short side",
        )
    sides = hollows(hollow, len(scans))
    names = None if order is None else ways(order, len(scans))
    if keep.record is not None and len(scans) == 1 and names is None:
        names = ways(None, 1)
    _can_keep(keep, sides)
    readings = []
    with progress_line() as tell:
        for scan, side in zip(scans, sides, strict=True):
            readings.append(
                measure_scan(scan, dpi=dpi, hollow=side, axis_mm=axis, base=keep.base, progress=tell)
            )
    film = measure_film(readings, names)
    if keep.record is not None:
        _store(keep, _by_way(film, names))
    if as_json:
        print_json(film.to_answer())
        return
    _scan_words(film, readings, out, keep.film_format)
    _kept(keep)


def hollows(hollow: str | None, many: int) -> list[Hollow | None]:
    """The hollow side of each scan: one word for all, or one for each with a comma between them."""
    if hollow is None:
        return [None] * many
    found: list[Hollow | None] = []
    for word in hollow.split(","):
        if word not in ("emulsion", "base"):
            raise InputError(
                "--hollow", word, "say emulsion or base: the side of the film that the arc is hollow toward"
            )
        found.append("emulsion" if word == "emulsion" else "base")
    if len(found) not in (1, many):
        raise InputError("--hollow", hollow, f"give one word, or {many} with a comma between them")
    return found * many if len(found) == 1 else found


def ways(order: str | None, many: int) -> tuple[Literal["along", "across"], ...]:
    """Which way each scan (or the ruler) measured."""
    if order is None:
        raise InputError(
            "--order", "(missing)", "say which way this is for the record: along (film stood on its long side) or "
            "across (on its short side)",
        )  # fmt: skip
    words = order.split(",")
    found = tuple(way for word in words for way in WAYS if word == way)
    if len(found) != len(words) or len(found) != many or len(set(found)) != many:
        wanted = "along or across" if many == 1 else "along,across or across,along, in the order of the scans"
        raise InputError("--order", order, f"give {wanted}")
    return found


def _can_keep(keep: Keep, sides: Sequence[Hollow | None]) -> None:
    from holders.facts.tables import film_base, film_format

    if keep.film_format:
        film_format(keep.film_format)
    if keep.base:
        film_base(keep.base)
    if keep.record is None:
        if keep.humidity is not None or keep.temperature is not None or keep.note:
            raise InputError("--record", "(missing)", "say where to keep it: --record FILE")
        return
    if None in sides:
        raise InputError(
            "--hollow", "(missing)", "a record needs the sign: --hollow emulsion or --hollow base, the side of the "
            "film that the arc is hollow toward",
        )  # fmt: skip
    _film(keep, {"across": (0.0, 1.0)})  # a humidity that cannot be is refused before the long work


def _by_way(film: FilmCurl, names: Sequence[str] | None) -> dict[str, tuple[float, float]]:
    if film.only is not None and names is not None:
        return {names[0]: (film.only.curl_per_m, film.only.sigma)}
    pairs = (("along", film.along), ("across", film.across))
    return {way: (s.curl_per_m, s.sigma) for way, s in pairs if s is not None}


def _film(keep: Keep, curls: dict[str, tuple[float, float]]) -> Any:
    """The film as the record keeps it."""
    import datetime

    from pydantic import ValidationError

    from holders.measure.curl.record import WANTED, MeasuredCurl

    values: dict[str, Any] = {}
    for way, (curl, sigma) in curls.items():
        values[f"{way}_per_m"], values[f"{way}_sigma_per_m"] = round(curl, 4), max(0.001, round(sigma, 4))
    try:
        return MeasuredCurl(
            date=datetime.date.today(), format=keep.film_format, base=keep.base, note=keep.note,
            humidity_percent=keep.humidity, temperature_c=keep.temperature, **values,
        )  # fmt: skip
    except ValidationError as error:
        first = error.errors()[0]
        key = str(first["loc"][0]) if first["loc"] else "curl"
        option = {"humidity_percent": "--humidity", "temperature_c": "--temperature", "note": "--note"}.get(
            key, key
        )
        raise InputError(option, first["input"], f"give {WANTED.get(key, 'a curl that film has')}") from None


def _store(keep: Keep, curls: dict[str, tuple[float, float]]) -> None:
    from holders.measure.curl.record import append_curl

    assert keep.record is not None
    append_curl(keep.record, _film(keep, curls))


def _kept(keep: Keep) -> None:
    if keep.record is None:
        return
    from holders.measure.curl.record import curl_range, load_film_record

    console = show.out()
    record = load_film_record(keep.record)
    console.print(
        f"kept in {escape(str(keep.record))}: {len(record.measured)} film{'s' * (len(record.measured) > 1)}"
    )
    for way in WAYS:
        span = curl_range(record, way)
        if span is not None:
            console.print(f"  {way}: {span[0]:.2f} to {span[2]:.2f} per m, usually {span[1]:.2f}")
            console.print(f"    the usual one, {_means(span[1], keep.film_format)}", markup=False)
    console.print("use it: put the file beside a preset and name it there:")
    console.print(f'  [film]\n  record = "{keep.record.name}"', markup=False)


def _side_words(side: str | None) -> str:
    return "without sign: --hollow says which side is hollow" if side is None else f"hollow toward the {side}"


def _means(curl_per_m: float, key: str) -> str:
    """How high such film stands on a table: of the format named, else of two usual ones."""
    from holders.facts.curl_words import height_words
    from holders.facts.tables import film_format

    each = [film_format(one) for one in ((key,) if key else USUAL_FILMS)]
    high = "; ".join(f"{film.name} {height_words(curl_per_m, film.cut_width_mm)}" for film in each)
    return f"lying on a table, in the middle of its width: {high}"


def _ruler_words(found: RulerCurl, signed: float, side: str | None, key: str) -> None:
    rows = [
        ("curl", f"{signed:.2f} ± {found.sigma:.2f} per m ({_side_words(side)})"),
        ("that is", _means(found.curl_per_m, key)),
        ("radius", "straight" if found.curl_per_m == 0 else f"{1000 / found.curl_per_m:.0f} mm"),
        (
            "counted",
            f"each reading of the ruler; friction under the edge, up to {found.friction_per_m:.2f} per m",
        ),
    ]
    show.out().print(show.grid(rows))


def _scan_words(film: FilmCurl, readings: Sequence[Reading], out: Path, key: str) -> None:
    from holders.measure.curl.drawn import picture_png
    from holders.output.bundle.write import write_one

    console = show.out()
    names = {id(film.along): "along", id(film.across): "across"}
    for reading in readings:
        found = next(s for s in film.scans if s.file == reading.result.file)
        title = "curl" if film.only is not None else f"curl {names[id(found)]}"
        bends = ", ".join(f"{p.kind} {p.length_mm:.0f} mm" for p in found.parts)
        side = None if not found.signed else "emulsion" if found.curl_per_m >= 0 else "base"
        rows = [
            (title, f"{found.curl_per_m:.2f} ± {found.sigma:.2f} per m ({_side_words(side)})"),
            ("that is", _means(found.curl_per_m, key)),
            ("arc", f"chord {found.chord_mm:.1f} mm, rise {found.rise_mm:.2f} mm, {found.dpi:g} dpi"),
            ("edge", f"{found.length_mm:.0f} mm: {bends}"),
            ("uncertain by", ", ".join(f"{k} {v:.3f}" for k, v in found.shares.items()) + " per m"),
        ]
        console.print(show.grid(rows))
        for words in found.warnings:
            console.print(f"[yellow]warning[/]: {escape(words)}")
        name = f"{_plain(Path(found.file).stem)}-curl.png"
        console.print(f"drawn: {escape(str(write_one(out, name, picture_png(reading))))}")
    for words in film.warnings:
        console.print(f"[yellow]warning[/]: {escape(words)}")


def _plain(stem: str) -> str:
    return "".join(c if c.isascii() and (c.isalnum() or c in "-_") else "-" for c in stem)[:60] or "scan"
