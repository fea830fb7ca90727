"""``inspect``: a finished scan in; rings, sharpness across the frame, skew and edges out."""

from __future__ import annotations

import math
from pathlib import Path
from typing import Any

from holders.core.errors import InputError, printable
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.face.cli.new_preset import may_write
from holders.face.cli.progress import progress_line
from holders.face.shared.drawn_name import drawn_name
from holders.face.shared.expected import expected_of
from holders.preset.load import parse
from holders.study import Study, study, study_file


def inspect(
    scan: Path,
    preset: Path | None,
    dpi: float | None,
    as_json: bool,
    before: Path | None = None,
    write_preset: Path | None = None,
    out: Path = Path("out"),
    second: Path | None = None,
) -> None:
    """Inspect, compare with an earlier scan, write the corrected preset, tell, and draw ``out/<scan>-inspect.svg``.

    Raises ``InputError`` for a scan or preset that cannot be used; nothing is then written.
    """
    from holders.face.cli.answer import print_json
    from holders.measure.finished.look import compare_scans, inspect_scan

    if write_preset is not None:
        may_write(write_preset, preset)
    studied = None if preset is None else study_file(preset)
    expected = None if studied is None else expected_of(studied)
    measured = None
    if second is not None:
        measured, expected = _measured(scan, second, studied, expected, dpi)
    earlier, both = None, None
    with progress_line() as tell:
        if before is None:
            found = inspect_scan(str(scan), design=expected, dpi=dpi, progress=tell)
        else:
            earlier, found, both = compare_scans(
                str(before), str(scan), design=expected, dpi=dpi, progress=tell
            )
    if measured is not None and studied is not None:
        found = _decided(found, measured, studied)
    told: dict[str, Any] = found.to_answer()
    if earlier is not None and both is not None:
        told |= {"before": earlier.to_answer(), "comparison": both.to_values()}
    if measured is not None:
        told["surface"] = measured.to_answer()
    if write_preset is not None and studied is not None and preset is not None:
        told["written_preset"] = _corrected(preset, studied, found, write_preset)
    if as_json:
        print_json(told)
        return
    _tell(found, told)
    if measured is not None:
        _tell_surface(measured)
    show.out().print(f"drawn: {escape(str(_draw(found, scan, out)))}")


def _measured(
    scan: Path, second: Path, studied: Study | None, expected: Any, dpi: float | None
) -> tuple[Any, Any]:
    """The surface from a second scan, and what the scan is then judged against."""
    from holders.face.shared.surface import known_with, with_measured
    from holders.measure.surface.measure import Known, measure_surface

    if studied is None:
        raise InputError(
            "--second",
            str(second),
            "say with --preset PRESET what the scan was made with: its ledge carries the heights",
        )
    with progress_line() as tell:
        found = measure_surface(scan, second, known=known_with(Known(), studied), dpi=dpi, progress=tell)
    return found, with_measured(expected, found)


def _decided(found: Any, measured: Any, studied: Study) -> Any:
    """The scan's sharpness with what the film's measured height decides where the scan shows nothing."""
    from dataclasses import replace

    from holders.measure.finished.geometry import decided

    band, sigma = measured.band_mm, studied.job.bed.focus_sigma_mm
    places = measured.x_mm, measured.y_mm
    return replace(
        found, sharpness=decided(found.sharpness, places, measured.z_mm, measured.sigma_mm, band, sigma)
    )


def _tell_surface(found: Any) -> None:
    """How the film lies, measured by the second scan."""
    from holders.output.words import surfaced

    console = show.out()
    console.print("How the film lies, from the second scan:")
    console.print(show.grid(surfaced.rows(found)))
    for words in found.warnings:
        console.print(f"[yellow]warning[/]: {escape(words)}")


def _corrected(preset: Path, studied: Study, found: Any, target: Path) -> dict[str, Any]:
    """Write the copy and say what changed and why; with no correction nothing is written and the reason said.

    Blur tells where the film lies against the sharp plane, not which of the two moved, so the whole of it goes to the
    bed's focus height: the ledge follows it in the next design.
    """
    from holders.core.atomic_write import new_file
    from holders.measure.finished.correction import why_not

    correction = found.correction
    if correction is None:
        return {"path": None, "changes": [], "why": why_not(found.height_fit, found.sharpness)}
    old = studied.job.bed.focus_height_mm
    new = round(old + correction.ledge_change_mm, 2)
    sigma = max(0.01, round(correction.sigma_mm, 2))
    text = _rewritten(preset, studied, found.path, old, new, sigma)
    redone = study(parse(text, str(target)), text)
    new_file("--write-preset", target, text.encode("utf-8"))
    heights, again = studied.design.heights, redone.design.heights
    return {
        "path": str(target),
        "changes": [
            {"field": "bed.focus_height_mm", "old": old, "new": new},
            {"field": "bed.focus_sigma_mm", "old": studied.job.bed.focus_sigma_mm, "new": sigma},
        ],
        "why": correction.reason,
        "ledge_above_glass": {
            "old": round(heights.ledge_above_glass, 3),
            "new": round(again.ledge_above_glass, 3),
        },
        "stops": [f"{f.code}: {f.advice or f.title}" for f in redone.stops],
    }


