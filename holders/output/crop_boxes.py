"""Crop and exposure boxes of a design: in mm, inches and pixels at the resolution that is scanned at.

They are counted from the corner of the lamp area that lies nearest home, where a preview of film begins.
"""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from typing import Any

from holders.design.draft.stands import lit_boxes
from holders.design.model import Design, Rect, Window
from holders.output.sheet.blocks import Table
from holders.preset.tables.plain import PlainPreset

INCH_MM = 25.4
EXPOSURE_INSET = 0.1  # of the picture's sides
MANY_WINDOWS = 6  # beyond them places and sizes stand in tables of their own, one line a box
TOLD_WINDOWS = 6  # so many boxes on a terminal before it says how to see them all
USUAL_PPI = 2400.0  # where nothing is set or measured; common practice, no source
SETTINGS_PPI = (300, 600, 1200, 2400, 3200, 4800, 6400)  # usual settings; common practice, no source
FORMS = (("mm", ".1f"), ("inch", ".3f"), ("pixels", ".0f"))


@dataclass(frozen=True, slots=True)
class ScanSetting:
    """The resolution that pixels are given for, per inch, and in words where it comes from."""

    ppi: float
    because: str

    def units(self) -> tuple[tuple[str, float, str], ...]:
        """Each unit: its name, how many of it a millimetre has, and how its numbers are written."""
        of_mm = (1.0, 1 / INCH_MM, self.ppi / INCH_MM)
        return tuple((name, scale, form) for (name, form), scale in zip(FORMS, of_mm, strict=True))

    @property
    def words(self) -> str:
        """The number as it is written in a scanning program."""
        return f"{self.ppi:g}"


def setting_for(ppi: float) -> int | None:
    """The least usual setting that is enough; None when none is."""
    return next((s for s in SETTINGS_PPI if s >= ppi - 1e-6), None)


def scan_setting(preset: PlainPreset) -> ScanSetting:
    """The resolution set in the preset, else the one worth taking by the measurement, else the usual one."""
    if preset.room.scan_ppi is not None:
        return ScanSetting(preset.room.scan_ppi, "as set in the preset (room.scan_ppi)")
    useful = preset.bed.useful_ppi
    if useful is not None:
        least = float(setting_for(useful) or SETTINGS_PPI[-1])
        return ScanSetting(
            least,
            f"the setting worth taking with the {useful:.0f} ppi measured on this scanner (bed.useful_ppi)",
        )
    return ScanSetting(USUAL_PPI, "the usual setting (room.scan_ppi sets another)")


def boxes(design: Design) -> tuple[tuple[str, Rect, Rect], ...]:
    """Every crop box with its number and its exposure box, in bed coordinates: one a window, or one a pass."""
    if len(design.stands) == 1:
        return tuple((f"{k}", w.opening, exposure_box(w)) for k, w in enumerate(design.windows, 1))
    found = []
    for window in design.windows:
        crops = lit_boxes(window.opening, design.lamp, design.stands)
        inner = lit_boxes(exposure_box(window), design.lamp, design.stands)
        found += [
            (f"{k}", crop, dense or crop)
            for k, (crop, dense) in enumerate(zip(crops, inner, strict=True), 1)
            if crop is not None
        ]
    return tuple(found)


def exposure_box(window: Window) -> Rect:
    """What of a window the exposure is set by: the picture that shows, less a tenth of its sides all round."""
    p, o = window.picture, window.opening
    x, y = max(p.x, o.x), max(p.y, o.y)
    wide, high = min(p.right, o.right) - x, min(p.top, o.top) - y
    return Rect(x, y, wide, high).inset(*(EXPOSURE_INSET * side for side in (wide, wide, high, high)))


def from_lamp(design: Design, box: Rect) -> Rect:
    """A box as a preview of the lamp area shows it: counted from the area's corner that is nearest home, mm."""
    return Rect(box.x - design.lamp.x, box.y - design.lamp.y, box.width, box.height)


def crop_tables(design: Design, setting: ScanSetting) -> tuple[Table, ...]:
    """Every box in three units; with passes also where each begins in the joined picture.

    Up to ``MANY_WINDOWS`` boxes one table, a line for each box and unit, from both corners. More: a line for each box,
    and the sizes in a second table, so that the sheet stays short.
    """
    if len(boxes(design)) > MANY_WINDOWS and len(design.stands) == 1:
        return (_places(design, setting), _sizes(design, setting))
    return (_whole(design, setting),)


def home_words(design: Design, setting: ScanSetting) -> str:
    """What to add to a box's place for one counted from the home corner, where the tables do not say it."""
    lamp = design.lamp
    if len(crop_tables(design, setting)) == 1 or not _apart(design):
        return ""
    added = "; ".join(f"{_pair(lamp.x, lamp.y, scale, form)} {unit}" for unit, scale, form in setting.units())
    return f"In a preview of the whole glass left and down are larger by {added}."


def crop_summary(design: Design, setting: ScanSetting) -> dict[str, Any]:
    """The same boxes as plain values: left, down, width and height from the lamp area's corner, in each unit."""
    return {
        "ppi": setting.ppi,
        "because": setting.because,
        "boxes": [
            {
                "number": int(number),
                "film": design.windows[int(number) - 1 if len(design.stands) == 1 else 0].film_key,
                **{
                    name: {unit: _values(from_lamp(design, box), scale, form) for unit, scale, form in setting.units()}
                    for name, box in zip(("crop", "exposure"), both, strict=True)
                },
            }
            for number, *both in boxes(design)
        ],
    }  # fmt: skip


