"""How to make it: steps by route, in the order one does them."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING, NamedTuple

from holders.core.findings import per_hundred
from holders.core.lengths import measure
from holders.design.model import Design, Joint, Part, Role, Seam
from holders.design.pieces.pose import print_pose
from holders.design.plan.anchor import home_corner
from holders.design.plan.pins import pinned
from holders.facts.habits import habit
from holders.facts.models import Printer
from holders.output.draw.drafting.items import items
from holders.output.draw.drafting.small import small
from holders.output.sheet.blocks import Block, Boxes, Drawing, Section, Steps, Table
from holders.output.words.bench import SUPER_GLUE, glue_called
from holders.output.words.blackened import blackening, blackening_takes
from holders.workshop.budget.as_made import SIDES
from holders.workshop.cost import plain_name

if TYPE_CHECKING:
    from holders.facts.models import Material
    from holders.workshop.budget.enough import Enough
    from holders.workshop.nest.nest_job import CutSheet

WIDE_MM = 118.0  # drawn larger than a column, so that its lettering comes out like the text
FOOT_PLACES = {
    "print": "onto the marked places on",
    "laser": "over the small holes in",
    "knife": "over the crosses pricked with a needle through the template into",
}


class Row(NamedTuple):
    """A step: the kind of its picture, its words, and what of the bench it takes (``words/bench.py``)."""

    kind: str
    words: str
    takes: tuple[str, ...] = ()


class Judging(NamedTuple):
    """How the ledge of the finished holder is judged: the preset's file to name in the command, the mean heights that
    will do (None: not known), which film they are of where several have ledges of their own, and the chance of a good
    scan that heads the sheet.
    """

    preset_file: str
    enough: Enough | None = None
    film: str = ""
    before: float | None = None


def section(
    material: Material,
    printer: Printer | None,
    design: Design,
    sheets: Sequence[CutSheet] = (),
    finish: str = "matt-black",
    judging: Judging | None = None,
) -> Section:
    """The section with the steps; ``sheets`` are the stock sheets that the pieces are cut from."""
    rows = making(material, printer, design, sheets, finish, judging)
    pictures = tuple(_small(row.kind, design) for row in rows)
    blocks: list[Block] = [Steps(tuple(row.words for row in rows), True, pictures), _readings(design)]
    return Section("making", "Steps", tuple(blocks), leaf=1)


def making(
    material: Material,
    printer: Printer | None,
    design: Design,
    sheets: Sequence[CutSheet] = (),
    finish: str = "matt-black",
    judging: Judging | None = None,
) -> tuple[Row, ...]:
    """The steps of making, in their order, each with what it takes; what a fitting's steps take it says itself."""
    makers = {
        "print": lambda: _print(material, printer, design),
        "laser": lambda: _laser(material, design, sheets),
        "knife": lambda: _knife(material, design, sheets),
    }
    return (
        *_own_mask(design),
        *makers[design.route](),
        Row("brush", blackening(material, finish, design.route), blackening_takes(material, finish)),
        *_assembly(design),
        *_corner_stops(material, design),
        *_feet(material, design),
        *(Row(fitted.step_picture, step) for fitted in design.fitted for step in fitted.making(design)),
        *_cards(design.of_card),
        *_proof(design, judging),
    )


def stock_section(sheets: Sequence[CutSheet]) -> Section:
    """Where the pieces lie on whole sheets, for the annex."""
    return Section("stock", "Whole sheets", (_stock(sheets), _sheets_drawn(sheets)))


def _small(kind: str, design: Design) -> Drawing:
    picture = small(kind, design)
    return Drawing("", picture.svg(kind), picture.width, picture.height)


def _readings(design: Design) -> Boxes:
    """Where the ledge of the finished holder is written down, and which side is which."""
    words = "The four heights of the ledge, mm, as numbered (black: the home corner). Keep this sheet with the holder."
    return Boxes(words, tuple(f"{n} {side}" for n, side in enumerate(SIDES, 1)), _small("sides", design))


def _ledges(design: Design) -> str:
    """How high the ledge should lie above the glass; of each kind of film where that differs."""
    each = {measure(one.heights.ledge_above_glass): one for one in design.each}
    if len(each) == 1:
        return next(iter(each))
    return ", ".join(
        f"{measure(one.heights.ledge_above_glass)} for {one.mine[0].film_key}" for one in design.each
    )


