"""A judged design becomes files: all of them or none, in a folder of its own."""

from __future__ import annotations

from collections.abc import Callable, Mapping, Sequence
from functools import cache, partial
from pathlib import Path
from typing import TYPE_CHECKING

from holders.core.errors import CheckStops, InputError, printable
from holders.measure.curl.in_preset import standing_alone
from holders.preset.load import located, read_text
from holders.preset.resolve import resolve
from holders.preset.shipped import SUFFIX, preset_path
from holders.study import Study

if TYPE_CHECKING:
    from holders.output.bundle.write import FileRecord
    from holders.output.formats.export import Producer, StockDrawing
    from holders.workshop.coupon.coupon import Coupon
    from holders.workshop.nest.nest_job import Nested


def stock_drawings(nested: Sequence[Nested]) -> tuple[StockDrawing, ...]:
    """What the exporter draws: every stock sheet with its paths in the order of cutting."""
    from holders.output.formats.export import StockDrawing, StockPath  # noqa: PLC0415
    from holders.workshop.nest.nest_job import sheets_of  # noqa: PLC0415

    return tuple(
        StockDrawing(
            sheet.file,
            sheet.use.width_mm,
            sheet.use.height_mm,
            tuple(StockPath(cut.kind, cut.depth, cut.outline, cut.strokes) for cut in sheet.cuts.cuts),
        )
        for sheet in sheets_of(nested)
    )


def never_made(found: Study) -> str:
    """Why a holder must not be made, where no reason lifts that; "" where it may."""
    # no reason makes poisonous fumes or a fire harmless
    if found.design.route == "laser" and found.job.material.laser == "forbidden":
        return (
            f"{found.job.material.name}: {found.job.material.laser_reason} Take an allowed material (cast acrylic, "
            "plywood, board) or cut it by knife"
        )
    if any(one.own_base.nitrate for one in found.job.each):
        return (
            "nitrate film burns fiercely, cannot be put out once alight, and may catch fire under a warm lamp. Have it "
            "copied by a film archive. If it is another film, set its base under [base] name"
        )
    return next((why for made in found.design.fitted if (why := made.forbidden())), "")


def produce(
    found: Study, out: Path, anyway: str | None = None, solids: Mapping[str, Producer] | None = None
) -> tuple[FileRecord, ...]:
    """Make the holder's files, all of them or none, in ``out/<slug>/``.

    ``anyway`` is the recorded reason to go on although a check says stop. ``solids`` are the files of
    ``plan_files.solid_files`` where another process makes them; they are asked for last.

    Raises
    ------
    holders.core.errors.CheckStops
        When a check says stop and no reason is given.
    holders.core.errors.InputError
        When the folder holds what another preset made.
    holders.core.errors.MachineError
        When the disk or a system library fails; an earlier output is then untouched.
    """
    from holders.output.bundle.carry import with_preset  # noqa: PLC0415
    from holders.output.bundle.plan_files import files_for  # noqa: PLC0415
    from holders.output.bundle.write import write_all  # noqa: PLC0415
    from holders.output.draw.film import film_sheet  # noqa: PLC0415

    if words := never_made(found):
        codes = ", ".join(finding.code for finding in found.stops)
        raise CheckStops(
            f"stopped by: {codes}. {words}. Nothing was written, and --anyway does not lift this"
        )
    if found.stops and not anyway:
        codes = ", ".join(finding.code for finding in found.stops)
        raise CheckStops(
            f'stopped by: {codes}. Nothing was written; change the preset, or give --anyway "REASON"'
        )
    slug = found.design.slug
    mine = partial(not_anothers, out / slug, found.design.title, found.preset_file, found.preset_text)
    mine()  # before the work, and once more when nobody else can write there
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
        files["film.svg"] = partial(film_sheet, found.design, found.film, verdict=found.verdict.text)
    for other in (one for one in job.each if one.kind != job.kind):
        film = found.film.of(other.kind)
        if film.grid is not None:
            files[f"film-{other.film_tag}.svg"] = partial(film_sheet, found.design.of(other.kind), film)
    files |= _job_sheet(found, anyway or "")
    made: dict[str, bytes | Producer] = dict(files)
    if solids is not None:  # while those are made elsewhere, the others are made here
        made |= {name: make() for name, make in files.items() if name not in solids}
    made = with_preset(made, slug, found.preset_text)
    return write_all(out, slug, made, notes_for(found, anyway), mine)


