"""Scanning: which resolution a print asks for, where the window lies, how large the file gets."""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from holders.core.lengths import measure
from holders.design.model import EDGES, Design, Rect
from holders.design.plan.anchor import loose_from, rim_gap_mm
from holders.facts.models import FilmFormat
from holders.output.crop_boxes import (
    INCH_MM,
    SETTINGS_PPI,
    boxes,
    crop_tables,
    home_words,
    scan_setting,
    setting_for,
)
from holders.output.sheet.blocks import Block, Items, Section, Table, Words
from holders.preset.tables.plain import PlainPreset

WHEN: Mapping[str, str] = MappingProxyType(
    {
        "any": "Let the lamp warm up",
        "cold": "Scan at once, before the bed is warm; let it cool before the next film",
        "warm": "Let the lamp warm the bed, lay the film in and wait ten minutes: it has dried before you scan",
    }
)
TIFF_LIMIT = 2**32  # bytes: offsets in plain TIFF have 32 bits (OGC notice on BigTIFF, read)
HEAD_BYTES = 65_536  # room for tags, strip tables and a colour profile; common practice, no source
PRINT_LONG_IN = (10, 20, 30, 40)  # long sides of usual prints, inches; common practice, no source
PRINT_PPI = (240, 300)


@dataclass(frozen=True, slots=True)
class FileSize:
    """An uncompressed scan: pixels across and along, bytes of the picture, and whether plain TIFF holds it."""

    across: int
    along: int
    bytes: int

    @property
    def plain_tiff(self) -> bool:
        """The whole file, its head included, stays below 4 GiB."""
        return self.bytes + HEAD_BYTES < TIFF_LIMIT

    @property
    def words(self) -> str:
        """The size in MB or GB (powers of ten), as file lists on most machines show it."""
        return f"{self.bytes / 1e9:.2f} GB" if self.bytes >= 1e9 else f"{self.bytes / 1e6:.0f} MB"


