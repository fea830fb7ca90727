"""Does each part fit the printer or the sheet it is made of."""

from __future__ import annotations

from collections.abc import Iterator
from typing import TYPE_CHECKING

from holders.checks.base import Rule, gathered
from holders.core.findings import Finding
from holders.design.model import Design, Part
from holders.design.pieces.fits import fits_turned
from holders.facts.models import Printer

if TYPE_CHECKING:
    from holders.facts.models import Material
    from holders.preset.resolve import Job
    from holders.preset.tables.plain import PlainPreset


def part_size(part: Part) -> tuple[float, float, float]:
    """Width, length and height of the box round a part, mm."""
    x0, y0, x1, y1 = part.box
    return x1 - x0, y1 - y0, part.z1 - part.z0


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
        """The largest part, and every part that does not fit."""
        yield from gathered(
            (
                -max(part_size(part)[:2]),
                part.name,
                self._printed(job.printer, job.preset, design, part)
                if job.printer is not None
                else self._sheet(job.material, part),
            )
            for part in design.parts
        )

    def _printed(self, printer: Printer | None, preset: PlainPreset, design: Design, part: Part) -> Finding:
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
            advice="" if fits else self._advice(preset, design, z <= printer.build_z_mm),
            field="printer.name",
        )

    @staticmethod
    def _advice(preset: PlainPreset, design: Design, flat: bool) -> str:
        larger = "choose a larger printer, a smaller outer size, or a route that cuts from sheets"
        if not flat:
            return larger
        if preset.split.mode == "never":
            return f'set split.mode = "auto" to have it cut into pieces, or {larger}'
        return f"{design.whole_because}; or {larger}" if design.whole_because else larger

    def _sheet(self, material: Material, part: Part) -> Finding:
        width, height = material.sheet_width_mm, material.sheet_height_mm
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