def crop_rows(design: Design, setting: ScanSetting, *, everything: bool) -> tuple[tuple[str, str], ...]:
    """Names and values for a terminal: one line a crop box, the first few unless ``everything`` is asked for."""
    every = boxes(design)
    shown = every if everything else every[:TOLD_WINDOWS]
    what = "pass" if len(design.stands) > 1 else "window"
    rows = [("crop boxes", f"left, down, width x height from the lamp area's corner; pixels at {setting.words} ppi, "
             f"{setting.because}")]  # fmt: skip
    for number, crop, _ in shown:
        b = from_lamp(design, crop)
        each = [
            f"{b.x * scale:{form}}, {b.y * scale:{form}}, {b.width * scale:{form}} x {b.height * scale:{form}} {unit}"
            for unit, scale, form in setting.units()
        ]
        rows.append((f"{what} {_named(design, number)}", "; ".join(each)))
    if len(shown) < len(every):
        rows.append(("", f"and {len(every) - len(shown)} more; --all shows every one"))
    return tuple(rows)


def _apart(design: Design) -> bool:
    return (design.lamp.x, design.lamp.y) != (0, 0)


def _whole(design: Design, setting: ScanSetting) -> Table:
    passes, apart = len(design.stands) > 1, _apart(design)
    rows = []
    for number, *both in boxes(design):
        for name, box in zip(("crop", "exposure"), both, strict=True):
            for unit, scale, form in setting.units():
                b = from_lamp(design, box)
                own = _pair(b.x, b.y, scale, form)
                home = [_pair(box.x, box.y, scale, form)] if apart else []
                size = _pair(b.width, b.height, scale, form)
                joined = (
                    [_joined(design, int(number) - 1, box, setting) if unit == "pixels" else ""]
                    if passes
                    else []
                )
                rows.append((f"{_named(design, number)} {name}", unit, own, *home, size, *joined))
    what = "what each pass sees of the window" if passes else "the windows"
    return Table(
        f"Crop boxes ({what}) and exposure boxes, pixels at {setting.words} ppi",
        (
            "pass and box" if passes else "window and box",
            "unit",
            f"from the {'lamp area' if apart else 'home corner'}: left, down",
            *(["from the home corner: left, down"] if apart else []),
            "width, height",
            *(["in the joined picture: left, down"] if passes else []),
        ),
        tuple(rows),
    )  # fmt: skip


def _places(design: Design, setting: ScanSetting) -> Table:
    """Where each box begins, one line a box."""
    rows = [
        (f"{_named(design, number)} {name}", *(_pair(b.x, b.y, scale, form) for _, scale, form in setting.units()))
        for number, *both in boxes(design)
        for name, b in zip(("crop", "exposure"), (from_lamp(design, box) for box in both), strict=True)
    ]  # fmt: skip
    corner = "lamp area" if _apart(design) else "home corner"
    return Table(
        f"Crop boxes (the windows) and exposure boxes: left, down from the {corner}, pixels at {setting.words} ppi",
        ("window and box", *(unit for unit, _ in FORMS)),
        tuple(rows),
    )


def _sizes(design: Design, setting: ScanSetting) -> Table:
    """How large the boxes are: once for all that are alike."""
    alike: dict[tuple[str, ...], list[str]] = {}
    for number, *both in boxes(design):
        for name, box in zip(("crop", "exposure"), both, strict=True):
            size = (name, *(_pair(box.width, box.height, scale, form) for _, scale, form in setting.units()))
            alike.setdefault(size, []).append(number)
    rows = [
        (f"{_runs(numbers)} {name}", *size) for (name, *size), numbers in sorted(alike.items(), key=lambda i: i[0][0])
    ]  # fmt: skip
    return Table("Their width, height", ("windows and box", *(unit for unit, _ in FORMS)), tuple(rows))


def _runs(numbers: Sequence[str]) -> str:
    """Numbers in words: "1 to 6", "1, 3"."""
    whole = [int(number) for number in numbers]
    if len(whole) > 2 and whole == list(range(whole[0], whole[-1] + 1)):
        return f"{whole[0]} to {whole[-1]}"
    return ", ".join(numbers)


def _named(design: Design, number: str) -> str:
    """A window's number, with its film in a holder for several kinds."""
    return f"{number}, {design.windows[int(number) - 1].film_key}" if design.kinds else number


def _joined(design: Design, number: int, crop: Rect, setting: ScanSetting) -> str:
    """Where a pass's crop box begins in the joined picture, counted from the window's corner nearest home, pixels."""
    across, along = design.stands[number]
    window = design.windows[0].opening
    ways = (crop.x - across - window.x, crop.y - along - window.y)
    return ", ".join(f"{v / INCH_MM * setting.ppi:.0f}" for v in ways)


def _values(box: Rect, scale: float, form: str) -> list[float]:
    """A box's four numbers, to as many places as they are written with."""
    return [round(v * scale, int(form[1])) + 0.0 for v in (box.x, box.y, box.width, box.height)]


def _pair(a: float, b: float, scale: float, form: str) -> str:
    return f"{a * scale:{form}},\u00a0{b * scale:{form}}"  # never broken
