"""``ramp``: the focus ramp's files and the geometry that ``focus --ramp`` reads."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path
from typing import TYPE_CHECKING

from holders.face.cli import show
from holders.face.cli.markup import escape

if TYPE_CHECKING:
    from holders.measure.ramp import RampGeometry


def ramp(
    *,
    high: float,
    target_width: float,
    length: float,
    layer: float,
    sheet: float | None,
    out: Path,
    as_json: bool,
) -> None:
    """Write ``out/focus-ramp/``: STL, 3MF, STEP, GLB, geometry JSON, and DXF when a sheet is given."""
    from holders.checks.safety.cautions import by_process
    from holders.face.cli.answer import print_json
    from holders.face.shared.ramp import RAMP_FOLDER, ramp_bundle
    from holders.measure.ramp import make_ramp
    from holders.output.bundle.write import write_all

    geometry = make_ramp(
        high_mm=high,
        target_width_mm=target_width,
        length_mm=length,
        layer_mm=layer,
        slope_end_mm=length - 7.0,
    )
    with show.working("drawing the ramp"):
        records = write_all(out, RAMP_FOLDER, ramp_bundle(geometry, sheet), notes={"title": "focus ramp"})
    if as_json:
        print_json(
            {"ok": True, "files": [asdict(record) for record in records], "ramp": geometry.model_dump()}
        )
        return
    console = show.out()
    console.print(f"wrote {len(records)} files to {escape(str(out / 'focus-ramp'))}:")
    for record in records:
        console.print(f"  {escape(record.path)}")
    for words in (
        *printed_words(geometry, out),
        *(sheet_words(geometry, sheet, out) if sheet is not None else ()),
    ):
        console.print(escape(words))
    for caution in by_process(*(("print",) if sheet is None else ("print", "laser", "knife"))):
        console.print(f"[yellow]caution[/]: {escape(caution)}")


def target_words(geometry: RampGeometry) -> tuple[str, ...]:
    """How the target lies on a ramp, printed or cut."""
    return (
        f"Lay a transparent ruler or developed film, at most {geometry.target_width_mm:g} mm wide, on the slope, its "
        "marks or emulsion facing the glass: the ramp's heights are those of the underside. If a ruler's marks can "
        'only face up, set "target_offset_mm" in the ramp\'s json to its thickness divided by 1.5 (0.67 for 1 mm).',
        "The bay is open at both ends: a ruler longer than the ramp may reach out, further at the high end, where it "
        "stays clear of the glass.",
    )


def scan_words(file: str) -> tuple[str, ...]:
    """How it is scanned and measured."""
    return (
        "Scan the whole ramp at 2400 dpi or more, as film, along or across the bed. Several ramps in one scan are "
        "measured each at its place. Then:",
        f"  holders focus SCAN.tif --ramp {file}",
    )


def printed_words(geometry: RampGeometry, out: Path) -> tuple[str, ...]:
    """Steps for the printed ramp."""
    return (
        "Printed: print ramp and frame flat, in opaque plastic, without supports (the raised row of slots is a bridge "
        f"of {geometry.track_mm:g} mm). Lay the ramp on the glass, slots down.",
        *target_words(geometry),
        "Lay the frame on top of the target. At either end hang a rubber band round the horn on one side, lead it over "
        "the frame's end and hang it round the horn on the other side: film and rulers then lie flat along both edges.",
        *scan_words(str(out / "focus-ramp" / "ramp.json")),
    )


def sheet_words(geometry: RampGeometry, sheet_mm: float, out: Path) -> tuple[str, ...]:
    """Steps for the ramp cut from sheet."""
    from holders.design.ramp_parts import hook_places, spacer_places
    from holders.face.shared.ramp import KERF_MM

    own = geometry.from_sheet(sheet_mm)
    near, far = own.rail_places(sheet_mm)
    block, hook = spacer_places(own)[0], hook_places(own, sheet_mm)[0]
    layers = own.spacers(sheet_mm)
    piled = "one" if layers == 1 else f"{layers} on one another"
    return (
        f"From opaque sheet of {sheet_mm:g} mm instead: cut rail.dxf and hook.dxf twice, spacer.dxf {2 * layers} "
        f"times, base.dxf, plate.dxf and frame.dxf once (drawn for a kerf of {KERF_MM:g} mm).",
        "Lay the base flat, its lines up, the row of slots toward you. Stand a rail on its long straight edge between "
        f"either pair of long lines, high ends at the right: {near.y0:.1f} to {near.y1:.1f} mm and {far.y0:.1f} to "
        f"{far.y1:.1f} mm from the base's near edge, both from {near.x0:.1f} mm from its left edge to its right edge. "
        "Square them with a try square and glue them.",
        f"Glue spacers flat on the base's far corners, {piled} at either end, between the short line and the base's "
        f"end ({block.x1:.1f} mm), from {block.y0:.1f} mm from the near edge to the far edge. Glue the plate on top of "
        "them, its notched edge flush with the base's far edge.",
        f"Stand a hook on its foot along the base's near edge at either end, between the short line and the end "
        f"({hook.x1:.1f} mm), flush with the near edge, and glue it.",
        f"The slope then climbs from {own.low_mm:.2f} to {own.high_mm:.2f} mm above the glass; the base's "
        f"{sheet_mm:g} mm are counted.",
        *target_words(own),
        "Lay the frame on top of the target. At either end hang a rubber band round the hook's waist, lead it over the "
        "frame's end and round the plate's tab: film and rulers then lie flat along both edges.",
        *scan_words(str(out / "focus-ramp" / "ramp-from-sheet.json")),
    )
