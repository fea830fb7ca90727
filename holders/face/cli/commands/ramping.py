"""``ramp``: the focus ramp's files and the geometry that ``focus --ramp`` reads."""

from __future__ import annotations

from dataclasses import asdict
from pathlib import Path

from holders.face.cli import show
from holders.face.cli.markup import escape


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
    from holders.face.shared.ramp import KERF_MM, RAMP_FOLDER, ramp_bundle
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
    console.print(
        "Print the ramp flat, without supports. Lay it on the glass, a transparent ruler or a strip of developed film "
        "on its two stairs, emulsion down, and scan it whole at 2400 dpi or more as film. Then:"
    )
    console.print(f"  holders focus SCAN.tif --ramp {escape(str(out / 'focus-ramp' / 'ramp.json'))}")
    if sheet is not None:
        apart = geometry.target_width_mm - geometry.ledge_mm
        console.print(
            f"From sheet, not printed: cut rail.dxf twice and marks.dxf once (drawn for a kerf of {KERF_MM:g} mm). "
            f"Stand the rails on edge, {apart:.1f} mm apart from middle to middle, high ends together, on the strip "
            "with the slots, and glue them square; the ruler or film lies on their slopes."
        )
    for caution in by_process(*(("print",) if sheet is None else ("print", "laser", "knife"))):
        console.print(f"[yellow]caution[/]: {escape(caution)}")