def not_anothers(folder: Path, title: str, preset_file: str, preset_text: str = "") -> None:
    """Refuse a folder whose manifest says that another preset file made it; one that says nothing is as good as ours.

    A folder that holds this very preset's text is ours, whatever the file is called that it was read from.

    Raises ``holders.core.errors.InputError``.
    """
    from holders.output.bundle.write import noted  # noqa: PLC0415

    other = noted(folder, "preset")
    if not preset_file or not other or other == preset_file or _holds(folder, preset_text):
        return
    raise InputError(
        "title",
        title,
        f"{printable(str(folder), 200)} holds what {printable(other)} made, not {printable(preset_file)}: give "
        "this preset another title, or --out another folder; if it was only renamed, move that folder elsewhere first",
        file=preset_file,
    )


def _holds(folder: Path, preset_text: str) -> bool:
    """Whether an output folder's own copy of its preset is this text."""
    if not preset_text:
        return False
    try:
        return (folder / f"{folder.name}.toml").read_bytes() == preset_text.encode("utf-8")
    except OSError:
        return False


def produce_coupon(path: Path, out: Path) -> tuple[Coupon, tuple[FileRecord, ...]]:
    """Make the test piece of a preset's route, material and sheet in ``out/<slug>-coupon/``, with a page on its use.

    Raises
    ------
    holders.core.errors.CheckStops
        When the material must not go into a laser.
    holders.core.errors.InputError, holders.core.errors.MachineError
        As :func:`study_file` and :func:`produce`.
    """
    from holders.checks.safety.cautions import by_process  # noqa: PLC0415
    from holders.output.bundle.carry import with_preset  # noqa: PLC0415
    from holders.output.bundle.coupon_files import coupon_files  # noqa: PLC0415
    from holders.output.bundle.write import write_all  # noqa: PLC0415
    from holders.output.sheet.html import html_bytes  # noqa: PLC0415
    from holders.output.sheet.testpiece import drawing, testpiece_sheet  # noqa: PLC0415
    from holders.workshop.coupon.coupon import coupon_for  # noqa: PLC0415

    path = preset_path(path)
    text = read_text(path)
    try:
        text, preset, _ = standing_alone(text, path)
        job = resolve(preset)
        piece = coupon_for(job)
    except InputError as error:
        raise located(error, text, str(path)) from None
    if job.preset.route == "laser" and job.material.laser == "forbidden":
        raise CheckStops(f"{job.material.name} must not go into a laser: {job.material.laser_reason}")
    slug = f"{job.slug}-coupon"
    own = path.name if path.suffix == SUFFIX else f"{job.slug}{SUFFIX}"
    mine = partial(not_anothers, out / slug, job.preset.title, own, text)
    mine()
    content = testpiece_sheet(job, piece, by_process(job.preset.route))
    title = content.title
    files = coupon_files(title, piece.parts, job.paper, drawing(piece).svg(title, embed=True), job.printer)
    files["test-piece.html"] = lambda: html_bytes(content)
    notes = {"title": title, "preset": own, "thickness": piece.tongue_mm, "material": job.material.key}
    return piece, write_all(out, slug, with_preset(files, slug, text), notes, mine)


def _job_sheet(found: Study, anyway: str) -> dict[str, Callable[[], bytes]]:
    """The job sheet for screen and paper; its content is worked out once, when the first of the two is written."""
    from holders.output.sheet.content import sheet_content  # noqa: PLC0415 - reportlab
    from holders.output.sheet.html import html_bytes  # noqa: PLC0415
    from holders.output.sheet.pdf import pdf_bytes  # noqa: PLC0415

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
        from holders.output.words.stock import stock_summary  # noqa: PLC0415

        notes["stock_sheets"] = stock_summary(found.nested)
    for made in found.design.fitted:
        notes |= made.record(found.design)
    if anyway and found.stops:
        notes["made_anyway_because"] = anyway
    return notes
