"""The one path from a preset to a judged design, used alike by the command line and the page."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from dataclasses import dataclass, replace
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from holders.design.model import Design
from holders.errors import CheckStops, InputError, printable
from holders.findings import Finding
from holders.preset.load import located, parse, read_text
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset

if TYPE_CHECKING:
    from holders.design.filmed import Filmed
    from holders.export.plan_files import Producer, StockDrawing
    from holders.export.write import FileRecord
    from holders.focus.record import Measured
    from holders.shop.coupon import Coupon
    from holders.shop.nest_job import Nested


@dataclass(frozen=True, slots=True)
class Study:
    """A preset, looked up, designed and checked."""

    job: Job
    design: Design
    film: Filmed
    findings: tuple[Finding, ...]
    cautions: tuple[str, ...]
    preset_text: str = ""  # as its shooter wrote it, for the job sheet
    nested: tuple[Nested, ...] = ()  # the pieces on stock sheets (laser and knife)
    not_nested: str = ""  # why they are not, in words
    preset_file: str = ""  # what its file is called, without folders; "" where it came from no file

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

    Raises ``holders.errors.InputError`` as :func:`study`.
    """
    from holders.design.bed import measured_bed  # noqa: PLC0415
    from holders.shop.readings import with_readings  # noqa: PLC0415 - shapely is wanted only here

    return with_readings(measured_bed(resolve(preset), places))


def study(preset: Preset, preset_text: str = "", places: Sequence[Measured] = ()) -> Study:
    """Design and check a preset; touches no file and no CAD kernel.

    ``preset_text`` is kept for the job sheet; ``places`` are measurements of the bed that stand above the preset's.

    Raises ``holders.errors.InputError`` when the preset asks for what cannot be made.
    """
    from holders.checks.cautions import cautions  # noqa: PLC0415 - shapely is wanted only here
    from holders.checks.runner import run  # noqa: PLC0415
    from holders.design.filmed import designed  # noqa: PLC0415 - scipy

    job, told = job_of(preset, places)
    made, film = designed(job, places)
    made = replace(made, notes=(*made.notes, *told))
    nested, not_nested = _on_sheets(job, made)
    return Study(job, made, film, run(job, made), cautions(job, made), preset_text, nested, not_nested)


def _on_sheets(job: Job, made: Design) -> tuple[tuple[Nested, ...], str]:
    """The pieces laid out on stock sheets, or why that cannot be: the pieces themselves can still be cut."""
    if made.route == "print":
        return (), ""
    from holders.shop.nest_job import nest_job  # noqa: PLC0415 - the packers are wanted only here

    try:
        return nest_job(job, made), ""
    except InputError as error:
        return (), str(error)


def stock_drawings(nested: Sequence[Nested]) -> tuple[StockDrawing, ...]:
    """What the exporter draws: every stock sheet with its paths in the order of cutting."""
    from holders.export.plan_files import StockDrawing, StockPath  # noqa: PLC0415
    from holders.shop.nest_job import sheets_of  # noqa: PLC0415

    return tuple(
        StockDrawing(
            sheet.file,
            sheet.use.width_mm,
            sheet.use.height_mm,
            tuple(StockPath(cut.kind, cut.depth, cut.outline, cut.strokes) for cut in sheet.cuts.cuts),
        )
        for sheet in sheets_of(nested)
    )


def study_file(path: Path, record: Path | None = None) -> Study:
    """The same from a preset file and a bed record; a refusal names the file and line."""
    text = read_text(path)
    places: Sequence[Measured] = ()
    if record is not None:
        from holders.focus.record import load_record  # noqa: PLC0415 - only with a record

        places = load_record(record).measured
    try:
        return replace(study(parse(text, str(path)), text, places), preset_file=path.name)
    except InputError as error:
        raise located(error, text, str(path)) from None


