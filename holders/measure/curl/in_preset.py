"""The curl of a film record put into a preset that names one: its numbers in the table ``[base]``."""

from __future__ import annotations

import re
from pathlib import Path

from holders.core.errors import InputError
from holders.facts.curl_words import curl_span_words
from holders.facts.tables import film_format
from holders.measure.curl.record import FilmRecord, curl_range, load_film_record
from holders.preset.load import parse
from holders.preset.places import line_of
from holders.preset.schema import Preset
from holders.preset.versions import current_text

KEYS = ("curl_low_per_m", "curl_per_m", "curl_high_per_m")


def of_this_film(record: FilmRecord, preset: Preset) -> FilmRecord:
    """The films of a record that are of the preset's format and base, or do not say.

    Raises InputError for a format that does not exist.
    """
    base = preset.base.name or film_format(preset.film.format).base
    fits = tuple(
        film
        for film in record.measured
        if film.format in ("", preset.film.format) and film.base in ("", base)
    )
    return FilmRecord(measured=fits)


def standing_alone(text: str, path: Path) -> tuple[str, Preset, tuple[str, ...]]:
    """A preset's text in today's version, with the numbers of the film record it names; the preset; what was changed.

    Raises InputError as ``holders.preset.load.parse`` and ``with_film_record``.
    """
    preset = parse(text, str(path))
    text, notes = current_text(text)
    if preset.film.record is None:
        return text, preset, notes
    text, note = with_film_record(text, preset, path)
    return text, parse(text, str(path)), (*notes, note)


def with_film_record(text: str, preset: Preset, path: Path) -> tuple[str, str]:
    """The preset's text with its film record's range of curl written out, and a note on it; unchanged without one.

    Its range is that across the film (stood on its short side), as the film surface takes it; the median along it,
    where it was measured, goes to ``film.curl_along_per_m``. A curl that ``[base]`` states
    itself stays. The text then stands alone: it needs the record no more.

    Parameters
    ----------
    text, preset:
        As read from ``path``; the record lies beside that file.

    Raises
    ------
    InputError
        The record cannot be read, or holds no curl across the film.
    """
    name = preset.film.record
    if name is None:
        return text, ""
    try:
        record = load_film_record(path.parent / name)
    except InputError as error:
        if error.file is not None:  # it says where in the record
            raise
        raise InputError("film.record", name, error.way_out) from error
    mine = of_this_film(record, preset)
    if record.measured and not mine.measured:
        raise InputError(
            "film.record", name, f"none of its {len(record.measured)} films is of this preset's format and base; name "
            "another record",
        )  # fmt: skip
    span = curl_range(mine, "across")
    if span is None:
        raise InputError(
            "film.record", name, "it holds no curl across the film; measure film stood on its short side: holders curl "
            "SCAN --order across --hollow SIDE --record FILE",
        )  # fmt: skip
    stated = preset.base.model_dump()
    lines = [
        f"{key} = {round(value, 4)}" for key, value in zip(KEYS, span, strict=True) if stated.get(key) is None
    ]
    along = None if preset.film.curl_along_per_m else curl_range(mine, "along")
    length = 0.0 if along is None else round(along[1], 4)
    written = _written(text, name, lines, [f"curl_along_per_m = {length}"] if length else [])
    changes = {key: round(v, 4) for key, v in zip(KEYS, span, strict=True) if stated.get(key) is None}
    wanted = preset.model_copy(
        update={
            "film": preset.film.model_copy(
                update={"record": None} | ({"curl_along_per_m": length} if length else {})
            ),
            "base": preset.base.model_copy(update=changes),
        }
    )
    if written is None or parse(written, str(path)) != wanted:
        raise InputError(
            "film.record", name, 'write it as a line of its own below [film]: record = "FILE.toml"'
        )
    films, others = len(mine.measured), len(record.measured) - len(mine.measured)
    beside = f" ({others} of another format or base left out)" if others else ""
    note = (
        f"curl across the film from {name}, {films} film{'s' * (films > 1)}{beside}: "
        f"{curl_span_words(span[0], span[2], span[1], film_format(preset.film.format).cut_width_mm, 2)}"
        + (f"; along it {length:.2f}" if length else "")
    )
    return written, note


def _written(text: str, name: str, lines: list[str], film: list[str]) -> str | None:
    """The text with the record's line made a comment, ``film`` in its place and ``lines`` below ``[base]``; None where
    it has no line.
    """
    at = line_of(text, ["film", "record"])
    rows = text.splitlines()
    if at is None or not re.match(r"\s*record\s*=", rows[at - 1]):
        return None
    rows[at - 1 : at] = [f'# record = "{name}": its numbers stand here and below [base]', *film]
    header = next((k for k, row in enumerate(rows) if re.match(r"\s*\[\s*base\s*\]", row)), None)
    if header is None:
        return "\n".join([*rows, "", "[base]", *lines]) + "\n"
    return "\n".join([*rows[: header + 1], *lines, *rows[header + 1 :]]) + "\n"
