"""``make`` and ``check``: one preset or a batch."""

from __future__ import annotations

import gc
from collections.abc import Iterator, Sequence
from contextlib import contextmanager
from dataclasses import asdict, dataclass, replace
from pathlib import Path
from typing import TYPE_CHECKING, Any

from holders.checks.safety.cautions import hazards
from holders.core.bounds import bounded_time
from holders.core.errors import HoldersError, InputError
from holders.core.findings import per_hundred
from holders.core.workers import Refused, cores
from holders.face.cli import show
from holders.face.cli.batch import Team, team
from holders.face.cli.commands.deciding import tell_steps
from holders.face.cli.markup import escape
from holders.facts import height_names
from holders.output.bundle.kept import kept_in
from holders.output.bundle.produce import never_made, not_anothers, produce
from holders.output.words.summary import of_row_words, sharpest_words, summary
from holders.preset.shipped import shipped_as
from holders.preset.tables.supposed import supposed_keys
from holders.study import Study, record_places, study_file
from holders.workshop.budget.tolerance import sharp_means

if TYPE_CHECKING:
    from holders.design.model import Design
    from holders.face.cli.beside import Solids
    from holders.face.cli.known import Known
    from holders.output.bundle.write import FileRecord


def check_one(
    path: Path,
    as_json: bool,
    record: Path | None = None,
    everything: bool = False,
    do: int | None = None,
    undo: bool = False,
    steps: bool = True,
    register: Path | None = None,
) -> int:
    """Check a preset, with the steps that gain if ``steps``; the exit code is 1 when a check says stop.

    ``do`` is the number of a step to do first, ``undo`` brings the preset back as it was before the last one.
    ``register`` may have readings of this very holder: what puts that right is the first of the next steps.
    """
    if do is not None and not steps:
        raise InputError("--do", do, "cannot go with --no-steps, which tries none")
    from holders.face.cli.answer import print_json
    from holders.face.cli.commands.deciding import do_step, undo_step
    from holders.face.cli.known import known, with_known

    if undo:
        undo_step(path)
    found = _stepped(path, record, steps)
    there = known(found, register, record)
    found = with_known(found, there, record)
    if do is not None:
        kept = do_step(path, do, found)
        show.err().print(escape(f"done: {found.verdict.next[do - 1].text}; as it was: {kept}"))
        found = _stepped(path, record, steps)
        there = known(found, register, record)
        found = with_known(found, there, record)
    if as_json:
        more = {} if register is None and record is None else there.summary()
        print_json({**summary(found, str(path)), **more})
    else:
        _tell(found, everything, there)
        _caution([found], everything)
    return 0 if found.ok else 1


def _stepped(path: Path, record: Path | None, steps: bool) -> Study:
    """A preset's study, with the steps that gain if they are wanted."""
    if not steps:
        with show.working("designing"):
            return study_file(path, record)
    from holders.search.tried import with_steps

    with show.working("designing, and trying what would help"):
        return with_steps(study_file(path, record), record_places(record))


def make_all(
    paths: Sequence[Path],
    out: Path,
    anyway: str | None,
    as_json: bool,
    record: Path | None = None,
    everything: bool = False,
    solids: Solids | None = None,
    steps: bool = True,
    register: Path | None = None,
) -> int:
    """Make every preset; all are read and checked before the first file is written.

    Several are spread over the processors; of a single one, ``solids`` may make what needs the CAD kernel. One that
    fails while its files are made takes none of the others with it. The exit code is the worst of them. Of a holder
    that is there already (its ledge is in ``register`` or in the preset) what puts it right is said first and last.
    """
    if anyway is not None and not anyway.strip():
        raise InputError("--anyway", anyway, "needs a reason in words, as it is recorded with the files")
    count = min(len(paths), cores())
    if count < 2:
        with _no_collection():
            made = _one_by_one(paths, out, anyway, record, solids, steps)
    else:
        with team(count) as workers:
            made = _spread(workers, paths, out, anyway, record, steps)
    return _show([_known_too(one, register, record) for one in made], out, as_json, everything)


def _known_too(one: Made, register: Path | None, record: Path | None) -> Made:
    from holders.face.cli.known import known, with_known

    there = known(one.found, register, record)
    return replace(one, found=with_known(one.found, there, record), there=there)


