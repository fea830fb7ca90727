"""``surface``: two scans in, the second with the holder moved across the bed; the film's heights out."""

from __future__ import annotations

from pathlib import Path
from typing import Any

from holders.core.errors import InputError
from holders.face.cli import show
from holders.face.cli.markup import escape
from holders.face.cli.new_preset import may_write
from holders.face.cli.progress import progress_line
from holders.face.shared.drawn_name import drawn_name


def how_to(preset: Path | None, paper: str, out: Path, *, as_json: bool) -> int:
    """Write the page that shows how to slide a holder between two scans, for the preset's bed or a usual one."""
    from holders.face.cli.answer import print_json
    from holders.facts import tables
    from holders.output.bundle.write import write_one
    from holders.output.formats.slide_sheet import slide_pdf

    bed, row = tables.bed("a4-wide"), tables.paper(paper)
    if preset is not None:
        from holders.study import study_file

        bed = study_file(preset).job.bed
    target = write_one(out, f"how-film-lies-{row.key}.pdf", slide_pdf(bed, row))
    if as_json:
        print_json({"path": str(target), "paper": row.key})
    else:
        show.out().print(f"wrote {escape(str(target))}")
    return 0


def both(first: Path | None, second: Path | None, third: Path | None) -> tuple[Path, Path, Path | None]:
    """The scans; raises ``InputError`` where one of the two is missing."""
    if first is None or second is None:
        raise InputError(
            "SCAN_B" if first is not None else "SCAN_A", "(missing)", "give two scans of one film, the holder slid "
            "sideways in between; --sheet writes a page that shows how"
        )  # fmt: skip
    return first, second, third


def surface(
    scans: tuple[Path, Path, Path | None],
    *,
    shift: float | None,
    ledge: float | None,
    lens_distance: float | None,
    preset: Path | None,
    bed_record: Path | None,
    dpi: float | None,
    out: Path,
    as_json: bool,
    write_preset: Path | None = None,
    film_record: Path | None = None,
) -> int:
    """Measure, show and draw; write the preset and the film record that learn from it, where they are asked for.

    The exit code is 1 where no height can be known.

    Raises ``InputError`` for scans or a preset that cannot be used; nothing is then written.
    """
    from holders.face.cli.answer import print_json
    from holders.measure.surface.measure import Known, measure_surface

    if write_preset is not None:
        may_write(write_preset, preset)
    if film_record is not None and preset is None:
        raise InputError(
            "--film-record", str(film_record), "say with --preset PRESET which film and holder it is"
        )
    known = Known(shift_mm=shift, ledge_mm=ledge, lens_distance_mm=lens_distance)
    if bed_record is not None:
        from holders.face.shared.surface import with_record

        known = with_record(known, bed_record)
    studied = None
    if preset is not None:
        from holders.face.shared.expected import window_of_scan
        from holders.face.shared.surface import known_with
        from holders.study import study_file

        studied = study_file(preset)
        studied, _ = studied.at_window(window_of_scan(studied, scans[0], dpi))
        known = known_with(known, studied)
    with progress_line() as tell:
        found = measure_surface(*scans, known=known, dpi=dpi, progress=tell)
    told: dict[str, Any] = found.to_answer()
    if studied is not None and found.known.any():
        if write_preset is not None:
            told["written_preset"] = _write_learned(studied, found, write_preset)
        if film_record is not None:
            told["film_record"] = _record_curl(studied, found, film_record)
    if as_json:
        print_json(told)
    else:
        _tell(found, _draw(found, scans[0], out))
        _tell_learned(told)
    return 0 if bool(found.known.any()) else 1


def _write_learned(studied: Any, found: Any, target: Path) -> dict[str, Any]:
    """Write the preset that takes the film as it was measured; nothing where it already does."""
    from holders.core.atomic_write import new_file
    from holders.core.findings import shown_chance
    from holders.face.shared.learned import learned

    new = learned(studied, found)
    if new.changes:
        new_file("--write-preset", target, new.text.encode("utf-8"))
    return {
        "path": str(target) if new.changes else None,
        "changes": [{"field": field, "old": old, "new": value} for field, old, value in new.changes],
        "why": list(new.why),
        "in_band_fraction": {"old": round(new.sharp_now, 4), "new": round(new.sharp_then, 4)},
        "stops": [f"{f.code}: {f.advice or f.title}" for f in new.found.stops],
        "next": [{"text": s.text, "chance": shown_chance(s.chance), "keys": dict(s.keys)} for s in new.next],
    }


def _record_curl(studied: Any, found: Any, target: Path) -> dict[str, Any]:
    """Keep the film's curl where the surface shows it."""
    import datetime

    from holders.face.shared.learned import curl_of, learned_words, shows_curl
    from holders.measure.curl.record import MeasuredCurl, append_curl

    fit = curl_of(studied, found)
    words = learned_words(studied, fit)
    if not shows_curl(studied, fit):
        return {"path": None, "why": words}
    sigma = max(0.1, round(fit.sigma_per_m, 2))
    film = MeasuredCurl(
        date=datetime.date.today(), across_per_m=round(fit.per_m, 2), across_sigma_per_m=sigma,
        format=studied.job.preset.film.format, base=studied.job.preset.base.name or studied.job.film.base,
        note="from its surface in the holder, by two scans",
    )  # fmt: skip
    append_curl(target, film)
    return {"path": str(target), "why": words, "across_per_m": film.across_per_m, "across_sigma_per_m": sigma}