def _print(material: Material, printer: Printer | None, design: Design) -> list[Row]:
    assert printer is not None
    turned = any(part.role is Role.LID and print_pose(part).turned for part in design.parts)
    lid = "; a lid, whose underside is stepped, lies top down" if turned else ""
    return [
        Row(
            "plate",
            f"{_plates(design)}; or each part's STL, in millimetres. Filament: {plain_name(material)}. Each "
            f"part lies flat, "
            f"the side that faces the scanner's glass on the printer's plate{lid}. No scaling, no supports.",
            ("material",),
        ),
        Row(
            "layers",
            f"Print layers of {measure(printer.layer_mm)} mm (the first {measure(printer.first_layer_mm)} mm), nozzle "
            f"{measure(printer.nozzle_mm)} mm: other layers move the film out of focus. Edges on the plate have "
            f"a chamfer of "
            f"{measure(habit('print-chamfer'))} mm where walls allow it, as first layers spread: switch off the "
            f"slicer's own "
            "correction for that (elephant foot).",
        ),
        Row(
            "cool",
            "Let the plate cool before you take a part off, so that it stays flat. File off strings and sharp edges, "
            "above all along the ledge and the underside.",
            ("file",),
        ),
    ]


def _plates(design: Design) -> str:
    """Which files to open, and what lies on each plate."""
    from holders.workshop.plates import plate_names, plates  # noqa: PLC0415 - loads the packer

    found = plates(design.parts, design.plate)
    names = plate_names("holder", len(found))
    if len(names) == 1:
        return f"Open {names[0]}, all parts on one plate"
    each = [
        f"{name} ({', '.join(dict.fromkeys(laid.part for laid in plate))})"
        for name, plate in zip(names, found, strict=True)
    ]
    return f"Print one plate after the other: {', '.join(each)}"


def _assembly(design: Design) -> list[Row]:
    """How the pieces of each split part go together, seam by seam."""
    steps: list[Row] = []
    for whole in dict.fromkeys(seam.part for seam in design.seams):
        titles = {part.name: part.title for part in design.parts if part.whole == whole}
        seams = [seam for seam in design.seams if seam.part == whole]
        name = next(iter(titles.values())).split(",")[0]
        bare = any(not joint.marked for seam in seams for joint in seam.joints)
        words = (
            f"Put the {name} together from its {len(titles)} pieces on one flat plate (glass), baking paper under the "
            f"seams; first dry: {'; '.join(_in_order(seams, titles))}. Lower each piece from above, letter to letter, "
            "never from the side. All lie flat; ease a tight joint with a fine file, not with force."
        )
        steps.append(Row("join", words, ("flat-glass", "baking-paper", "file", *(("pen",) if bare else ()))))
        again = len(steps) > 1 and seams[0].fit == design.seams[0].fit
        how = f"{'Glue' if seams[0].fit == 'glue' else 'Press'} the seams of the {name} in the same way."
        takes = ("super-glue", "weight", "cloth") if seams[0].fit == "glue" else ("super-glue", "wood-block")
        steps.append(Row("weigh", how if again else _held(seams, design), takes))
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
            f"the plate with a block of wood over the seam. If one is loose after all, glue it ({SUPER_GLUE})."
        )
    above = "".join(f" {made.gluing()}" for made in design.fitted if made.gluing())
    return (
        f"Apart again, a little {SUPER_GLUE} on the sides of each tongue (the gap is {measure(gap)} mm on each side), "
        f"together, wipe off with a cloth what comes out, weigh the seams down flat, let it set fully.{above} "
        "A fingernail drawn along the ledge must not catch at a seam."
    )


def _laser(material: Material, design: Design, sheets: Sequence[CutSheet]) -> list[Row]:
    return [
        Row(
            "caliper",
            f"Measure each sheet of {material.name} with a caliper at several places. If it differs from the list, "
            "put the reading into the preset and make the files again: the ledge height is made of these sheets.",
            ("caliper", "material"),
        ),
        Row(
            "square",
            f"Cut a small test square and measure it with a caliper: the lines allow for a kerf of "
            f"{measure(material.kerf_mm)} mm, which the beam takes away. If the square is off, correct the kerf in the "
            "preset, not at the machine (finer: holders make PRESET --coupon).",
            ("caliper",),
        ),
        Row(
            "beam",
            "Read the DXF files (the lines to cut) as millimetres, scale 1. Engrave lettering first, then cut inner "
            "lines, then outer ones.",
        ),
        *_from_stock(sheets),
        *_glue(material, design),
    ]


