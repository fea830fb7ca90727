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
    frame: float,
    sheet: float | None,
    out: Path,
    as_json: bool,
    lid_room: float | None = None,
) -> None:
    """Write ``out/focus-ramp/``: STL, 3MF, STEP, GLB, geometry JSON, and DXF when a sheet is given."""
    from holders.checks.safety.cautions import by_process
    from holders.face.cli.answer import print_json
    from holders.face.shared.ramp import RAMP_FOLDER, RampWish, ramp_bundle, refuse_too_high, room_words
    from holders.face.shared.ramp_steps import ramp_steps
    from holders.output.bundle.write import write_all

    wish = RampWish(high=high, frame=frame, target_width=target_width, length=length, layer=layer)
    geometry = wish.geometry()
    if lid_room is not None:
        refuse_too_high(wish, sheet, lid_room)
    with show.working("drawing the ramp"):
        records = write_all(out, RAMP_FOLDER, ramp_bundle(geometry, sheet), notes={"title": "focus ramp"})
    if as_json:
        print_json(
            {"ok": True, "files": [asdict(record) for record in records], "ramp": geometry.model_dump()}
        )
        return
    console = show.out()
    if lid_room is None and (words := room_words(wish, sheet)):
        console.print(escape(words))
    console.print(f"wrote {len(records)} files to {escape(str(out / 'focus-ramp'))}:")
    for record in records:
        console.print(f"  {escape(record.path)}")
    for words in ramp_steps(geometry, sheet, out / RAMP_FOLDER):
        console.print(escape(words))
    for caution in by_process(*(("print",) if sheet is None else ("print", "laser", "knife"))):
        console.print(f"[yellow]caution[/]: {escape(caution)}")
