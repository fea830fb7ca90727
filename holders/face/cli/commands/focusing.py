"""``focus``: a scan of a sloping target in, the bed's focus height out."""

from __future__ import annotations

from collections.abc import Sequence
from pathlib import Path
from typing import Any

from holders.core.errors import InputError
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.face.cli.progress import progress_line
from holders.face.shared.slope import geometry_of, resolution_words


def focus(
    scans: Sequence[Path],
    *,
    ramp: Path | None,
    rise: float | None,
    run: float | None,
    start_height: float,
    reverse: bool,
    dpi: float | None,
    target: tuple[str | None, float | None, float | None],
    keep: tuple[Path | None, tuple[float, float] | None, str],
    preset: Path | None,
    out: Path,
    as_json: bool,
) -> int:
    """Measure and tell; the exit code is 1 when the best height lies outside what the scan shows."""
    from holders.face.cli.answer import print_json
    from holders.measure.slope.measure import measure_focus
    from holders.measure.slope.target.shape import TargetShape

    record, place, note = keep
    if record is not None and place is None:
        raise InputError(
            "--place", "(missing)", "say where the target lay: --place X Y, mm from the home corner"
        )
    geometry = geometry_of(ramp, rise, run, start_height, reverse)
    shape = TargetShape(*target)
    holder = None if preset is None else _studied(preset)  # a bad preset is told before the long work
    with progress_line() as tell:
        found = measure_focus([str(s) for s in scans], geometry=geometry, dpi=dpi, progress=tell, shape=shape)
    if holder is not None:
        from holders.output.words.advising import advised

        found = advised(found, holder)
    kept = 0
    if record is not None and place is not None:
        kept = _keep(record, place, note, found)
    if as_json:
        print_json(found.to_answer())
    else:
        _tell(found, out)
        if record is not None:
            show.out().print(escape(_kept_words(record, found, kept)))
    return 1 if found.at_edge else 0


def _studied(preset: Path) -> Any:
    # not at the top: a measurement without a preset need not hold the design rooms in memory
    from holders.study import study_file

    return study_file(preset)


def _keep(record: Path, place: tuple[float, float], note: str, found: Any) -> int:
    """Add the measurement to a bed record, or each of several ramps at its own place; how many were kept.

    With several ramps ``place`` is where the picture's top left corner lies on the glass.
    """
    import datetime

    from pydantic import ValidationError

    from holders.measure.bed.record import Measured, append_measured

    good = [one for one in found.places or (found,) if not one.doubts]
    try:
        rows = [
            Measured(
                x_mm=round(place[0] + (one.x if found.places else 0.0), 1),
                y_mm=round(place[1] + (one.y if found.places else 0.0), 1),
                height_mm=round(one.height, 4),
                sigma_mm=max(0.001, round(one.height_sigma, 4)),
                band_mm=None if one.half_band is None else round(one.half_band, 4),
                colours_mm=_colours(one),
                date=datetime.date.today(),
                dpi=one.dpi,
                note=note,
            )
            for one in good
        ]
    except ValidationError as error:
        first = error.errors()[0]
        raise InputError(".".join(map(str, first["loc"])), first["input"], str(first["msg"])) from None
    for row in rows:
        append_measured(record, row)
    if found.lens is not None:
        _keep_lens(record, found.lens)
    return len(rows)


def _keep_lens(record: Path, lens: Any) -> None:
    """Keep the lens's distance that the ramp's two rows of marks show."""
    import datetime

    from holders.measure.bed.lens import MeasuredLens
    from holders.measure.bed.record import append_lens

    append_lens(
        record,
        MeasuredLens(
            distance_mm=round(lens.distance_mm, 1), sigma_mm=max(0.1, round(lens.sigma_mm, 1)),
            date=datetime.date.today(), note="marks of the focus ramp",
        ),
    )  # fmt: skip


