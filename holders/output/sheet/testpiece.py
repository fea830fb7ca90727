"""The page that comes with a test piece: what to measure, with what, and what to type where; and its drawing."""

from __future__ import annotations

from collections.abc import Sequence

from holders.core.lengths import measure
from holders.facts.models import Printer
from holders.output.draw.canvas import EDGE, FINE, Picture, View
from holders.output.sheet.blocks import Block, Drawing, Items, Section, Sheet, Table, Verbatim, Words
from holders.output.sheet.replay import sized
from holders.preset.resolve import Job
from holders.preset.tables.plain import PlainPreset
from holders.workshop.coupon.coupon import Coupon
from holders.workshop.coupon.limits import MOST_STAIR_MM, Limits, limits

RIM_MM = 5.0
LABEL_MM = 3.0
Row = tuple[str, str, str, str, str]


def drawing(piece: Coupon) -> Picture:
    """All pieces from above, at 1:1 on paper."""
    boxes = [part.box for part in piece.parts]
    x0, y0 = min(b[0] for b in boxes), min(b[1] for b in boxes)
    x1, y1 = max(b[2] for b in boxes), max(b[3] for b in boxes)
    picture = Picture(x1 - x0 + 2 * RIM_MM, y1 - y0 + 2 * RIM_MM)
    view = View(RIM_MM, picture.height - RIM_MM, x0, y0, 1.0, 1.0)
    for part in piece.parts:
        lines = dict.fromkeys(line for slab in part.slabs for line in (slab.region.outer, *slab.region.holes))
        picture.outlines(lines, view, EDGE)
        for groove in part.grooves:
            picture.strokes([[view.at(*p) for p in stroke] for stroke in groove.strokes], FINE)
    return picture


def testpiece_sheet(job: Job, piece: Coupon, cautions: Sequence[str]) -> Sheet:
    """Everything on the page; ``cautions`` as sentences."""
    route = job.preset.route
    within = limits(job.preset, job.material, job.printer, piece)
    rows = _readings(piece, within)
    picture = drawing(piece)
    svg = picture.svg("the test piece from above")
    return Sheet(
        f"Test piece for {job.preset.title}",
        f"{job.material.name}, {measure(piece.tongue_mm)} mm; route {route}",
        (
            Section(
                "purpose",
                "What it is for",
                (Words(_purpose(job.preset)), *(Words(text) for text in cautions)),
            ),
            Section("making", "Making it", (Items(_making(job), numbered=True),)),
            Section(
                "measuring",
                "What to measure, with what, and where to type it",
                (
                    Table(
                        "Leave out what you do not measure",
                        ("what", "with", "drawn, mm (marks: hundredths of a mm)", "good is", "key"),
                        rows,
                    ),
                    Items((*_hints(job.printer, job.preset), *_judging(within))),
                    Drawing(
                        "The test piece from above. The number beside an opening is its play in hundredths of a mm.",
                        svg,
                        *sized(svg),
                    ),
                ),
            ),
            Section("typing", "Typing it in", _typing(job.preset, rows)),
        ),
    )


def _purpose(preset: PlainPreset) -> str:
    what = {
        "print": "how much play a part needs to go into another on your printer, and how true its heights come out",
        "laser": "how wide the laser's cut is in your sheet, and how much play a part needs to go into another",
        "knife": "how much play a part needs to go into another when you cut it by hand",
    }[preset.route]
    return (
        f"This small piece finds {what}. It takes minutes, and every later holder of the same material, made in the "
        "same way, fits better for it. Make it again for another material, sheet or machine."
    )


def _making(job: Job) -> tuple[str, ...]:
    if job.printer is not None:
        return (
            f"Print the three pieces flat as they lie, with the settings of the holder: layers of "
            f"{measure(job.printer.layer_mm)} mm, the first of {measure(job.printer.first_layer_mm)} mm, "
            f"{job.material.name}, no scaling.",
            "Let the plate cool, take them off, remove strings and the rim that the first layer pressed out.",
        )
    first = {
        "laser": "Cut on the line, with no kerf set off anywhere: the piece is there to measure it.",
        "knife": "Cut on the line, from the template at 100 % or the DXF with a cutting plotter.",
    }[job.preset.route]
    return (first, "Use the very sheet that the holder is cut from. Keep plug and tongue: they belong to it.")