def _rewritten(preset: Path, studied: Study, scan: str, old: float, new: float, sigma: float) -> str:
    """The preset's text with the two numbers changed and nothing else; read back to be sure of it."""
    from holders.measure.finished.rewrite import with_number

    name = printable(Path(scan).name, 60)
    notes = (f"{old:g} before; corrected by the sharpness seen in {name}",)
    text = with_number(studied.preset_text, "bed", "focus_height_mm", new, notes)
    text = with_number(text, "bed", "focus_sigma_mm", sigma)
    wanted = studied.job.preset
    bed = wanted.bed.model_copy(update={"focus_height_mm": new, "focus_sigma_mm": sigma})
    if parse(text, str(preset)) != wanted.model_copy(update={"bed": bed}):
        raise InputError(
            "--preset", str(preset), "is laid out so that its copy cannot be made safely; set "
            f"focus_height_mm = {new:g} and focus_sigma_mm = {sigma:g} under [bed] by hand"
        )  # fmt: skip
    return text


def _tell(found: Any, data: dict[str, Any]) -> None:
    from holders.output.words import inspected

    console = show.out()
    console.print(show.grid(inspected.rows(found)))
    for words in inspected.places(found):
        console.print(f"[yellow]rings[/]: {escape(words)}")
    for words in inspected.advice(found):
        console.print(f"advice: {escape(words)}")
    for words in (*inspected.doubts(found), *found.warnings):
        console.print(f"[yellow]warning[/]: {escape(words)}")
    if "comparison" in data:
        _tell_comparison(data)
    if "written_preset" in data:
        _tell_written(data["written_preset"])


def _draw(found: Any, scan: Path, out: Path) -> Path:
    from holders.output.bundle.write import write_one
    from holders.output.draw.inspect import inspect_sheet

    return write_one(out, drawn_name(scan, "inspect"), inspect_sheet(found))


def _tell_comparison(data: dict[str, Any]) -> None:
    c, was, now = data["comparison"], data["before"]["sharpness"], data["sharpness"]
    across, down = c["shift"]
    gain = 100 * (math.exp(c["mean_gain"]) - 1)
    sharper, softer = 100 * c["sharper_fraction"], 100 * c["softer_fraction"]
    in_band = [
        "cannot tell" if d["in_band_fraction"] is None else f"{100 * d['in_band_fraction']:.0f} %"
        for d in (was, now)
    ]
    rows = [
        ("against", str(data["before"]["scan"])),
        ("rings", c["rings"]),
        ("finest detail", f"{gain:+.0f} % (median, noise taken out); {sharper:.0f} % of the film clearly sharper, "
                          f"{softer:.0f} % clearly softer"),
        ("sharp", f"{in_band[0]} before, {in_band[1]} now"),
        ("surely out of focus", f"{100 * c['blurred_before']:.0f} % of the film before, "
                                f"{100 * c['blurred_after']:.0f} % now: the other scan shows what is missing there"),
        ("moved by", f"{across:.2f} mm across, {down:.2f} mm down (± {c['shift_sigma']:.2f})"),
    ]  # fmt: skip
    show.out().print(show.grid(rows))


def _tell_written(written: dict[str, Any]) -> None:
    console = show.out()
    if written["path"] is None:
        console.print(f"no preset written: {escape(written['why'])}")
        return
    console.print(f"preset written: {escape(written['path'])}")
    for change in written["changes"]:
        console.print(f"  {change['field']}: {change['old']:g} -> {change['new']:g} mm", markup=False)
    ledge = written["ledge_above_glass"]
    console.print(f"  the ledge comes to {ledge['new']:.2f} mm above the glass, from {ledge['old']:.2f}")
    console.print(f"  because {escape(written['why'])}")
    for words in written["stops"]:
        console.print(f"[bold red]a check says stop[/]: {escape(words)}")