def produce(
    found: Study, out: Path, anyway: str | None = None, solids: Mapping[str, Producer] | None = None
) -> tuple[FileRecord, ...]:
    """Make the holder's files, all of them or none, in ``out/<slug>/``.

    ``anyway`` is the recorded reason to go on although a check says stop. ``solids`` are the files of
    ``plan_files.solid_files`` where another process makes them; they are asked for last.

    Raises
    ------
    holders.errors.CheckStops
        When a check says stop and no reason is given.
    holders.errors.InputError
        When the folder holds what another preset made.
    holders.errors.MachineError
        When the disk or a system library fails; an earlier output is then untouched.
    """
    from holders.export.plan_files import files_for  # noqa: PLC0415
    from holders.export.write import write_all  # noqa: PLC0415
    from holders.report.draw.film import film_sheet  # noqa: PLC0415

    if found.stops and not anyway:
        codes = ", ".join(finding.code for finding in found.stops)
        raise CheckStops(
            f'stopped by: {codes}. Nothing was written; change the preset, or give --anyway "REASON"'
        )
    not_anothers(out / found.design.slug, found.design.title, found.preset_file)
    job = found.job
    files = dict(
        files_for(
            found.design,
            job.paper,
            kerf_mm=job.material.kerf_mm,
            cautions=found.cautions,
            stock=stock_drawings(found.nested),
            solids=solids,
        )
    )
    if found.film.grid is not None:
        files["film.svg"] = partial(film_sheet, found.design, found.film)
    files |= _job_sheet(found, anyway or "")
    made: dict[str, bytes | Producer] = dict(files)
    if solids is not None:  # while those are made elsewhere, the others are made here
        made |= {name: make() for name, make in files.items() if name not in solids}
    return write_all(out, found.design.slug, made, notes=notes_for(found, anyway))


def not_anothers(folder: Path, title: str, preset_file: str) -> None:
    """Refuse a folder whose manifest says that another preset file made it; one that says nothing is as good as ours.

    Raises ``holders.errors.InputError``.
    """
    from holders.export.write import noted  # noqa: PLC0415

    other = noted(folder, "preset")
    if not preset_file or not other or other == preset_file:
        return
    raise InputError(
        "title",
        title,
        f"{printable(str(folder), 200)} holds what {printable(other)} made, not {printable(preset_file)}: give this "
        "preset another title, or --out another folder; if the preset was only renamed, remove that folder first",
        file=preset_file,
    )


def produce_coupon(path: Path, out: Path) -> tuple[Coupon, tuple[FileRecord, ...]]:
    """Make the test piece of a preset's route, material and sheet in ``out/<slug>-coupon/``, with a page on its use.

    Raises
    ------
    holders.errors.CheckStops
        When the material must not go into a laser.
    holders.errors.InputError, holders.errors.MachineError
        As :func:`study_file` and :func:`produce`.
    """
    from holders.checks.cautions import by_process  # noqa: PLC0415
    from holders.export.coupon_files import coupon_files  # noqa: PLC0415
    from holders.export.write import write_all  # noqa: PLC0415
    from holders.report.jobsheet.html import html_bytes  # noqa: PLC0415
    from holders.report.jobsheet.testpiece import drawing, testpiece_sheet  # noqa: PLC0415
    from holders.shop.coupon import coupon_for  # noqa: PLC0415

    text = read_text(path)
    try:
        job = resolve(parse(text, str(path)))
        piece = coupon_for(job)
    except InputError as error:
        raise located(error, text, str(path)) from None
    if job.preset.route == "laser" and job.material.laser == "forbidden":
        raise CheckStops(f"{job.material.name} must not go into a laser: {job.material.laser_reason}")
    not_anothers(out / f"{job.slug}-coupon", job.preset.title, path.name)
    content = testpiece_sheet(job, piece, by_process(job.preset.route))
    title = content.title
    files = coupon_files(title, piece.parts, job.paper, drawing(piece).svg(title))
    files["test-piece.html"] = lambda: html_bytes(content)
    notes = {
        "title": title, "preset": path.name, "thickness": piece.tongue_mm, "material": job.material.key
    }  # fmt: skip
    return piece, write_all(out, f"{job.slug}-coupon", files, notes=notes)


def _job_sheet(found: Study, anyway: str) -> dict[str, Callable[[], bytes]]:
    """The job sheet for screen and paper; its content is worked out once, when the first of the two is written."""
    from holders.report.jobsheet.content import sheet_content  # noqa: PLC0415 - reportlab
    from holders.report.jobsheet.html import html_bytes  # noqa: PLC0415
    from holders.report.jobsheet.pdf import pdf_bytes  # noqa: PLC0415

    content = cache(partial(sheet_content, found, found.preset_text, anyway))
    return {
        "job-sheet.html": lambda: html_bytes(content()),
        "job-sheet.pdf": lambda: pdf_bytes(content(), found.job.paper),
    }


def notes_for(found: Study, anyway: str | None) -> Mapping[str, object]:
    """What the manifest records besides the files: how the checks stood and why they were overruled."""
    notes: dict[str, object] = {"title": found.design.title, "checks_say_stop": [f.code for f in found.stops]}
    if found.preset_file:
        notes["preset"] = found.preset_file
    if found.nested:
        from holders.report.stock import stock_summary  # noqa: PLC0415

        notes["stock_sheets"] = stock_summary(found.nested)
    if found.design.carrier is not None:
        notes["carrier_fit"] = found.design.carrier.fit
    if anyway and found.stops:
        notes["made_anyway_because"] = anyway
    return notes
