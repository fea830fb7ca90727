"""A page that shows how two scans measure the way film lies: stop, slide, stop; and how far for which film."""

from __future__ import annotations

import io
from typing import Any

from holders.facts import tables
from holders.facts.models import Bed, FilmFormat, Paper
from holders.output.formats import letters
from holders.output.formats.pdf import FINE_PEN, FONT, MM, wrapped, write

FRAME_MM = 12.0  # of a holder beside its film, both sides together: common practice, no source
THIN_FRAME_MM = (
    6.0  # of a frame of board or acrylic whose walls are 1.5 mm; a test makes two shipped holders so
)
ENOUGH_MM, LEAST_MM, TOO_LITTLE_MM = 40.0, 10.0, 4.0
FILMS = (
    "35mm-strip", "roll-6x9", "4x5", "5x7", "half-plate", "whole-plate", "18x24cm", "8x10",
)  # fmt: skip
STEPS = (
    "1. Wipe glass and holder clean: grit scratches. Lay the film in its holder, the holder on the glass. Wait ten "
    "minutes, the lamp on: film moves as it warms.",
    "2. Stop: lay a ruler or a straight strip on the glass along the home edge of the holder, rim to rim; a second "
    "one beside the holder, where it lies now. The calibration zone stays uncovered.",
    "3. Scan A: the whole window with its edges, and the room beside it into which the holder will slide. 600 to 1200 "
    "pixels per inch, TIFF, no sharpening, nothing cropped or straightened by the program.",
    "4. Slide: push the holder sideways along the strip, at right angles to the lamp's travel. Do not lift it.",
    "5. Stop: the far rim, or a second strip. Scan B: the same area, the same settings.",
    "6. Better: slide it back against the first stop and scan once more (C): it shows how the film moved by itself.",
    "7. holders surface A.tif B.tif C.tif --preset HOLDER",
)


def slide_mm(bed: Bed, film: FilmFormat) -> float:
    """How far a holder of this film can slide across a bed, at most as far as is of use, whole mm; 0 for not at all."""
    room = bed.glass_width_mm - min(film.cut_width_mm, film.cut_height_mm) - FRAME_MM
    return float(int(min(ENOUGH_MM, room))) if room >= LEAST_MM else 0.0


def unseen_mm(bed: Bed, film: FilmFormat, slide: float) -> float:
    """How much of the film's side leaves the lamp's light where it is slid so far from the middle of the bed, mm."""
    return max(0.0, min(film.cut_width_mm, film.cut_height_mm) / 2 + slide - bed.lamp_width_mm / 2)


def rows_for(bed: Bed) -> list[tuple[str, str]]:
    """Film and how far, in words."""
    rows = []
    for key in FILMS:
        film = tables.film_format(key)
        far = slide_mm(bed, film)
        words = f"{far:.0f} mm"
        if not far:
            thin = float(int(bed.glass_width_mm - min(film.cut_width_mm, film.cut_height_mm) - THIN_FRAME_MM))
            words = "it fills the bed: no room to slide"
            if thin >= TOO_LITTLE_MM:
                words = (
                    f"{thin:.0f} mm, in a frame of board or acrylic with layout.wall_mm = 1.5, layout.shift_room_mm = "
                    f"{thin:.0f}; {unseen_mm(bed, film, thin):.0f} mm at one side leave the light and stay unknown"
                )
        rows.append((film.name, words))
    return rows


def slide_pdf(bed: Bed, paper: Paper) -> bytes:
    """The page; the same bed and paper give the same bytes."""
    out = io.BytesIO()
    canvas = letters.canvas_for(out)
    canvas.setTitle("How film lies: stop, slide, stop")
    width, height, margin = paper.width_mm, paper.height_mm, paper.printer_margin_mm + 5
    canvas.setPageSize((width * MM, height * MM))
    y = height - margin - 6
    write(canvas, margin, y, "How my film lies: stop, slide, stop", 6.0, bold=True)
    y -= 10
    for k, words in enumerate(("scan A", "scan B")):
        _bed(
            canvas,
            margin + k * (width - 2 * margin + 6) / 2,
            y - 62,
            (width - 2 * margin - 6) / 2,
            words,
            moved=bool(k),
        )
    y -= 72
    for words in STEPS:
        y = _lines(canvas, margin, y, words, width - 2 * margin)
    y -= 3
    write(canvas, margin, y, f"How far to slide ({bed.name})", 4.0, bold=True)
    y -= 6.5
    for film, words in rows_for(bed):
        write(canvas, margin, y, film, 3.2)
        y = _lines(canvas, margin + 62, y, words, width - 2 * margin - 62)
    _lines(
        canvas, margin, y - 2, "The farther, the better, up to some 40 mm; less than 4 mm shows nothing. A holder as "
        "wide as the bed cannot slide: make it with layout.shift_room_mm, which leaves that much room and adds a "
        "spacer for normal use.", width - 2 * margin,
    )  # fmt: skip
    canvas.showPage()
    canvas.save()
    return out.getvalue()


def _lines(canvas: Any, x: float, y: float, words: str, room: float) -> float:
    for line in wrapped(words, room, 3.2, FONT):
        write(canvas, x, y, line, 3.2)
        y -= 4.6
    return y - 1.2


def _bed(canvas: Any, x: float, y: float, wide: float, words: str, *, moved: bool) -> None:
    """The glass from above, home end below, with strip, stops and holder; the holder left or moved right."""
    high = 58.0
    canvas.setLineWidth(FINE_PEN * MM)
    canvas.rect(x * MM, y * MM, wide * MM, high * MM)
    write(canvas, x + 2, y + high - 5, words, 3.6, bold=True)
    frame, side = wide * 0.5, 30.0
    left = x + (wide - frame - 8 if moved else 8)
    base = y + 13
    canvas.setFillGray(0.75)
    canvas.rect((x + 3) * MM, (base - 5) * MM, (wide - 6) * MM, 5 * MM, fill=1)
    for at in (x + 3, x + wide - 8):
        canvas.rect(at * MM, base * MM, 5 * MM, side * MM, fill=1)
    canvas.setFillGray(0.9)
    canvas.rect(left * MM, base * MM, frame * MM, side * MM, fill=1)
    canvas.setFillGray(1)
    canvas.rect((left + 7) * MM, (base + 6) * MM, (frame - 14) * MM, (side - 12) * MM, fill=1)
    canvas.setFillGray(0)
    write(canvas, left + frame / 2, base + side / 2 - 1, "film", 3.0, middle=True)
    write(canvas, x + wide / 2, base - 3.6, "strip, along which it slides", 2.6, middle=True)
    for at in (x + 5.5, x + wide - 5.5):
        write(canvas, at, base + side + 1.5, "stop", 2.6, middle=True)
    write(canvas, x + wide / 2, y + 2.5, "home end of the bed", 2.6, middle=True)
    if moved:
        canvas.setLineWidth(0.5 * MM)
        a, b, level = x + 12, left - 3, base + side / 2
        canvas.line(a * MM, level * MM, b * MM, level * MM)
        for tip in (-2.0, 2.0):
            canvas.line(b * MM, level * MM, (b - 3) * MM, (level + tip) * MM)
        write(canvas, (a + b) / 2, level + 2, "slide", 3.0, middle=True)