@contextmanager
def _no_collection() -> Iterator[None]:
    """Without looking for circles of garbage: loading the libraries goes a tenth faster, and the process is short."""
    gc.disable()
    try:
        yield
    finally:
        gc.enable()


def make_coupons(paths: Sequence[Path], out: Path, as_json: bool) -> int:
    """Write the test piece of each preset, and say what comes next."""
    from holders.face.cli.answer import print_json
    from holders.output.bundle.produce import produce_coupon

    results: list[dict[str, Any]] = []
    for path in paths:
        with show.working(f"{path.name}: making its test piece"):
            piece, records = produce_coupon(path, out)
        slug = Path(records[-1].path).parent.name
        sizes = {
            "thickness": piece.tongue_mm,
            "square": piece.square_mm,
            "plug": piece.plug_mm,
            "heights": list(piece.heights),
        }
        results.append(
            {
                "preset": str(path),
                "slug": slug,
                "ok": True,
                "coupon": sizes,
                "files": [asdict(r) for r in records],
                "kept": _kept(records),
            }
        )
        if not as_json:
            _listed(out / slug, records)
            show.out().print(
                f"make it, then open {escape(str(out / slug / 'test-piece.html'))}: what to measure, where to type it"
            )
    if as_json:
        print_json(results[0] if len(results) == 1 else {"ok": True, "results": results})
    return 0


@dataclass(frozen=True, slots=True)
class Made:
    """What became of one preset; ``records`` is None where a check stopped it, or the reason why it failed."""

    path: Path
    found: Study
    records: tuple[FileRecord, ...] | Refused | None
    there: Known | None = None

    @property
    def written(self) -> bool:
        """Whether its files were written."""
        return self.records is not None and not isinstance(self.records, Refused)

    @property
    def code(self) -> int:
        """The exit code that it asks for."""
        return 1 if self.records is None else self.records.code if isinstance(self.records, Refused) else 0


def _one_by_one(
    paths: Sequence[Path],
    out: Path,
    anyway: str | None,
    record: Path | None,
    solids: Solids | None,
    steps: bool,
) -> list[Made]:
    studies = [(path, _stepped(path, record, steps)) for path in paths]
    _different(studies)
    _not_anothers(studies, out)
    made = []
    for number, (path, found) in enumerate(studies, 1):
        if found.stops and not anyway:
            made.append(Made(path, found, None))
            continue
        with show.working(
            f"{found.design.title}: drawing solids and writing files ({number} of {len(studies)})"
        ):
            bodies = None if solids is None else solids(found.design)
            with bounded_time():  # each by itself, however many
                made.append(Made(path, found, produce(found, out, anyway, bodies)))
    return made


def _spread(
    workers: Team, paths: Sequence[Path], out: Path, anyway: str | None, record: Path | None, steps: bool
) -> list[Made]:
    with show.counting("designed and checked") as tell:
        read = workers.study_all(paths, record, tell, steps)
    bad = [found for found in read if isinstance(found, Refused)]
    if bad:
        raise _refusal(bad)
    studies = [
        (path, found) for path, found in zip(paths, read, strict=True) if not isinstance(found, Refused)
    ]
    _different(studies)
    _not_anothers(studies, out)
    going = [found for _, found in studies if anyway or not found.stops]
    with show.counting("made") as tell:
        records = iter(workers.produce_all(going, out, anyway, tell))
    return [
        Made(path, found, next(records) if anyway or not found.stops else None) for path, found in studies
    ]


def _refusal(bad: Sequence[Refused]) -> HoldersError:
    """All that was wrong with a batch, one line each, as one error."""
    error = HoldersError("\nholders: ".join(one.message for one in bad))
    error.exit_code = max(one.code for one in bad)
    return error


def _show(made: Sequence[Made], out: Path, as_json: bool, everything: bool) -> int:
    from holders.face.cli.answer import print_json

    if as_json:
        results = [_summary(one) for one in made]
        print_json(
            results[0] if len(made) == 1 else {"ok": not any(m.code for m in made), "results": results}
        )
    for one in made:
        if not as_json:
            _tell(one.found, everything, one.there, last=not one.written)
        title = escape(one.found.design.title)
        if one.records is None:
            never = never_made(one.found)
            what = f"{escape(never)}; --anyway does not lift this" if never else (
                "Change the preset, or give --anyway REASON"
            )  # fmt: skip
            show.err().print(
                f"[bold red]stopped[/]: {title}: a check says stop, so nothing was written. {what}."
            )
        elif isinstance(one.records, Refused):
            show.err().print(f"[bold red]failed[/]: {title}: {escape(one.records.message)}")
        elif not as_json:
            _wrote(out, one.found, one.records, everything)
    if not as_json:
        _caution([one.found for one in made], everything)
        for one in made:
            if one.written:
                _open(out, one.found)
    return max(one.code for one in made)


