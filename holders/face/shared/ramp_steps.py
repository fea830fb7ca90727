"""How the focus ramp is put together and scanned, step by step: for the command line and for its folder."""

from __future__ import annotations

from pathlib import Path

from holders.design.ramp_parts import frame_layers, frame_top_mm, hook_places, spacer_places
from holders.measure.ramp import RampGeometry

KERF_MM = 0.18  # common practice for thin sheet, no source; measure your own with a test piece


def ramp_steps(geometry: RampGeometry, sheet_mm: float | None, folder: Path) -> tuple[str, ...]:
    """Steps for the printed ramp, then for the one cut from sheet where a thickness is given.

    ``folder``: where its files lie, for the commands that read them.
    """
    cut = () if sheet_mm is None else sheet_words(geometry, sheet_mm, folder)
    return (*printed_words(geometry, folder), *cut)


def target_words(geometry: RampGeometry) -> tuple[str, ...]:
    """How the target lies on a ramp, printed or cut."""
    least, most = geometry.least_target_mm, geometry.target_width_mm
    return (
        f"Lay a transparent ruler or developed film on the slope, {least:g} to {most:g} mm wide, so that it lies on "
        "both ledges (for another width, make the ramp with --target-width), its marks or emulsion facing the glass: "
        "the ramp's heights are those of the underside. If a ruler's marks can only face up, set \"target_offset_mm\" "
        "in the ramp's json to its thickness divided by 1.5 (0.67 for 1 mm).",
        "The bay is open at both ends: a ruler longer than the ramp may reach out, further at the high end, where it "
        "stays clear of the glass.",
    )


BAND = "A rubber band up to 4 mm wide, loosely stretched, is enough: film and rulers then lie flat along both edges."


def scan_words(file: str) -> tuple[str, ...]:
    """How it is scanned and measured."""
    return (
        "Scan the whole ramp at 2400 dpi or more, as film, along or across the bed. Several ramps in one scan are "
        "measured each at its place. Then:",
        f"  holders focus SCAN.tif --ramp {file}",
    )


def _height_words(top_mm: float) -> str:
    """What stands on the glass is higher than most holders."""
    return (
        f"Target and frame stand {top_mm:.1f} mm above the glass and the target's own thickness. Measure the room "
        "below the closed lid first (press a ball of modelling clay between glass and lid); `holders ramp --lid-room "
        "MM` says whether it is enough. Let the lid down without force, or hold it open as its maker allows."
    )


def printed_words(geometry: RampGeometry, folder: Path) -> tuple[str, ...]:
    """Steps for the printed ramp."""
    return (
        "Printed: print ramp and frame flat, in opaque plastic, without supports (the raised row of slots is a bridge "
        f"of {geometry.track_mm:g} mm). Lay the ramp on the glass, slots down.",
        *target_words(geometry),
        "Lay the frame on top of the target. At either end hang a rubber band round the horn on one side, lead it over "
        f"the frame's end and hang it round the horn on the other side. {BAND}",
        _height_words(frame_top_mm(geometry)),
        *scan_words(str(folder / "ramp.json")),
    )


def sheet_words(geometry: RampGeometry, sheet_mm: float, folder: Path) -> tuple[str, ...]:
    """Steps for the ramp cut from sheet."""
    own = geometry.from_sheet(sheet_mm)
    near, far = own.rail_places(sheet_mm)
    block, hook = spacer_places(own)[0], hook_places(own, sheet_mm)[0]
    layers = own.spacers(sheet_mm)
    piled = "one" if layers == 1 else f"{layers} on one another"
    framed = frame_layers(own, sheet_mm)
    return (
        f"From opaque sheet of {sheet_mm:g} mm instead: cut rail.dxf and hook.dxf twice, spacer.dxf {2 * layers} "
        f"times, frame.dxf {framed} times, base.dxf and plate.dxf once (drawn for a kerf of {KERF_MM:g} mm).",
        "Lay the base flat, its lines up, the row of slots toward you. Stand a rail on its long straight edge between "
        f"either pair of long lines, high ends at the right: {near.y0:.1f} to {near.y1:.1f} mm and {far.y0:.1f} to "
        f"{far.y1:.1f} mm from the base's near edge, both from {near.x0:.1f} mm from its left edge to its right edge. "
        "Square them with a try square and glue them.",
        f"Glue spacers flat on the base's far corners, {piled} at either end, between the short line and the base's "
        f"end ({block.x1:.1f} mm), from {block.y0:.1f} to {block.y1:.1f} mm from the near edge. Glue the plate on top "
        "of them, its notched edge flush with the base's far edge and its slots in the order of the base's, the six "
        "narrow ones at the left; the tabs between the notches and its ends stay free below.",
        f"Stand a hook on its foot along the base's near edge at either end, between the short line and the end "
        f"({hook.x1:.1f} mm), flush with the near edge, and glue it.",
        f"The slope then climbs from {own.low_mm:.2f} to {own.high_mm:.2f} mm above the glass; the base's "
        f"{sheet_mm:g} mm are counted.",
        *target_words(own),
        f"Glue the {framed} layers of the frame on one another, edges flush: one frame {framed * sheet_mm:g} mm high. "
        "Let the glue dry flat, without a target below it.",
        "Lay the frame on top of the target. At either end hang a rubber band round the hook's waist, lead it over the "
        f"frame's end and under the plate's tab. {BAND}",
        _height_words(frame_top_mm(own, sheet_mm)),
        *scan_words(str(folder / "ramp-from-sheet.json")),
    )
