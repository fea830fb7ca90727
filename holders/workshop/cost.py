"""What a holder takes: plastic and hours for a printer, sheets and minutes for a cutter, and a list to shop by.

Print model: walls of so many lines and skins of so much height are solid, what lies deeper is filled to a share. A
place is deeper when it is farther from every wall than the lines and from every top or underside than the skin, both
measured on the part's own sections. Time is the length of line in walls, skins and fill over the speed there, plus so
much for each layer and a start for each plate.
"""

from __future__ import annotations

import math
from collections.abc import Mapping, Sequence
from dataclasses import dataclass
from types import MappingProxyType

from holders.core.lengths import measure
from holders.core.lines import Row
from holders.design.height.stacks import sheet_prices
from holders.design.model import Design, Part
from holders.design.parts.filled import inside_volume, walls_volume
from holders.design.parts.volume import part_volume
from holders.design.plan.mask import size_of
from holders.design.plan.pins import pinned
from holders.facts.habits import habit
from holders.facts.models import Material, Printer
from holders.facts.printing import PrintSettings, usual_settings
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset
from holders.workshop.nest.cut_order import SheetCuts
from holders.workshop.nest.nest import Nesting

SPARE = 1.1  # of the filament laid down: common practice, no source
BLACK = frozenset({"plastic", "acrylic", "board", "foam"})  # sold black; wood is painted
GLUES: Mapping[str, str] = MappingProxyType(  # common practice, no source
    {
        "acrylic": "solvent cement for acrylic (ventilate, gloves)",
        "wood": "white wood glue",
        "board": "acid-free white glue or film adhesive",
        "foam": "solvent-free contact adhesive",
        "plastic": "thick super glue or two-part epoxy",
    }
)


@dataclass(frozen=True, slots=True)
class PrintCost:
    """One part once: its volume, how much of it is deeper than walls and skins, plastic laid down, grams, and hours
    without the start.
    """

    name: str
    quantity: int
    volume_mm3: float
    inside_mm3: float
    laid_mm3: float
    grams: float
    hours: float


def print_cost(part: Part, density_kg_m3: float, settings: PrintSettings) -> PrintCost:
    """Plastic and time for one piece of a part."""
    whole = part_volume(part)
    inside = min(whole, inside_volume(part, settings))
    walls = min(whole - inside, walls_volume(part, settings))
    laid = whole - inside * (1 - settings.infill)
    layers = math.ceil((part.z1 - part.z0) / settings.layer_mm - 1e-9)
    moved = (
        walls / settings.walls_mm_s
        + (whole - inside - walls) / settings.skins_mm_s
        + settings.infill * inside / settings.inside_mm_s
    )
    seconds = moved / (settings.line_mm * settings.layer_mm) + layers * settings.layer_s
    return PrintCost(
        part.name, part.quantity, whole, inside, laid, laid * 1e-9 * density_kg_m3 * 1000, seconds / 3600
    )


def print_costs(
    material: Material, printer: Printer | None, design: Design, settings: PrintSettings | None = None
) -> tuple[PrintCost, ...]:
    """Every part of a printed holder; empty for the cut routes."""
    if printer is None:
        return ()
    chosen = settings or usual_settings(printer)
    return tuple(print_cost(part, material.density_kg_m3, chosen) for part in design.parts)


def print_hours(printer: Printer, design: Design, costs: Sequence[PrintCost]) -> float:
    """Hours for every piece, with a start for each plate."""
    from holders.workshop.plates import plates  # noqa: PLC0415 - loads the packer

    start_s = usual_settings(printer).start_s * len(plates(design.parts, design.plate))
    return sum(c.hours * c.quantity for c in costs) + start_s / 3600


def filament_g(costs: Sequence[PrintCost]) -> float:
    """Grams of filament to have at hand for every piece: a tenth more than is laid down, for starts and failures."""
    return SPARE * sum(c.grams * c.quantity for c in costs)


