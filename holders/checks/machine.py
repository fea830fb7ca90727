"""Does each part fit the printer or the sheet it is made of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule
from holders.design.model import Design, Part
from holders.design.outline import bounds
from holders.findings import Finding

if TYPE_CHECKING:
    from holders.preset.resolve import Job


def fits_turned(p: float, q: float, a: float, b: float) -> bool:
    """Whether a rectangle p x q can be turned to lie inside a rectangle a x b.

    W. B. Carver, "Solution to Problem E 1225", American Mathematical Monthly 64 (1957) 114 (from memory; the
    tests compare it with trying every angle).
    """
    p, q, a, b = max(p, q), min(p, q), max(a, b), min(a, b)
    if p <= a and q <= b:
        return True
    if q > b or p <= a:
        return False
    return ((a + b) / (p + q)) ** 2 + ((a - b) / (p - q)) ** 2 >= 2


def part_size(part: Part) -> tuple[float, float, float]:
    """Width, length and height of the box round a part, mm."""
    boxes = [bounds(slab.region.outer) for slab in part.slabs]
    return (
        max(box[2] for box in boxes) - min(box[0] for box in boxes),
        max(box[3] for box in boxes) - min(box[1] for box in boxes),
        part.z1 - part.z0,
    )


class MachineFit(Rule):
    """Each part in the printer's build volume or on a sheet."""

    code = "machine-fit"
    title = "part fits the printer or the sheet"
    why = "a part that does not fit cannot be made in one piece"
    source = (
        "a rectangle turned in a rectangle: W. B. Carver, American Mathematical Monthly 64 (1957) "
        "114 (from memory)"
    )

    def check(self, job: Job, design: Design) -> Iterator[Finding]:
        """One finding per part."""
        for part in design.parts:
            yield self._printed(job, part) if job.printer is not None else self._sheet(job, part)

    def _printed(self, job: Job, part: Part) -> Finding:
        printer = job.printer
        assert printer is not None
        x, y, z = part_size(part)
        room_x, room_y = (size - 2 * printer.margin_mm for size in (printer.build_x_mm, printer.build_y_mm))
        straight = max(x, y) <= max(room_x, room_y) and min(x, y) <= min(room_x, room_y)
        fits = z <= printer.build_z_mm and fits_turned(x, y, room_x, room_y)
        turned = " (turned at an angle on the plate)" if fits and not straight else ""
        return self.found(
            "pass" if fits else "stop",
            measured=_size(x, y, z),
            limit=_size(room_x, room_y, printer.build_z_mm),
            where=part.name + turned,
            advice=""
            if fits
            else "choose a larger printer, a smaller outer size, or a route that cuts from sheets",
            field="printer.name",
        )

    def _sheet(self, job: Job, part: Part) -> Finding:
        width, height = job.material.sheet_width_mm, job.material.sheet_height_mm
        if width is None or height is None:
            return self.skipped(
                f"{part.name}: the sheet's size is not given (material.sheet_width_mm, sheet_height_mm)"
            )
        x, y, _ = part_size(part)
        fits = max(x, y) <= max(width, height) and min(x, y) <= min(width, height)
        return self.found(
            "pass" if fits else "stop",
            measured=_size(x, y),
            limit=_size(width, height),
            where=part.name,
            advice=""
            if fits
            else "get a larger sheet (material.sheet_width_mm, sheet_height_mm) or make the holder smaller",
            field="material.sheet_width_mm",
        )


def _size(*sizes: float) -> str:
    return " x ".join(f"{size:.1f}" for size in sizes)
