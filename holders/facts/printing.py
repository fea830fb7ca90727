"""How the workshop's printer fills a part: one set of numbers for what a print takes and for how stiff it is."""

from __future__ import annotations

from dataclasses import dataclass

from holders.facts.habits import habit
from holders.facts.models import Printer


@dataclass(frozen=True, slots=True)
class PrintSettings:
    """How the printer fills a part (mm, shares), how fast it goes along walls, skins and fill (mm/s), and s lost."""

    wall_mm: float
    skin_mm: float
    infill: float
    layer_mm: float
    line_mm: float
    walls_mm_s: float
    skins_mm_s: float
    inside_mm_s: float
    layer_s: float
    start_s: float

    @property
    def words(self) -> str:
        """What is solid and what is not, for people."""
        return f"walls {self.wall_mm:.2f} mm and skins {self.skin_mm:g} mm solid, {100 * self.infill:.0f} % fill inside"


def usual_settings(printer: Printer) -> PrintSettings:
    """The workshop's usual settings for a printer's nozzle and layer."""
    line = habit("print-line-share") * printer.nozzle_mm
    return PrintSettings(
        wall_mm=habit("print-perimeters") * line,
        skin_mm=habit("print-skin"),
        infill=habit("print-infill"),
        layer_mm=printer.layer_mm,
        line_mm=line,
        walls_mm_s=habit("print-speed-walls"),
        skins_mm_s=habit("print-speed-skins"),
        inside_mm_s=habit("print-speed-inside"),
        layer_s=habit("print-layer-seconds"),
        start_s=60 * habit("print-start-minutes"),
    )