def printed_rows(
    material: Material,
    printer: Printer | None,
    design: Design,
    costs: Sequence[PrintCost],
    price_per_kg: float | None = None,
    finish: str = "",
) -> tuple[Row, ...]:
    """Filament with a tenth more for start and failures, priced where it is said what a kilogram costs."""
    buy = filament_g(costs)
    if buy == 0 or printer is None:
        return ()
    hours = print_hours(printer, design, costs)
    price = None if price_per_kg is None else price_per_kg * buy / 1000
    words = f"with a tenth to spare; about {hours:.1f} h of printing"
    return (Row(f"{to_buy_name(material, finish)} filament", round(buy), "g", words, price, "material"),)


def sheet_rows(
    material: Material,
    preset: PlainPreset,
    nestings: Sequence[Nesting],
    cuts: Sequence[Sequence[SheetCuts]],
) -> tuple[Row, ...]:
    """One line per thickness: sheets, area used, cut length and time, and their price where the preset says it."""
    rows, prices = [], {round(t, 4): price for t, price in sheet_prices(preset).items()}
    for nesting, sheets in zip(nestings, cuts, strict=True):
        first = nesting.sheets[0]
        count, thickness = len(nesting.sheets), round(nesting.pieces[0].thickness_mm, 4)
        long = sum(s.cut_mm for s in sheets) / 1000
        minutes = sum(s.seconds for s in sheets) / 60
        rows.append(
            Row(
                f"{to_buy_name(material, preset.material.finish)}, {thickness:g} mm, "
                f"{first.width_mm:g} x {first.height_mm:g} mm",
                count,
                "sheet" if count == 1 else "sheets",
                f"{nesting.used_mm2 / 1e6:.3f} m² used, {long:.1f} m to cut, about {minutes:.0f} min",
                None if thickness not in prices else prices[thickness] * count,
                "material",
            )
        )
    return tuple(rows)


def small_rows(job: Job, design: Design) -> tuple[Row, ...]:
    """Feet, what the fittings need, and glue."""
    rows = []
    if design.feet and job.preset.feet is not None:
        feet = job.preset.feet
        rows.append(
            Row(
                f"anti-slip feet, {feet.diameter_mm:g} mm wide, {feet.thickness_mm:g} mm thick"
                if not design.feet[0].length_mm
                else f"strips of anti-slip rubber, {feet.diameter_mm:g} x {design.feet[0].length_mm:g} mm, "
                f"{feet.thickness_mm:g} mm thick",
                len(design.feet),
                "pieces",
                "self-adhesive; measure one before you print or cut",
                thing="feet",
            )
        )
    if design.route == "laser" and pinned(design.parts):
        size = habit("dowel")
        note = "to align the sheets; drill shanks will do"
        rows.append(Row(f"pins {size:g} mm thick", 2, "pieces", note, thing="pins"))
    rows += [row for made in design.fitted for row in made.to_buy(job, design)]
    if cards := design.of_card:
        largest = max((sorted(size_of(card)) for card in cards), key=lambda sides: sides[0] * sides[1])
        rows.append(
            Row(
                f"black card, {measure(cards[0].z1 - cards[0].z0)} mm, black right through",
                sum(card.quantity for card in cards),
                "pieces",
                f"the largest {largest[0]:.0f} x {largest[1]:.0f} mm; no light through it when held to a lamp",
                thing="card",
            )
        )
    joints = sum(1 for part in design.parts if part.in_frame) - 1
    if job.printer is None and joints > 0:
        rows.append(
            Row(
                glue_for(job.material),
                joints,
                "joint" if joints == 1 else "joints",
                "thin and even; weigh down flat to set",
                thing="glue",
            )
        )
    return tuple(rows)


def plain_name(material: Material) -> str:
    """A material's name without how it is made: "PETG", not "PETG, printed"."""
    return material.name.removesuffix(", printed")


def to_buy_name(material: Material, finish: str) -> str:
    """A material's name as it is asked for in a shop: with its colour where the holder is to be matt black."""
    name = plain_name(material)
    return f"black {name}" if finish == "matt-black" and material.family in BLACK else name


def glue_for(material: Material) -> str:
    """The kind of glue that the parts of a material are joined with."""
    return GLUES[material.family]


def total_price(rows: Sequence[Row]) -> float | None:
    """Sum of the prices that were given; None when none was."""
    known = [row.price for row in rows if row.price is not None]
    return sum(known) if known else None