def _readings(piece: Coupon, within: Limits) -> tuple[Row, ...]:
    rows: list[Row] = []
    pair = f"within {measure(within.pair_mm)} mm of each other"
    if within.hole_mm is not None and within.plug_mm is not None:
        hole, plug = f"about {measure(within.hole_mm)}; {pair}", f"about {measure(within.plug_mm)}; {pair}"
        rows += [
            ("sides of the square hole", "caliper, inside jaws", measure(piece.square_mm), hole, "holes_mm"),
            ("sides of the loose plug", "caliper", measure(piece.plug_mm), plug, "plugs_mm"),
        ]
    tightest = "tightest square pocket that the plug goes into"
    rows.append((tightest, "hand", "marked 0 to 40", _marked(within.pocket_mark), "pocket"))
    if within.height_mm is not None and within.slot_mark is not None:
        heights = ", ".join(measure(height) for height in piece.heights)
        off = f"± {measure(within.height_mm)} mm"
        tightest, steps = (
            "tightest slot that the tongue goes into, on edge",
            "the three steps at the right end, lowest first",
        )
        rows += [
            (tightest, "hand", "marked 0 to 40", _marked(within.slot_mark), "slot"),
            ("thickness of the tongue", "caliper", measure(piece.tongue_mm), off, "tongue_mm"),
            (steps, "caliper", heights, f"each {off}", "heights_mm"),
        ]
    else:
        each = f"{measure(within.glue_mm)} mm" if within.glue_mm else "nothing"
        glued = f"the sheets, and {each} ± {measure(within.glue_spread_mm)} mm a joint"
        rows += [
            ("thickness of each scrap before gluing", "caliper", "-", f"readings {pair}", "glued_sheets_mm"),
            ("height of the glued pile when set", "caliper", "-", glued, "glued_mm"),
        ]
    rows.append(
        ("number after the material's name", "eye", measure(piece.tongue_mm), "as drawn", "thickness_mm")
    )
    return tuple(rows)


def _marked(mark: int) -> str:
    return f"{mark} or tighter" if mark else "0"


def _judging(within: Limits) -> tuple[str, ...]:
    """What to think of a reading that is not good."""
    found = [
        'What stands under "good is" is what the holder is planned with. Type other readings all the same: the next '
        "holder is drawn for them.",
    ]
    if within.height_mm is not None:
        found.append(
            "Judge the stair by its three errors, measured less drawn. All alike: the first layer is pressed or "
            "lifted. Growing from step to step: the printer's upright axis is off by that share. The middle one "
            "further than "
            f"{measure(within.bent_mm)} mm from half way between the other two: a reading is wrong, or grit lies "
            f"under the piece; measure again. More than {measure(MOST_STAIR_MM)} mm is refused: set the first layer, "
            "and print the piece again."
        )
    if within.hole_mm is not None:
        found.append(
            f"The hole is larger and the plug smaller by the same kerf, within {measure(within.pair_mm)} mm; if not, "
            "look for a burr, or a bevelled cut, and measure at half the thickness."
        )
    return tuple(found)


def _hints(printer: Printer | None, preset: PlainPreset) -> tuple[str, ...]:
    found = [
        'A step "goes in" when a light push of one finger takes it all the way; it need not fall in. Brush dust out '
        "first.",
        {
            "print": "Measure each step of the stair from the underside, in its middle; give all three.",
            "laser": "Read each side at two or three places and type them all: they are averaged, and their scatter "
            "counts.",
            "knife": "Read each thickness at two or three places and type their mean.",
        }[preset.route],
    ]
    if printer is None:
        found.append(
            "Glue: take two or three scraps of the sheets that your holder is made of, measure each, glue them as you "
            "will glue the holder, weigh them down flat, measure the pile when it has set."
        )
    return tuple(found)


def _typing(preset: PlainPreset, rows: tuple[Row, ...]) -> tuple[Block, ...]:
    many = {"holes_mm": 2, "plugs_mm": 2, "heights_mm": 3, "glued_sheets_mm": 2}
    blanks = {key: f"[{', '.join(['____'] * many[key])}]" if key in many else "____" for *_, key in rows}
    blank = "\n".join(f"{key} = {room}" for key, room in blanks.items())
    clearances = "layout.clearance_mm, lid.clearance_mm"
    given = {
        "print": f"{clearances}, split.clearance_mm and the heights that are drawn",
        "laser": f"material.kerf_mm, {clearances} and material.glue_line_mm",
        "knife": f"{clearances} and material.glue_line_mm",
    }[preset.route]
    return (
        Words(
            "Type the readings into the preset under [coupon] as below, or start a new one with holders new --coupon, "
            f"which asks for them one by one. They give {given}. A number that the preset states itself wins over "
            "them: delete its line to let the test piece decide."
        ),
        Verbatim(f"[coupon]\n{blank}"),
    )
