"""Sizes of film and picture in the preset's own numbers: said as a fact, unless they look like a slip of the keys."""

from __future__ import annotations

from collections.abc import Iterator, Mapping
from typing import TYPE_CHECKING

from holders.checks.base import Rule
from holders.core.findings import Finding
from holders.design.model import Design
from holders.facts.models import FilmFormat
from holders.facts.tables import table

if TYPE_CHECKING:
    from holders.preset.resolve import Job
    from holders.preset.tables.rows import FilmChoice

LIKE_FORMAT_MM = 5.0
LIKE_SHARE = 0.1  # of a side: nearer than this a number in another unit is that side (4 in: 101.6 for 100 mm)
PAIRS = (("film", "cut_width_mm", "cut_height_mm"), ("picture", "image_width_mm", "image_height_mm"))
UNITS = ((25.4, "looks like inches"), (10.0, "looks like centimetres"), (0.1, "looks ten times too large"))


class FilmSize(Rule):
    """Sizes of film and picture that were put in place of the format's own.

    A size that was measured is nothing to warn of. What is warned of is a number that would be right in another unit,
    sides that were exchanged, and a film that is another format of the tables; each has advice that ends it.
    """

    code = "film-size"
    per_film = True
    title = "film as large as its format"
    why = "a slip of the keys in a size makes a holder for a film that nobody has"
    source = (
        "the format's own row; films of one format differ by a few millimetres: common practice, no source"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
        """The slip that is found; else the film's own size beside that of the format which the preset names."""
        known = {row.key: row for row in table("formats") if isinstance(row, FilmFormat)}
        named, film = known.get(job.preset.film.format), job.own_film
        given = {} if named is None else _given(job.preset.film, film, named)
        if named is None or not given:
            yield self.skipped("film and picture are as large as the format's row says")
            return
        worst = max(given, key=lambda size: abs(given[size] - getattr(named, size)))
        off = abs(given[worst] - getattr(named, worst))
        if off <= LIKE_FORMAT_MM:
            yield self._of(worst, given, named)
            return
        slip = _in_another_unit(given, named) or _exchanged(given, named) or _another(film, named, known)
        if slip is not None:
            size, advice = slip
            yield self._of(size or worst, given, named, advice)
            return
        yield self.skipped(_own_words(film, named, given))

    def _of(self, size: str, given: Mapping[str, float], named: FilmFormat, advice: str = "") -> Finding:
        """One size beside the format's: a pass, or a warning with its advice."""
        off = abs(given[size] - getattr(named, size))
        return self.found(
            "warn" if advice else "pass",
            measured=given[size],
            limit=getattr(named, size),
            where=f"film.{size}; {named.name} differs by {off:.1f} mm from it",
            advice=advice,
            field=f"film.{size}",
        )


def _given(chosen: FilmChoice, film: FilmFormat, named: FilmFormat) -> dict[str, float]:
    """The sizes that the preset sets, mm. A strip is as long as its frames, and those are as its camera makes them."""
    return {
        size: float(getattr(film, size))
        for _, *pair in PAIRS
        for size in pair
        if getattr(chosen, size, None) is not None
        and not (named.frame_pitch_mm and size.endswith("height_mm"))
    }


def _like(value: float, side: float) -> bool:
    return abs(value - side) <= LIKE_SHARE * side


def _in_another_unit(given: Mapping[str, float], named: FilmFormat) -> tuple[str, str] | None:
    """The first size that is the format's in another unit, and the numbers in mm for all such sizes."""
    found: dict[str, tuple[float, str]] = {}
    for _, *pair in PAIRS:
        there = {size: given[size] for size in pair if size in given}
        for factor, words in UNITS:
            for size, value in there.items():
                if _like(value * factor, getattr(named, size)):
                    found[size] = value * factor, words
            if len(there) == 2 and all(
                _like(there[one] * factor, getattr(named, other)) for one, other in (pair, pair[::-1])
            ):  # exchanged as well: 5 x 4 in
                for one, other in (pair, pair[::-1]):
                    found.setdefault(other, (there[one] * factor, words))
    if not found:
        return None
    first = next(iter(found))
    cure = " and ".join(f"film.{size} = {value:g}" for size, (value, _) in found.items())
    return first, f"{found[first][1]}: write millimetres, {cure}"


def _exchanged(given: Mapping[str, float], named: FilmFormat) -> tuple[str, str] | None:
    """The film's sides where each is as long as the format's other one. A picture so turned lies in a square film."""
    width, height = (given.get(size, getattr(named, size)) for size in PAIRS[0][1:])
    across, along = named.cut_width_mm, named.cut_height_mm
    if abs(across - along) <= LIKE_FORMAT_MM:
        return None
    if max(abs(width - along), abs(height - across)) <= LIKE_FORMAT_MM:
        return "cut_width_mm", (
            f"width and length are exchanged: film.cut_width_mm = {height:g} and film.cut_height_mm = {width:g}, and "
            "the picture's likewise; layout.turn says how films lie"
        )
    for size, value, own, other in (
        ("cut_width_mm", width, across, along),
        ("cut_height_mm", height, along, across),
    ):
        alone = "cut_height_mm" if size == "cut_width_mm" else "cut_width_mm"
        if size in given and alone not in given and abs(value - other) <= LIKE_FORMAT_MM < abs(value - own):
            return size, (
                f"this is the format's other side: leave it out, or give film.{alone} too, if your film is as "
                "large both ways"
            )
    return None


def _another(film: FilmFormat, named: FilmFormat, known: Mapping[str, FilmFormat]) -> tuple[str, str] | None:
    """The format of the same kind that is of the film's size, where the one that is named is not."""
    if named.frame_pitch_mm is not None or _unlike(film, named) <= LIKE_FORMAT_MM:
        return None
    near = min(
        (row for row in known.values() if row.kind == film.kind and row.frame_pitch_mm is None),
        key=lambda row: _unlike(film, row),
    )
    if _unlike(film, near) > LIKE_FORMAT_MM:
        return None
    return "", f'film.format = "{near.key}" is of this size: name it, and the holder says what it is for'


def _unlike(one: FilmFormat, two: FilmFormat) -> float:
    """By how much two films differ in size at most, mm."""
    return max(abs(one.cut_width_mm - two.cut_width_mm), abs(one.cut_height_mm - two.cut_height_mm))


def _own_words(film: FilmFormat, named: FilmFormat, given: Mapping[str, float]) -> str:
    """What was set, beside what the format has: "own size of the film, 105.0 x 140.0 mm; the format's is ..."."""
    said = []
    for what, width, height in PAIRS:
        if width not in given and height not in given:
            continue
        if named.frame_pitch_mm is None:
            own, usual = (f"{getattr(row, width):.1f} x {getattr(row, height):.1f}" for row in (film, named))
        else:
            own, usual = (f"{getattr(row, width):.1f}" for row in (film, named))
        said.append(
            f"own {'size' if named.frame_pitch_mm is None else 'width'} of the {what}, {own} mm; "
            f"the format's is {usual} mm"
        )
    return "; ".join(said)
