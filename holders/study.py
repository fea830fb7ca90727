"""The one path from a preset to a judged design, used alike by the command line and the page."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING

from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.design.model import Design, Window
from holders.measure.curl.in_preset import standing_alone
from holders.preset.load import located, read_text
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset
from holders.preset.shipped import SUFFIX, preset_path
from holders.preset.tables.supposed import supposed_words
from holders.verdict.model import Verdict

if TYPE_CHECKING:
    from holders.design.held.model import Filmed
    from holders.measure.bed.record import Measured
    from holders.workshop.budget.odds import Odds
    from holders.workshop.nest.nest_job import Nested


@dataclass(frozen=True, slots=True)
class Study:
    """A preset, looked up, designed and checked.

    Of a holder for several kinds of film, ``job``, ``design`` and ``film`` look at the kind that does worst.
    """

    job: Job
    design: Design
    film: Filmed
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    verdict: Verdict
    preset_text: str = ""  # as it was written, for the job sheet
    nested: tuple[Nested, ...] = ()  # the pieces on stock sheets (laser and knife)
    not_nested: str = ""  # why they are not, in words
    preset_file: str = ""  # what its file is called, without folders; "" where it came from no file

    def of(self, kind: int) -> Study:
        """The same with another kind of film looked at, in a holder for several."""
        return replace(self, job=self.job.of(kind), design=self.design.of(kind), film=self.film.of(kind))

    def at_window(self, number: int | None) -> tuple[Study, Window]:
        """The study with the film of one window looked at, and that window; the first that is looked at for None.

        Raises ``InputError`` for a number that no window has.
        """
        if number is None:
            return self, self.design.mine[0]
        every = self.design.windows
        if not 1 <= number <= len(every):
            has = "one window, number 1" if len(every) == 1 else f"windows 1 to {len(every)}"
            raise InputError("--window", number, f"this holder has {has}")
        window = every[number - 1]
        return self.of(window.kind), window

    @property
    def ok(self) -> bool:
        """No check says stop."""
        return not self.stops

    @property
    def stops(self) -> tuple[Finding, ...]:
        """The findings that say stop."""
        from holders.checks.runner import stops  # noqa: PLC0415 - only where findings exist

        return stops(self.findings)


def job_of(preset: Preset, places: Sequence[Measured] = ()) -> tuple[Job, tuple[str, ...]]:
    """The preset looked up, with what was measured on the bed and read off a test piece; and notes on the latter.

    Raises ``holders.core.errors.InputError`` as :func:`study`.
    """
    from holders.design.plan.tilt import measured_bed  # noqa: PLC0415
    from holders.workshop.coupon.readings import with_readings  # noqa: PLC0415 - shapely is wanted only here

    return with_readings(measured_bed(resolve(preset), places))


@dataclass(frozen=True, slots=True)
class Basis:
    """What the checks of a holder start from: looked up, designed with its film, laid out on sheets, with its odds.

    ``odds`` has one for each kind of film. The worst film of its kind is left out.
    """

    job: Job
    design: Design
    film: Filmed
    nested: tuple[Nested, ...]
    not_nested: str
    odds: tuple[Odds, ...]

    @property
    def chance(self) -> float:
        """Of a good scan of the film that does worst."""
        return min(one.chance for one in self.odds)


def basis_of(preset: Preset, places: Sequence[Measured] = ()) -> Basis:
    """The part of a :func:`study` that takes longest, which may be kept for it. Raises as that."""
    from holders.design.held.film_in_holder import designed  # noqa: PLC0415 - scipy
    from holders.workshop.budget.odds import odds_of  # noqa: PLC0415

    if preset.film.record is not None:
        raise InputError(
            "film.record", preset.film.record, "the file that lies beside the preset is not at hand here; write its "
            "numbers into [base] as curl_low_per_m, curl_per_m and curl_high_per_m",
        )  # fmt: skip
    job, told = job_of(preset, places)
    made, film = designed(job, places, extremes=False)
    made = replace(made, notes=(*made.notes, *told))
    nested, not_nested = on_sheets(job, made)
    odds = tuple(odds_of(one, mine) for one, mine in zip(job.each, made.each, strict=True))
    return Basis(job, made, film, nested, not_nested, odds)


def study(
    preset: Preset,
    preset_text: str = "",
    places: Sequence[Measured] = (),
    *,
    extremes: bool = True,
    basis: Basis | None = None,
) -> Study:
    """Design and check a preset; touches no file and no CAD kernel.

    ``preset_text`` is kept for the job sheet; ``places`` are measurements of the bed that stand above the preset's.
    ``extremes=False`` leaves out the worst film of its kind and the cures that findings name, which neither the verdict
    nor a stop hangs on and which take a third of the time. ``basis`` is this preset's, where it is known already.

    Raises ``holders.core.errors.InputError`` when the preset asks for what cannot be made.
    """
    from holders.checks.runner import run  # noqa: PLC0415
    from holders.checks.safety.cautions import cautions  # noqa: PLC0415 - shapely is wanted only here
    from holders.design.held.film_in_holder import with_extremes  # noqa: PLC0415 - scipy
    from holders.verdict.judge import judged  # noqa: PLC0415
    from holders.verdict.model import FilmChance  # noqa: PLC0415

    known = basis_of(preset, places) if basis is None else basis
    job, made, film, odds = known.job, known.design, known.film, known.odds
    if extremes:
        made, film = with_extremes(job, made, film)
    worst = min(range(len(odds)), key=lambda kind: odds[kind].chance)
    job, made, film = job.of(worst), made.of(worst), film.of(worst)
    findings = run(job, made, odds=odds, cures=extremes)
    names = [one.film_called for one in job.each]
    films = [FilmChance(name, one.chance) for name, one in zip(names, odds, strict=True)]
    supposed = supposed_words(preset, job.film.cut_width_mm, bed_known=bool(places))
    verdict = judged(odds[worst], findings, films, supposed)
    return Study(
        job, made, film, findings, cautions(job, made), verdict, preset_text, known.nested, known.not_nested
    )


def on_sheets(job: Job, made: Design) -> tuple[tuple[Nested, ...], str]:
    """The pieces laid out on stock sheets, or why that cannot be: the pieces themselves can still be cut."""
    if made.route == "print":
        return (), ""
    from holders.workshop.nest.nest_job import nest_job  # noqa: PLC0415 - the packers are wanted only here

    try:
        return nest_job(job, made), ""
    except InputError as error:
        return (), str(error)


def record_places(record: Path | None) -> Sequence[Measured]:
    """The measurements in a bed record, none without one. Raises ``InputError`` for a record that cannot be read."""
    if record is None:
        return ()
    from holders.measure.bed.record import load_record  # noqa: PLC0415 - only with a record

    return load_record(record).measured


def study_file(path: Path | str, record: Path | None = None) -> Study:
    """The same from a preset file and a bed record; a refusal names the file and line."""
    path = preset_path(Path(path))
    text = read_text(path)
    places = record_places(record)
    try:
        text, preset, notes = standing_alone(text, path)
        found = study(preset, text, places)
        if notes:
            found = replace(found, design=replace(found.design, notes=(*found.design.notes, *notes)))
        own = path.suffix == SUFFIX  # else a file that carries its preset
        return replace(found, preset_file=path.name if own else f"{found.design.slug}{SUFFIX}")
    except InputError as error:
        raise located(error, text, str(path)) from None
