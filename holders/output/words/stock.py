"""The stock sheets of a cut holder as plain values and in words, the same for the command line, manifest and sheet."""

from __future__ import annotations

from collections.abc import Sequence
from typing import Any

from holders.workshop.nest.nest_job import CutSheet, Nested, sheets_of


def stock_summary(nested: Sequence[Nested]) -> list[dict[str, Any]]:
    """One entry a stock sheet: its file and size, where each piece lies, lengths (mm), seconds, offcut and waste."""
    return [_sheet(sheet) for sheet in sheets_of(nested)]


def _sheet(sheet: CutSheet) -> dict[str, Any]:
    use, cuts = sheet.use, sheet.cuts
    spare = use.offcut
    return {
        "file": sheet.file,
        "thickness": sheet.thickness_mm,
        "size": [use.width_mm, use.height_mm],
        "pieces": [
            {
                "name": spot.part,
                "copy": spot.copy,
                "x": round(spot.x, 4),
                "y": round(spot.y, 4),
                "rotation": spot.rotation,
                "in_dropout": spot.inside is not None,
            }
            for spot in sheet.placements
        ],
        "cut_length": round(cuts.cut_mm, 2),
        "mark_length": round(cuts.mark_mm, 2),
        "seconds": round(cuts.seconds, 1),
        "kept_area": round(use.kept_mm2, 1),
        "offcut": None
        if spare is None
        else [round(v, 2) for v in (spare.x, spare.y, spare.width, spare.height)],
        "waste_fraction": round(use.waste_share, 4),
    }


def told_all(nested: Sequence[Nested]) -> tuple[tuple[str, str], ...]:
    """Every stock sheet in a line of words, each with its name; of several, a last line adds them up."""
    sheets = sheets_of(nested)
    lines = [(f"stock sheet {sheet.number}", told(sheet)) for sheet in sheets]
    if len(sheets) > 1:
        long, seconds = sum(s.cuts.cut_mm for s in sheets), sum(s.cuts.seconds for s in sheets)
        words = f"{len(sheets)} sheets, {long / 1000:.1f} m to cut, about {minutes(seconds)}"
        lines.append(("stock in all", words))
    return tuple(lines)


def told(sheet: CutSheet) -> str:
    """One sheet in a line of words."""
    use, cuts = sheet.use, sheet.cuts
    count = len(sheet.placements)
    inside = f", {sheet.inside} in what drops out of others" if sheet.inside else ""
    spare = (
        "no offcut worth keeping"
        if use.offcut is None
        else f"offcut {use.offcut.width:.0f} x {use.offcut.height:.0f} mm"
    )
    return (
        f"{sheet.thickness_mm:g} mm, {use.width_mm:g} x {use.height_mm:g} mm: {count} "
        f"{'piece' if count == 1 else 'pieces'}{inside}; {cuts.cut_mm / 1000:.1f} m to cut, "
        f"about {minutes(cuts.seconds)}; {spare}, waste {100 * use.waste_share:.0f} %"
    )


def minutes(seconds: float) -> str:
    """A rough time in whole minutes."""
    return f"{max(1, round(seconds / 60))} min"