def _tell_learned(told: dict[str, Any]) -> None:
    console = show.out()
    written = told.get("written_preset")
    if written is not None:
        path = written["path"]
        console.print(
            f"preset written: {escape(path)}" if path else "no preset written: nothing has to change"
        )
        for change in written["changes"]:
            old = "" if change["old"] is None else f"{change['old']:g} -> "
            console.print(f"  {change['field']}: {old}{change['new']:g}", markup=False)
        for words in written["why"]:
            console.print(f"  {escape(words)}")
        share = written["in_band_fraction"]
        console.print(f"  sharp: {100 * share['old']:.0f} -> {100 * share['new']:.0f} % of the measured film")
        for words in written["stops"]:
            console.print(f"[bold red]a check says stop[/]: {escape(words)}")
        for step in written["next"]:
            console.print(
                f"  tried: {escape(step['text'])}: chance of a good scan {100 * step['chance']:.0f} %"
            )
    kept = told.get("film_record")
    if kept is not None:
        console.print(
            f"{escape(kept['why'])}: " + (f"kept in {escape(kept['path'])}" if kept["path"] else "not kept")
        )


def self_test(
    scans: tuple[Path, Path, Path | None], *, record: Path | None, dpi: float | None, as_json: bool
) -> int:
    """Measure the lens's distortion from a flat target slid sideways, show it and keep it in a bed record."""
    import numpy as np

    from holders.face.cli.answer import print_json
    from holders.measure.bed.record import append_distortion
    from holders.measure.surface.measure import measure_distortion

    with progress_line() as tell:
        found = measure_distortion(scans[0], scans[1], dpi=dpi, progress=tell)
    x = np.linspace(0, found.width_mm, 41)
    bent = found.displaced(x)
    most = float(np.ptp(bent - np.polyval(np.polyfit(x, bent, 1), x)))
    slope = float(np.abs(np.gradient(bent, x)).max())
    if record is not None:
        append_distortion(record, found)
    if as_json:
        print_json(
            {
                "width": found.width_mm,
                "slopes": list(found.slopes),
                "slope_sigma": found.sigma,
                "largest_slope": slope,
            }
        )
        return 0
    console = show.out()
    console.print(
        f"distortion: slope up to {100 * slope:.3f} % (± {100 * found.sigma:.3f}), {most:.3f} mm of bend"
    )
    console.print("It counts for scans of the same width, cropped to the same place of the glass.")
    if record is not None:
        console.print(f"kept in {escape(str(record))}; use it with --bed-record")
    return 0


def measure_lens(
    scans: tuple[Path, Path, Path | None],
    raised: float,
    *,
    ledge: float | None,
    record: Path | None,
    dpi: float | None,
    as_json: bool,
) -> int:
    """Measure the lens's distance from a scan and one with the holder raised, show it and keep it in a bed record."""
    import datetime

    from holders.face.cli.answer import print_json
    from holders.measure.bed.lens import MeasuredLens
    from holders.measure.bed.record import append_lens
    from holders.measure.surface.measure import Known
    from holders.measure.surface.measure import measure_lens as measure

    if scans[2] is not None:
        raise InputError("SCAN_C", str(scans[2]), "leave it out: with --raised two scans are compared")
    with progress_line() as tell:
        found = measure(scans[0], scans[1], raised, known=Known(ledge_mm=ledge), dpi=dpi, progress=tell)
    distance, sigma = round(found.distance_mm, 1), max(0.1, round(found.sigma_mm, 1))
    if record is not None:
        note = f"holder raised by {raised:g} mm"
        append_lens(
            record, MeasuredLens(distance_mm=distance, sigma_mm=sigma, date=datetime.date.today(), note=note)
        )
    if as_json:
        print_json(
            {
                "lens_distance": distance,
                "lens_distance_sigma": sigma,
                "raised": raised,
                "windows": found.windows,
            }
        )
        return 0
    console = show.out()
    console.print(f"lens distance: {distance:.1f} mm (± {sigma:.1f})")
    if record is not None:
        console.print(f"kept in {escape(str(record))}; use it with --bed-record")
    return 0


def _draw(found: Any, scan: Path, out: Path) -> Path:
    from holders.output.bundle.write import write_one
    from holders.output.draw.surface import surface_sheet

    return write_one(out, drawn_name(scan, "surface"), surface_sheet(found))


def _tell(found: Any, drawn: Path) -> None:
    from holders.output.words import surfaced

    console = show.out()
    console.print(show.grid(surfaced.rows(found)))
    for words in found.warnings:
        console.print(f"[yellow]warning[/]: {escape(words)}")
    console.print(f"drawn: {escape(str(drawn))}")
