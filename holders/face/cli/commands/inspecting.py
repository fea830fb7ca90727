"""``inspect``: a finished scan in; rings, sharpness across the frame, skew and edges out."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from pathlib import Path
from typing import Any

from holders.core.errors import InputError, printable
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.face.cli.new_preset import may_write
from holders.face.cli.progress import progress_line
from holders.face.shared.drawn_name import drawn_name
from holders.face.shared.expected import expected_of, window_of_scan
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
    window: int | None = None,
    register: Path | None = None,
    bed_record: Path | None = None,
) -> None:
    """Inspect, compare with an earlier scan, write the corrected preset, tell, and draw ``out/<scan>-inspect.svg``.

    Raises ``InputError`` for a scan or preset that cannot be used; nothing is then written.
    """
    from holders.face.cli.answer import print_json
    from holders.measure.finished.look import compare_scans, inspect_scan

    if write_preset is not None:
        may_write(write_preset, preset)
    _refuse_idle(bed_record, second)
    with show.working("designing the holder that the scan was made with"):
        studied = None if preset is None else study_file(preset)
    studied, number = _of_window(studied, scan, window, dpi)
    expected = None if studied is None else expected_of(studied, number)
    own = _own_light(register, studied, number or 1)
    measured = None
    if second is not None:
        measured, expected = _measured(scan, second, studied, expected, dpi, bed_record)
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
    told |= {} if own is None else {"own_light": list(own)}
    if earlier is not None and both is not None:
        told |= {"before": earlier.to_answer(), "comparison": both.to_values()}
    if measured is not None:
        told["surface"] = measured.to_answer()
    if write_preset is not None and studied is not None and preset is not None:
        told["written_preset"] = _corrected(preset, studied, found, write_preset)
    if studied is not None and studied.job.kinds:
        told["window"] = number
    if as_json:
        print_json(told)
        return
    if window is None:
        _tell_window(studied, number)
    _tell(found, told, own or ())
    if measured is not None:
        _tell_surface(measured)
    show.out().print(f"drawn: {escape(str(_draw(found, scan, out)))}")


def _refuse_idle(bed_record: Path | None, second: Path | None) -> None:
    """Refuse a bed's record that nothing of the inspection would use."""
    if bed_record is not None and second is None:
        raise InputError(
            "--bed-record", str(bed_record), "its lens counts with a scan after a slide: give that with --second SCAN"
        )  # fmt: skip


def _of_window(
    studied: Study | None, scan: Path, window: int | None, dpi: float | None
) -> tuple[Study | None, int | None]:
    """The study of the film in the scan's window, and that window's number: by the scan's size where none is given."""
    if studied is None:
        return None, window
    number = window_of_scan(studied, scan, dpi) if window is None else window
    return studied.at_window(number)[0], number


def _tell_window(studied: Study | None, number: int | None) -> None:
    """Which window the scan was taken for, in a holder for several kinds of film."""
    if studied is None or number is None:
        return
    words = f"by its size this is window {number} ({studied.job.film_called}) or one like it"
    show.out().print(escape(f"{words}; --window N where it is another"))


def _own_light(register: Path | None, studied: Study | None, window: int) -> tuple[str, ...] | None:
    """What the register's scan of this holder without film says of the window's edges; None where there is none."""
    if register is None:
        return None
    if studied is None:
        raise InputError(
            "--register", str(register), "say with --preset PRESET which of its holders was used"
        )
    found: tuple[str, ...] = own_light_in(register, studied)(window)
    return found


def own_light_in(register: Path, studied: Study) -> Callable[[int], tuple[str, ...]]:
    """What the register's scan of a holder without film says of a window's edges, by the window's number.

    Raises ``InputError`` for a register that cannot be read, or has no such scan.
    """
    from holders.measure.register import load_register
    from holders.output.words.emptied import own_light
    from holders.preset.holder_code import holder_code

    code = holder_code(studied.job)
    light = load_register(register).light_of(code)
    if light is None:
        raise InputError(
            "--register", str(register), f"has no scan of holder {code} without film: `holders inspect --empty SCAN "
            "--preset PRESET --register FILE` adds one"
        )  # fmt: skip
    edges = dict(zip(light.windows, light.edges_stops, strict=True))
    return lambda window: own_light(edges[window], light.scan) if window in edges else ()


def _measured(
    scan: Path,
    second: Path,
    studied: Study | None,
    expected: Any,
    dpi: float | None,
    bed_record: Path | None,
) -> tuple[Any, Any]:
    """The surface from a second scan, and what the scan is then judged against."""
    from holders.face.shared.surface import known_with, with_measured, with_record
    from holders.measure.surface.measure import Known, measure_surface

    if studied is None:
        raise InputError(
            "--second",
            str(second),
            "say with --preset PRESET what the scan was made with: its ledge carries the heights",
        )
    known = Known() if bed_record is None else with_record(Known(), bed_record)
    with progress_line() as tell:
        found = measure_surface(scan, second, known=known_with(known, studied), dpi=dpi, progress=tell)
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
    wanted = studied.job.whole_preset
    bed = wanted.bed.model_copy(update={"focus_height_mm": new, "focus_sigma_mm": sigma})
    if parse(text, str(preset)) != wanted.model_copy(update={"bed": bed}):
        raise InputError(
            "--preset", str(preset), "is laid out so that its copy cannot be made safely; set "
            f"focus_height_mm = {new:g} and focus_sigma_mm = {sigma:g} under [bed] by hand"
        )  # fmt: skip
    return text


def _tell(found: Any, data: dict[str, Any], own: Sequence[str]) -> None:
    from holders.output.words import inspected

    console = show.out()
    console.print(show.grid(inspected.rows(found)))
    for words in inspected.places(found):
        console.print(f"[yellow]rings[/]: {escape(words)}")
    for words in inspected.advice(found):
        console.print(f"advice: {escape(words)}")
    for words in (*inspected.doubts(found), *found.warnings):
        console.print(f"[yellow]warning[/]: {escape(words)}")
    for words in own:
        console.print(f"[yellow]light[/]: {escape(words)}")
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