def _summary(one: Made) -> dict[str, Any]:
    if isinstance(one.records, Refused):
        return {**summary(one.found, str(one.path)), "ok": False, "error": one.records.message}
    return {**summary(one.found, str(one.path), one.records or ()), "kept": _kept(one.records or ())}


def _kept(records: Sequence[FileRecord]) -> list[str]:
    """The user's own versions of files, kept beside those just written."""
    return [str(path) for path in kept_in(Path(records[-1].path).parent)] if records else []


def _different(studies: Sequence[tuple[Path, Study]]) -> None:
    seen: dict[str, Path] = {}
    for path, found in studies:
        if found.design.slug in seen and seen[found.design.slug] != path:
            raise InputError(
                "title",
                found.design.title,
                f"{seen[found.design.slug]} would write the same folder; give one another title",
                file=str(path),
            )  # fmt: skip
        seen[found.design.slug] = path


def _not_anothers(studies: Sequence[tuple[Path, Study]], out: Path) -> None:
    """Refuse what would cover another preset's files, before the first file is written."""
    for _, found in studies:
        not_anothers(out / found.design.slug, found.design.title, found.preset_file, found.preset_text)


def _ledge(design: Design) -> str:
    """The ledge as it will be over the underside, as it is drawn where that differs, and the feet."""
    h = design.heights
    drawn = "" if abs(h.print_offset) < 0.005 else f" ({height_names.LEDGE_DRAWN} {h.ledge_height:.2f} mm)"
    return f"{h.ledge_as_made:.2f} mm{drawn}; {height_names.FEET} {h.foot_protrusion:.2f} mm"


def _put_in(found: Study) -> None:
    """Which keys wait for what is found, where the chance rests on values that are only supposed."""
    keys = supposed_keys(found.job.whole_preset)
    if keys:
        words = f"Supposed so far: {', '.join(keys)}. Put in what you measure, and take its entry out of `supposed`"
        show.out().print(words, markup=False)


def _tell(found: Study, everything: bool, there: Known | None = None, *, last: bool = True) -> None:
    """A study in words; ``last``: no words on files it made follow, which would end with whose scanner it is for."""
    from holders.face.cli.known import tell_known
    from holders.face.shared.adding import PICTURE, adding_words
    from holders.output.crop_boxes import crop_rows, scan_setting
    from holders.output.words.warmth import warm_words

    console, design = show.out(), found.design
    h, each = design.heights, [found.of(one.kind) for one in found.job.each]
    console.print(f"[bold]{escape(design.title)}[/]  ({design.route}, {found.job.material.name})")
    console.print(f"[bold]{escape(found.verdict.text)}[/]")
    console.print(sharp_means(), markup=False)
    _put_in(found)
    if last:
        _for_whom(found)
    if there is not None:
        tell_known(there)
    tell_steps(found)
    console.print()
    rows: list[tuple[str, str]] = [
        ("outer size", f"{design.outer.width:.1f} x {design.outer.height:.1f} mm"),
        *(("windows", _windows(one)) for one in each),
        *((height_names.LEDGE, f"{_of(one)}{_ledge(one.design)}") for one in each),
        *((height_names.LEDGE_ABOVE_GLASS, f"{_of(one)}{one.design.heights.ledge_above_glass:.2f} mm") for one in each),
        *((height_names.PLANE, f"{_of(one)}{one.design.heights.sharp_plane:.2f} mm above the glass") for one in each),
        *((PICTURE, f"{_of(one)}{adding_words(one)}") for one in each),
        (height_names.SHARPEST, f"{h.focus:.2f} ± {h.focus_sigma:.2f} mm above the glass (one standard deviation); "
                             f"{height_names.BAND} {h.band_low:.2f} to {h.band_high:.2f} mm"),
        ("picture shown", ", ".join(sorted({f"{100 * w.seen:.1f} %" for w in design.windows}))),
        ("height in all", f"{design.total_height:.1f} mm of {found.job.bed.lid_room_mm:.1f} mm under the lamp lid"),
    ]  # fmt: skip
    for one in each:
        if one.design.sag is not None and one.design.sag.warm is not None:
            rows.append(("film on the warm bed", f"{_of(one)}{warm_words(one.job.film, one.design)}"))
    rows += crop_rows(design, scan_setting(found.job.preset), everything=everything)
    rows += _stock(found)
    console.print(show.grid(rows))
    more = "" if everything else "; --all shows every one"
    console.print(f"\n[bold]Checks[/]: {show.counted(found.findings)}{more}")
    console.print(show.findings_rows(found.findings, everything, helped=bool(found.verdict.next)))
    if not everything and (outside := show.outside_words(found.findings)):
        console.print(outside, markup=False)
    for note in design.notes:
        console.print(f"note: {escape(note)}")


