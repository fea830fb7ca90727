"""How to make it: steps by route, in the order one does them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

from holders.core.lengths import measure
from holders.design.model import Design, Joint, Seam
from holders.output.sheet.blocks import Block, Drawing, Items, Section, Table
from holders.preset.resolve import Job

if TYPE_CHECKING:
    from holders.facts.models import Material
    from holders.workshop.nest.nest_job import CutSheet

WIDE_MM = 180.0  # what both A4 and Letter leave
GLUES = {"plastic": "thick super glue or two-part epoxy"}  # common practice, no source


def section(job: Job, design: Design, sheets: Sequence[CutSheet] = ()) -> Section:
    """The section with the steps; ``sheets`` are the stock sheets that the pieces are cut from."""
    makers = {
        "print": lambda: _print(job),
        "laser": lambda: _laser(job.material, design, sheets),
        "knife": lambda: _knife(job.material, design, sheets),
    }
    steps = [
        *makers[design.route](),
        *_assembly(design),
        *_feet(design),
        *(step for made in design.fitted for step in made.making(design)),
        *_proof(design),
    ]
    blocks: list[Block] = [Items(tuple(steps), numbered=True)]
    if sheets:
        blocks += [_stock(sheets), _sheets_drawn(sheets)]
    return Section("making", f"Making it: route {design.route}", tuple(blocks))


def _print(job: Job) -> list[str]:
    assert job.printer is not None
    return [
        "Open holder.3mf (every part, side by side; it carries its units), or the STL file of one part "
        f"(to be read as millimetres). Filament: {job.material.name}.",
        f"Layer height {measure(job.printer.layer_mm)} mm, first layer {measure(job.printer.first_layer_mm)} mm, "
        f"nozzle {measure(job.printer.nozzle_mm)} mm: the ledge is the first layer and whole layers above it, so "
        "another height of either moves the film. No scaling, no supports.",
        "Print flat, the side that lies toward the glass on the plate. Keep the first layer from spreading "
        "outward; its rim would narrow the window and make the holder rock.",
        "Let the plate cool before you take the part off, so that it stays flat. Remove strings and sharp edges, most "
        "of all along the ledge and the underside.",
    ]


def _assembly(design: Design) -> list[str]:
    """How the pieces of each split part go together, seam by seam."""
    steps = []
    for whole in dict.fromkeys(seam.part for seam in design.seams):
        titles = {part.name: part.title for part in design.parts if part.whole == whole}
        seams = [seam for seam in design.seams if seam.part == whole]
        name = next(iter(titles.values())).split(",")[0]
        steps.append(
            f"Put the {name} together from its {len(titles)} pieces on one flat plate (glass), baking paper under the "
            f"seams. First dry, in this order: {'; '.join(_in_order(seams, titles))}. Lower each piece from above, "
            "never from the side, letter to letter. All must lie flat on the plate; ease a joint that does not go in "
            "with a fine file, not with force."
        )
        steps.append(_held(seams, design))
    return steps


def _in_order(seams: Sequence[Seam], titles: dict[str, str]) -> list[str]:
    """The first piece laid down, then each next one with what it goes onto, and at which letters."""
    joints = [joint for seam in seams for joint in seam.joints]
    steps = []
    for high, title in titles.items():
        below: dict[str, list[Joint]] = {}
        for joint in joints:
            if joint.high == high:
                below.setdefault(joint.low, []).append(joint)
        onto = [f"onto {_short(titles[low])} at {_letters(mine)}" for low, mine in below.items()]
        steps.append(f"{_short(title)} {' and '.join(onto) or 'laid down'}")
    return steps


def _letters(joints: Sequence[Joint]) -> str:
    bare = [joint.letter for joint in joints if not joint.marked]
    first, last = [joint.letter for joint in joints[:-1]], joints[-1].letter
    words = f"{', '.join(first)} and {last}" if first else last
    return words + (f" (write {', '.join(bare)} on both sides by hand)" if bare else "")


def _short(title: str) -> str:
    return title.partition(", ")[2]


def _held(seams: Sequence[Seam], design: Design) -> str:
    gap = max(seam.clearance_mm for seam in seams)
    if seams[0].fit == "press":
        return (
            f"The joints press together without glue (drawn {measure(gap)} mm wider on each side): push them home on "
            "the plate with a block of wood over the seam. If one is loose after all, glue it."
        )
    glue = GLUES["plastic"]
    above = "".join(f" {made.gluing()}" for made in design.fitted if made.gluing())
    return (
        f"Take it apart, put a little {glue} on the sides of each tongue (the gap is {measure(gap)} mm on each side), "
        "lower the pieces together again, wipe off what comes out, weigh the seams down flat, and let it set "
        f"fully.{above} "
        "Then draw a fingernail along the ledge across each seam: it must not catch."
    )


def _laser(material: Material, design: Design, sheets: Sequence[CutSheet]) -> list[str]:
    return [
        f"Measure the thickness of each sheet of {material.name} with a caliper at several places. If it differs "
        "from the list, put what you measured into the preset and make the files again: the ledge height is made of "
        "these sheets.",
        f"Cut a small test square first. The lines already allow for a kerf of {measure(material.kerf_mm)} mm; "
        "if the square is off, correct the kerf in the preset, not at the machine. A finer way: holders make PRESET "
        "--coupon writes a test piece that also finds the clearance.",
        "Read the DXF files as millimetres, scale 1. Engrave lettering first, then cut inner lines, then outer ones.",
        *_from_stock(sheets),
        *_glue(design),
    ]


def _from_stock(sheets: Sequence[CutSheet]) -> list[str]:
    if not sheets:
        return []
    many = "stock-sheet files hold" if len(sheets) > 1 else "stock-sheet file holds"
    words = (
        f"The {many} every piece in its place on whole sheets (table below): the drawing's origin is the sheet's lower "
        "left corner. Lines stand in the order of cutting; if your program sorts by layer, the order is ENGRAVE, "
    )
    inside = any(sheet.inside for sheet in sheets)
    words += "DROPOUT_INNER, DROPOUT_OUTER, CUT_INNER, CUT_OUTER" if inside else "CUT_INNER, CUT_OUTER"
    words += ". For offcuts of your own take the single files, one a piece."
    return [words]


def _knife(material: Material, design: Design, sheets: Sequence[CutSheet]) -> list[str]:
    plotter = (
        [
            "With a cutting plotter take the DXF files instead of the template: single pieces, or whole sheets (below)."
        ]
        if sheets
        else []
    )
    return [
        "Print the template PDF at 100 % (no fit to page) and check the proof bar with a ruler. Trim and join pages on "
        "the register crosses.",
        f"Measure the thickness of the {material.name}; if it differs from the list, change the preset and print "
        "the template again.",
        "Fix the template with removable tape. Cut windows first, outer edges last: several light passes along a "
        "steel straightedge, from each corner to the middle.",
        *plotter,
        *_glue(design),
    ]


def _stock(sheets: Sequence[CutSheet]) -> Table:
    from holders.output.words.stock import minutes  # noqa: PLC0415 - loads the packers; only cut routes come here

    rows = []
    for sheet in sheets:
        use = sheet.use
        names = [
            spot.part + (" (in a drop-out)" if spot.inside is not None else "") for spot in sheet.placements
        ]
        spare = use.offcut
        rows.append(
            (
                sheet.file,
                f"{measure(sheet.thickness_mm)}; {use.width_mm:g} x {use.height_mm:g}",
                ", ".join(names),
                f"{sheet.cuts.cut_mm / 1000:.1f} m, {minutes(sheet.cuts.seconds)}",
                "-" if spare is None else f"{spare.width:.0f} x {spare.height:.0f}",
                f"{100 * use.waste_share:.0f} %",
            )
        )
    return Table(
        "Whole sheets, mm (times are rough: ask the operator)",
        ("file", "sheet", "pieces", "cut", "offcut left", "waste"),
        tuple(rows),
    )


def _sheets_drawn(sheets: Sequence[CutSheet]) -> Drawing:
    from holders.output.draw.stock import sheets_picture  # noqa: PLC0415 - loads the packers

    picture = sheets_picture(sheets, WIDE_MM)
    words = (
        "Where the pieces lie on the stock sheets; origin at the lower left. Do not measure from this sheet."
    )
    return Drawing(words, picture.svg("stock sheets"), picture.width, picture.height)


def _glue(design: Design) -> list[str]:
    frame = [part for part in design.parts if part.in_frame]
    if len(frame) < 2:
        return ["Remove dust and burrs from every edge."]
    order = ", then ".join(part.title for part in frame)
    return [
        f"Stack dry in this order from the glass up: {order}. Look that the cut-off corners lie above one another.",
        "Glue layer by layer, thin and even, away from the window edge; square the stack, weigh it down flat on glass "
        "with baking paper between, and let it set fully.",
    ]


def _feet(design: Design) -> list[str]:
    if not design.feet:
        return []
    where = "into the recesses on" if design.foot_recess > 0 else "onto the marked places on"
    least, most = (design.foot_thickness - pick(design.foot_depths) for pick in (max, min))
    out = measure(least) if most - least < 0.005 else f"{measure(least)} to {measure(most)}"
    return [
        f"Stick {len(design.feet)} feet {where} the underside (degrease first, press, wait a day). "
        f"Each must stand out {out} mm; measure with a caliper."
    ]


def _proof(design: Design) -> list[str]:
    h = design.heights
    ledge = h.ledge_above_glass
    return [
        f"Proof: lay it on a flat glass. It must not rock. The ledge must lie {measure(ledge)} mm above the glass at "
        "all four sides; write what you measure on this sheet: ______  ______  ______  ______",
    ]