def _colours(one: Any) -> tuple[float, float, float] | None:
    """Heights of red, green and blue, where all three were seen."""
    seen = {c.name: round(float(c.height), 4) for c in one.channels}
    if not {"red", "green", "blue"} <= set(seen):
        return None
    return seen["red"], seen["green"], seen["blue"]


def _kept_words(record: Path, found: Any, kept: int) -> str:
    """What came into the record."""
    if not found.places:
        lens = "" if found.lens is None else f", and the lens's distance, {found.lens.distance_mm:.0f} mm"
        return (
            f"kept in {record}{lens}" if kept else f"not kept in the record: {'; '.join(found.doubts)}{lens}"
        )
    left = (
        ""
        if kept == len(found.places)
        else f"; {len(found.places) - kept} left out, whose best height was not seen"
    )
    return f"kept in {record}: {kept} places{left}"


def _tell_places(found: Any) -> None:
    """Each of several ramps."""
    if found.places:
        table = [
            (f"{p.x:.0f}", f"{p.y:.0f}", f"{p.height:.3f}", f"{p.height_sigma:.3f}", "; ".join(p.doubts))
            for p in found.places
        ]
        heads = ("mm from the left", "mm from the top", "height mm", "sigma mm", "")
        show.out().print(show.table("each ramp", heads, table))


def _decimals(key: str) -> int:
    return 0 if key.endswith("_ppi") else 2


def _tell(found: Any, out: Path) -> None:
    from holders.output.bundle.write import write_one
    from holders.output.draw.focus import profile_sheet

    console = show.out()
    low, high = found.band
    rows = [
        ("sharpest", f"{found.height:.3f} ± {found.height_sigma:.3f} mm above the glass"),
        ("sharp from - to", f"{low:.2f} to {high:.2f} mm (detail of {found.frequency_lp_mm:g} line pairs a millimetre, "
                            f"lp/mm, keeps {100 * found.band_share:.0f} % of its contrast)"),
        ("heights seen", f"{found.heights_seen[0]:.2f} to {found.heights_seen[1]:.2f} mm"),
        ("target", f"{found.target}, turned {found.turn_deg:.1f} degrees, {found.dpi:g} dpi"),
        ("read", f"{found.rows_read} of {found.rows_total} rows ({100 * found.read_share:.0f} % of the slope)"),
    ]  # fmt: skip
    rows.append(
        (
            "within 0.1 mm",
            f"{100 * found.confidence:.0f} % likely; target taken for: {'; '.join(found.assumed)}",
        )
    )
    if found.resolution is not None:
        rows.append(("resolution", resolution_words(found.resolution)))
    rows += [
        (f"  {c.name}", f"{c.height:.3f} ± {c.height_sigma:.3f} mm")
        for c in found.channels
        if len(found.channels) > 1
    ]
    if found.lens is not None:
        rows.append(
            (
                "lens",
                f"{found.lens.distance_mm:.0f} ± {found.lens.sigma_mm:.0f} mm from the glass along its path",
            )
        )
    console.print(show.grid(rows))
    _tell_places(found)
    for words in found.warnings:
        console.print(f"[yellow]warning[/]: {escape(words)}")
    for words in found.advice:
        console.print(f"advice: {escape(words)}")
    if found.at_edge:
        console.print(
            "[bold red]the best height lies at or beyond the end of the slope[/]: scan a slope that reaches further"
        )
    target = write_one(out, "focus-profile.svg", profile_sheet(found))
    console.print(f"drawn: {escape(str(target))}")
    if found.doubts:
        console.print(f"not to be put into a preset yet: {escape('; '.join(found.doubts))}")
        return
    console.print("put it into a preset:")
    lines = "".join(f"\n  {key} = {value:.{_decimals(key)}f}" for key, value in found.bed_numbers().items())
    console.print(f"  [bed]{lines}", markup=False)
    if not found.band_seen:
        console.print(
            "(its sharp band reaches beyond the heights that were seen, so the band stays as it was)"
        )
