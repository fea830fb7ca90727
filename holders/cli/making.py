"""``make`` and ``check``: one preset or a batch."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from rich.markup import escape

from holders.cli import show
from holders.errors import InputError
from holders.report.summary import summary
from holders.study import Study, produce, study_file


def check_one(path: Path, as_json: bool, record: Path | None = None) -> int:
    """Check a preset; the exit code is 1 when a check says stop."""
    from holders.cli.main import print_json

    found = study_file(path, record)
    if as_json:
        print_json(summary(found, str(path)))
    else:
        _tell(found)
    return 0 if found.ok else 1


def make_all(
    paths: Sequence[Path], out: Path, anyway: str | None, as_json: bool, record: Path | None = None
) -> int:
    """Make every preset; all are read and checked before the first file is written."""
    from holders.cli.main import print_json

    if anyway is not None and not anyway.strip():
        raise InputError("--anyway", anyway, "needs a reason in words, as it is recorded with the files")
    studies = [(path, study_file(path, record)) for path in paths]
    _different(studies)
    results, code = [], 0
    for number, (path, found) in enumerate(studies, 1):
        say = f"{found.design.title}: drawing solids and writing files ({number} of {len(studies)})"
        if found.stops and not anyway:
            code = 1
            results.append(summary(found, str(path)))
            if not as_json:
                _tell(found)
            show.err().print(
                f"[bold red]stopped[/]: {escape(found.design.title)}: a check says stop, so nothing was written. "
                f"Change the preset, or give --anyway REASON."
            )
            continue
        with show.working(say):
            records = produce(found, out, anyway)
        results.append(summary(found, str(path), records))
        if not as_json:
            _tell(found)
            _wrote(out, found, records)
    if as_json:
        print_json(results[0] if len(results) == 1 else {"ok": code == 0, "results": results})
    return code


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


def _tell(found: Study) -> None:
    console, design = show.out(), found.design
    h = design.heights
    console.print(f"[bold]{escape(design.title)}[/]  ({design.route}, {found.job.material.name})")
    rows: list[tuple[str, str]] = [
        ("outer size", f"{design.outer.width:.1f} x {design.outer.height:.1f} mm"),
        ("windows", _windows(found)),
        ("ledge", f"{h.ledge_height:.2f} mm above the underside, feet add {h.foot_protrusion:.2f} mm"),
        ("sharp plane", f"{h.sharp_plane:.2f} mm above the glass; focus {h.focus:.2f} ± {h.focus_sigma:.2f} mm,"
                        f" sharp from {h.band_low:.2f} to {h.band_high:.2f} mm"),
        ("picture shown", ", ".join(sorted({f"{100 * w.seen:.1f} %" for w in design.windows}))),
        ("height in all", f"{design.total_height:.1f} mm of {found.job.bed.lid_room_mm:.1f} mm under the lamp lid"),
    ]  # fmt: skip
    rows += _stock(found)
    console.print(show.grid(rows))
    console.print(show.findings_table(found.findings))
    for note in design.notes:
        console.print(f"note: {escape(note)}")
    for caution in found.cautions:
        console.print(f"[yellow]caution[/]: {escape(caution)}")


def _stock(found: Study) -> list[tuple[str, str]]:
    """One row for each stock sheet, or why there is none."""
    if found.not_nested:
        return [("stock", f"not laid out on sheets: {found.not_nested}")]
    if not found.nested:
        return []
    from holders.report.stock import told_all

    return [(f"stock sheet {number}", words) for number, words in enumerate(told_all(found.nested), 1)]


def _windows(found: Study) -> str:
    w = found.design.windows
    return f"{len(w)} of {found.job.film.name}, {w[0].opening.width:.1f} x {w[0].opening.height:.1f} mm"


def _wrote(out: Path, found: Study, records: Sequence[Any]) -> None:
    console = show.out()
    console.print(f"wrote {len(records)} files to {escape(str(out / found.design.slug))}:")
    for record in records:
        console.print(
            f"  {escape(record.path)}  [dim]{record.format}, {record.units}, {record.bytes} bytes[/]"
        )