def _stock(found: Study) -> list[tuple[str, str]]:
    """One row for each stock sheet, or why there is none."""
    if found.not_nested:
        return [("stock", f"not laid out on sheets: {found.not_nested}")]
    if not found.nested:
        return []
    from holders.output.words.stock import told_all

    return list(told_all(found.nested))


def _of(found: Study) -> str:
    """The film's name before its numbers, in a holder for several kinds."""
    return f"{found.job.film_called}: " if found.job.kinds else ""


def _for_whom(found: Study) -> None:
    """Whose scanner the chance of a shipped preset is for, and how to have one's own."""
    name = shipped_as(found.preset_text)
    if not name:
        if supposed := of_row_words(found.job.preset, found.job.bed, found.design.heights):
            show.out().print(supposed, markup=False)
        return
    show.out().print(
        f"That is for the scanner this preset was made for, {sharpest_words(found.design.heights)}. "
        f"For yours: holders new MINE.toml --from {name}",
        markup=False,
    )


def _windows(found: Study) -> str:
    w = found.design.mine
    return f"{len(w)} of {found.job.film_called}, {w[0].opening.width:.1f} x {w[0].opening.height:.1f} mm"


def _caution(studies: Sequence[Study], everything: bool) -> None:
    """The cautions of a whole batch once: their names, or in full with ``everything``."""
    console = show.out()
    texts = dict.fromkeys(caution for found in studies for caution in hazards(found.job, found.design))
    if everything:
        for caution in texts:
            console.print(f"[yellow]caution[/]: {escape(caution.sentence)}")
    elif texts:
        names = "; ".join(dict.fromkeys(caution.title for caution in texts))
        console.print(f"[yellow]Cautions[/] (in full on the job sheet, or with --all): {escape(names)}")


def _open(out: Path, found: Study) -> None:
    """The last words on a holder that was made: the verdict, and what to open."""
    console = show.out()
    console.print(f"\n[bold]{escape(found.design.title)}: {escape(found.verdict.text)}[/]")
    _for_whom(found)
    console.print(f"open {escape(str(out / found.design.slug / 'job-sheet.html'))}")
    rescue = next((step for step in found.verdict.next if step.by_hand), None)
    if rescue is not None:
        gain = f"{per_hundred(rescue.now or 0.0)} -> {per_hundred(rescue.chance)} of 100"
        console.print(
            f"[bold]Before you make a new one[/], put right {escape(f't{rescue.text[1:]}')}: {gain}"
        )


def _wrote(out: Path, found: Study, records: Sequence[Any], everything: bool) -> None:
    folder = out / found.design.slug
    if everything:
        _listed(folder, records)
        return
    show.out().print(f"wrote {len(records)} files to {escape(str(folder))}; --all lists them")
    _kept_own(folder)


def _listed(folder: Path, records: Sequence[Any]) -> None:
    console = show.out()
    console.print(f"wrote {len(records)} files to {escape(str(folder))}:")
    for record in records:
        console.print(
            f"  {escape(record.path)}  [dim]{record.format}, {record.units}, {record.bytes} bytes[/]"
        )
    _kept_own(folder)


def _kept_own(folder: Path) -> None:
    for path in kept_in(folder):
        show.out().print(f"[yellow]kept[/] your own version of a file: {escape(str(path))}")