def _from_stock(sheets: Sequence[CutSheet]) -> list[Row]:
    if not sheets:
        return []
    many = "stock-sheet files hold" if len(sheets) > 1 else "stock-sheet file holds"
    words = (
        f"The {many} every piece on whole sheets (see the annex); origin at the sheet's lower left corner. Lines stand "
        "in the order of cutting; if your program sorts by layer: ENGRAVE, "
    )
    inside = any(sheet.inside for sheet in sheets)
    words += "DROPOUT_INNER, DROPOUT_OUTER, CUT_INNER, CUT_OUTER" if inside else "CUT_INNER, CUT_OUTER"
    return [Row("sheet", f"{words}. For offcuts take the single files, one a piece.")]


def _knife(material: Material, design: Design, sheets: Sequence[CutSheet]) -> list[Row]:
    plotter = (
        [
            Row(
                "sheet",
                "Only with a cutting plotter: cut from the DXF files instead, single pieces or whole sheets "
                "(see the annex).",
            )
        ]
        if sheets
        else []
    )
    return [
        Row(
            "template",
            "Print template.pdf on paper at 100 % (never fitted) and check both proof bars with a ruler. Trim the "
            "pages with the knife and join them with tape on the register crosses.",
            ("paper", "ruler", "knife", "tape"),
        ),
        Row(
            "caliper",
            f"Measure the {material.name} with a caliper; if it differs from the list, change the preset and print "
            "the template again.",
            ("caliper", "material"),
        ),
        Row(
            "knife",
            "Fix the template with removable tape. Cut in the order of its numbers, windows first, outer edges last: "
            "several light passes along a steel straightedge, each past its corners as far as the thin lines go.",
            ("tape", "knife"),
        ),
        *plotter,
        *_glue(material, design),
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


def _glue(material: Material, design: Design) -> list[Row]:
    frame = [part for part in design.parts if part.in_frame]
    if len(frame) < 2:
        return [Row("stack", "Blow off dust and trim burrs from every edge.", ("blower", "knife"))]
    mine = [item for item in items(design) if item.part in {part.name for part in frame}]
    order = ", ".join(f"{item.number} ({_layer(item.title)})" for item in mine)
    pins = ("pins", "wax") if _has_pins(design) else ()
    return [
        Row(
            "stack",
            f"Stack dry from the glass up, by the numbers of the picture: {order}. The "
            f"{home_corner(design.route)}s lie above "
            "one another.",
        ),
        Row(
            "weigh",
            f"{_pins_in(design)}Glue with {glue_called(material)}, layer by layer, thin and even, away from the window "
            f"edge; square the stack{_pins_out(design)}. Weigh it down flat on a pane of glass, baking paper between, "
            "and let it set fully.",
            ("glue", "weight", "flat-glass", "baking-paper", *pins),
        ),
    ]


def _layer(title: str) -> str:
    """What a sheet of the stack is, without its place in it: "base" of "sheet 1: base 1"."""
    return title.partition(": ")[2].rstrip(" 0123456789") or title


def _has_pins(design: Design) -> bool:
    return design.route == "laser" and pinned(design.parts)


def _pins_in(design: Design) -> str:
    """How the pins are used, where the sheets have holes for them."""
    if not _has_pins(design):
        return ""
    pin = measure(habit("dowel"))
    return f"String the sheets on a waxed pin of {pin} mm through each of their two small round holes. "


def _pins_out(design: Design) -> str:
    if not _has_pins(design):
        return ""
    return ", and pull both pins out before the glue sets: they would stand on the scanner's glass"


def _own_mask(design: Design) -> list[Row]:
    """Where a mask of the holder's own sheet comes from."""
    if not design.of_sheet:
        return []
    names = " and ".join(piece.name for piece in design.of_sheet)
    one = len(design.of_sheet) == 1
    words = (
        f"Before you cut, hold the sheet of {measure(design.of_sheet[0].z1 - design.of_sheet[0].z0)} mm before a "
        f"lamp: no light may come through, as {names} {'is' if one else 'are'} cut from it beside the parts. Trim "
        f"burrs from {'its' if one else 'their'} edges, which would scratch the scanner's glass, and glue "
        f"{'it' if one else 'them'} to nothing."
    )
    return [Row("sheet", words, ("material", "knife"))]


def _cards(cards: Sequence[Part]) -> list[Row]:
    """Cutting what is of card: the mask, cards for empty pockets."""
    if not cards:
        return []
    names = ", ".join(
        card.name if card.quantity == 1 else f"{card.name} {card.quantity} times" for card in cards
    )
    words = (
        f"Cut {names} from opaque black card of {measure(cards[0].z1 - cards[0].z0)} mm with knife and "
        "steel straightedge: print cards.pdf on paper at 100 % and check its proof bars with a ruler (or take the DXF "
        "files)."
    )
    return [Row("knife", words, ("card", "knife", "paper", "ruler"))]


def _corner_stops(material: Material, design: Design) -> list[Row]:
    if not any(part.role is Role.CORNER for part in design.parts):
        return []
    words = (
        "Lay the largest film you have over the window, the same border all round, and set the stops round it, a "
        f"strip of card or paper {measure(design.clearance)} mm thick between film and stop. Draw round each stop with "
        "a pen. Take the film away, let the ink dry, and glue the stops on their outlines with "
        f"{glue_called(material)}, thinly, none on the side toward the film. Lay the film between them once more: it "
        "must go in freely; push a stop back while the glue still gives. Take the film away again. Weigh the stops "
        "down flat and let them set fully."
    )
    return [Row("weigh", words, ("glue", "shims", "weight", "pen"))]


def _feet(material: Material, design: Design) -> list[Row]:
    if not design.feet:
        return []
    where = (
        "into the recesses on"
        if design.foot_recess > 0 and design.route == "print"
        else FOOT_PLACES[design.route]
    )
    least, most = (design.foot_thickness - pick(design.foot_depths) for pick in (max, min))
    out = measure(least) if most - least < 0.005 else f"{measure(least)} to {measure(most)}"
    long = design.feet[0].length_mm
    cut = f"Cut {len(design.feet)} strips {long:g} mm long with scissors. " if long else ""
    count = "them" if long else f"{len(design.feet)} feet"
    smooth = material.family in ("plastic", "acrylic")  # the others take no water
    clean = (
        "Wipe their places with a cloth and a little washing-up liquid and let them dry."
        if smooth
        else "Blow their places free of dust."
    )
    words = (
        f"{cut}{clean} Stick {count} {where} the underside, press, and wait a day. Each must stand out {out} mm: "
        "measure with a caliper."
    )
    more = [*(["scissors"] if long else []), *(["needle"] if design.route == "knife" else [])]
    return [
        Row("feet", words, ("feet", "caliper", *(("cloth", "washing-up") if smooth else ("blower",)), *more))
    ]


def _proof(design: Design, judging: Judging | None) -> list[Row]:
    differ = len({measure(one.heights.ledge_above_glass) for one in design.each}) > 1
    high = f"{_ledges(design)} mm" if not differ else f"so many mm: {_ledges(design)},"
    command = "holders measured"
    if judging is not None:
        command += f" {judging.preset_file} LEFT RIGHT HEAD FOOT"
    words = (
        f"Proof: lay the holder on a flat pane of glass. It must not rock. The ledge must lie {high} above the glass: "
        f"measure {_how(design)} in the middle of each side, and write it into the boxes below.{_will_do(judging)} If "
        f"it is off, type {command}: it says which shims of paper, tape or card put it right."
    )
    return [Row("proof", words, ("flat-glass", "caliper", "shims"))]


def _how(design: Design) -> str:
    """How a ledge is measured: jaws slip off the relief below a lip, so a wall is measured from."""
    if design.pocket_depth <= 0:
        return "with a caliper"
    return "with a caliper's depth rod from the wall's top, to the ledge and to the glass (the difference counts),"


def _will_do(judging: Judging | None) -> str:
    """Which means of the four readings need nothing done, how good they are, and what the sheet's head counts."""
    found = None if judging is None else judging.enough
    if judging is None or found is None:
        return ""
    of = f" of the ledge for the {judging.film}" if judging.film else ""
    head = (
        ""
        if judging.before is None
        else f"; the {per_hundred(judging.before)} at the head of this sheet are for a holder not yet measured"
    )
    return (
        f" A mean of {found.low_mm:.2f} to {found.high_mm:.2f} mm{of} will do, none of the four more than "
        f"{measure(found.uneven_mm)} mm from it (at either end of that range {per_hundred(found.chance)} of 100 scans "
        f"or more are good{head})."
    )