def file_size(width_mm: float, height_mm: float, ppi: float, channels: int, bits: int = 16) -> FileSize:
    """Size of an uncompressed scan of an area; ``channels`` 3 for RGB, 1 for grey.

    Raises ``ValueError`` for a size, resolution or depth that is not positive.
    """
    if min(width_mm, height_mm, ppi, channels, bits) <= 0:
        raise ValueError("sizes, resolution, channels and bits must be positive")
    # rounded as the crop box is, which is what a program is given
    across, along = (int(f"{side / INCH_MM * ppi:.0f}") for side in (width_mm, height_mm))
    return FileSize(across, along, across * along * channels * bits // 8)


def scan_ppi(print_long_mm: float, print_ppi: float, picture_long_mm: float) -> float:
    """Resolution at the film that leaves ``print_ppi`` in a print whose long side is ``print_long_mm``."""
    return print_ppi * print_long_mm / picture_long_mm


def section(films: Sequence[FilmFormat], preset: PlainPreset, design: Design) -> Section:
    """The section about scanning; ``films`` are the formats of each kind of film in the holder."""
    setting = scan_setting(preset)
    largest = max((crop for _, crop, _ in boxes(design)), key=lambda o: o.width * o.height)
    return Section(
        "scanning",
        "Scanning",
        (
            Items(
                (
                    "Scan by the lamp in the lid (transparency or film mode), 16 bits a channel, every automatic "
                    "sharpening and dust removal off; plain grey is enough for black and white film, unless you "
                    "want to choose the channel afterwards or have inspect look for Newton's rings.",
                    f"{WHEN[preset.room.scan_when]}; preview, draw the crop box by the table below, keep the clear "
                    "film border in if you set colour inversion by it.",
                    "Scan one corner and the middle first and look at the grain in both before the long scan.",
                ),
                numbered=True,
            ),
            _prints(films[0]) if len(films) == 1 else _prints_of(films),
            Words(_finest(preset.bed.useful_ppi)),
            *crop_tables(design, setting),
            Words(
                f"{_place(design)}{_which(design, home_words(design, setting))} Left and down are counted with the "
                "home end (where the carriage rests) at the preview's top. If yours starts elsewhere, keep width and "
                "height and place the box by eye on the window's edges. Pixels are for "
                f"{setting.words} ppi, {setting.because}. Let the program set its exposure inside the exposure box "
                "only: it leaves out holder and clear border, and a tenth of the picture on each side."
            ),
            *_files(largest, films, "window" if len(design.stands) == 1 else "pass"),
        ),
        leaf=2,
    )


def _which(design: Design, home: str) -> str:
    """Which corner of the two a preview counts from; ``home`` what to add where one table counts from only one."""
    if (design.lamp.x, design.lamp.y) == (0, 0):
        return "The lamp area begins at the home corner of the glass."
    if home:
        return f"Most previews of film show just the lamp area, as counted here. {home}"
    return (
        "Most previews of film show just the lamp area: take its column. A preview of the whole glass counts from the "
        "home corner."
    )


def _finest(useful_ppi: float | None) -> str:
    """Beyond which setting nothing is gained: as it was measured (``holders focus``), else how to see it."""
    if useful_ppi is None:
        return (
            "A setting above what the scanner's optics resolve only makes the file larger: if a scan at half the "
            "setting, enlarged, shows the same detail, stay there. A scan of a focus ramp measures where that is."
        )
    least = setting_for(useful_ppi)
    enough = (
        "no usual setting reaches that" if least is None else f"{least} is the highest setting worth taking"
    )
    return (
        f"On this scanner a target's edges showed no detail finer than {useful_ppi:.0f} ppi hold (holders focus): "
        f"{enough}; above it only the file grows. The target's own softness is in that number: where much hangs on it, "
        "compare an enlarged corner at the next setting."
    )


def _prints(film: FilmFormat) -> Table:
    picture = max(film.image_width_mm, film.image_height_mm)
    rows = []
    for inches in PRINT_LONG_IN:
        wanted = [scan_ppi(inches * INCH_MM, ppi, picture) for ppi in PRINT_PPI]
        found = setting_for(wanted[-1])
        rows.append(
            (
                f"{inches}\u00a0in\u00a0({inches * INCH_MM / 10:.0f}\u00a0cm)",
                *(f"{math.ceil(w - 1e-6)}" for w in wanted),
                f"{found}" if found else "beyond usual settings",
            )
        )
    return Table(
        f"Resolution to scan at, for a print of the whole frame ({measure(picture)} mm long)",
        (
            "print's long side",
            *(f"ppi for {ppi} ppi on paper" for ppi in PRINT_PPI),
            f"usual setting for {PRINT_PPI[-1]}",
        ),
        tuple(rows),
    )


def _prints_of(films: Sequence[FilmFormat]) -> Table:
    """The same for several kinds of film: what each print asks for, and the usual setting for it."""
    long = [max(film.image_width_mm, film.image_height_mm) for film in films]
    rows = []
    for inches in PRINT_LONG_IN:
        wanted = [scan_ppi(inches * INCH_MM, PRINT_PPI[-1], picture) for picture in long]
        settings = [f"{math.ceil(w - 1e-6)}: {setting_for(w) or 'beyond usual settings'}" for w in wanted]
        rows.append((f"{inches}\u00a0in\u00a0({inches * INCH_MM / 10:.0f}\u00a0cm)", *settings))
    return Table(
        f"Resolution to scan at, for a print of the whole frame with {PRINT_PPI[-1]} ppi on paper: what it asks for, "
        "and the usual setting",
        (
            "print's long side",
            *(f"{film.key}, {measure(picture)} mm long" for film, picture in zip(films, long, strict=True)),
        ),
        tuple(rows),
    )


def _place(design: Design) -> str:
    """Where a holder smaller than the glass lies; nothing for one between the rims."""
    o = design.outer
    if max(rim_gap_mm(design.glass, o, edge) for edge in EDGES) <= loose_from(design.slide_gap):
        return ""
    place = "The boxes hold with the holder in its place: "
    return f"{place}its corner {o.x:.1f} mm from the left rim and {o.y:.1f} mm from the rim at the home end. "


def asked_for(films: Sequence[FilmFormat]) -> tuple[int, ...]:
    """The usual settings from that of the smallest print to the one past that of the largest, for any of the films."""
    settings = []
    for film in films:
        long = max(film.image_width_mm, film.image_height_mm)
        settings += [
            setting_for(scan_ppi(inches * INCH_MM, PRINT_PPI[-1], long)) or SETTINGS_PPI[-1]
            for inches in PRINT_LONG_IN
        ]
    first, last = SETTINGS_PPI.index(min(settings)), SETTINGS_PPI.index(max(settings))
    return SETTINGS_PPI[first : last + 2]


def _files(area: Rect, films: Sequence[FilmFormat], what: str) -> list[Block]:
    rows, large = [], False
    for ppi in asked_for(films):
        rgb, grey = (file_size(area.width, area.height, ppi, channels) for channels in (3, 1))
        large |= not rgb.plain_tiff
        rows.append(
            (f"{ppi}", f"{rgb.across} x {rgb.along}", *(f"{s.words}, {_container(s)}" for s in (rgb, grey)))
        )
    table = Table(
        f"File of one {what} ({measure(area.width, 1)} x {measure(area.height, 1)} mm), uncompressed",
        ("ppi", "pixels", "16-bit RGB", "16-bit grey"),
        tuple(rows),
    )
    ends = Words(
        "Plain TIFF ends at 4 GiB (4.29 GB). Where the table says BigTIFF, either save as BigTIFF, if your "
        "programs read it, or scan grey instead of RGB, or 8 bits (half the size; too coarse for strong "
        "corrections), or a lower resolution, or one film at a time."
    )
    return [table, ends] if large else [table]


def _container(size: FileSize) -> str:
    return "plain TIFF" if size.plain_tiff else "BigTIFF"
