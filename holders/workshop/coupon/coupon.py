"""One small test piece that measures kerf, joint and pocket clearance, and height, the same for all routes.

The plate carries five slots a little wider than the tongue is thick, five pockets a little wider than the plug, each
step marked with its play in hundredths of a millimetre over the whole width, and a square hole whose sides are
measured. The tongue goes on edge through the slots, the plug lies in the pockets. A printed plate ends in a stair of
three heights. Cut it on the line (no kerf set off): the read-back counts with that, see ``readback``.
"""

from __future__ import annotations

from dataclasses import dataclass

from holders.core.errors import InputError
from holders.design.draft.levels import levels
from holders.design.height.heights import rise
from holders.design.model import Groove, Part, Rect, Slab
from holders.design.parts.lettering import strokes_in
from holders.facts.models import Route
from holders.facts.tables import process
from holders.geometry.outline import Outline, Region, Vertex, rectangle
from holders.preset.resolve import Job

STEPS_MM = (0.0, 0.1, 0.2, 0.3, 0.4)  # play over the whole width, as drawn
SQUARE_MM = 20.0
PLUG_MM = 10.0
TONGUE_MM = 10.0  # how wide the tongue is where it goes through a slot
GAP_MM = 6.0
RIM_MM = 4.0
LABEL_MM = 4.5
STAIR_MM = 8.0
PRINTED_MM = 3.0
STAIRS = 3
LEAST_MM, MOST_MM = 0.5, 10.0


@dataclass(frozen=True, slots=True)
class Coupon:
    """The pieces and the sizes as drawn, which the read-back needs (mm).

    ``slots`` and ``pockets`` are widths in the order of ``STEPS_MM``; ``heights`` the stair's (empty when cut).
    """

    parts: tuple[Part, ...]
    square_mm: float
    tongue_mm: float
    plug_mm: float
    slots: tuple[float, ...]
    pockets: tuple[float, ...]
    heights: tuple[float, ...]


def coupon(
    route: Route,
    material: str,
    thickness_mm: float = PRINTED_MM,
    layer_mm: float = 0.2,
    first_layer_mm: float = 0.2,
) -> Coupon:
    """The test piece for one material.

    Parameters
    ----------
    route, material:
        How it is made and the material's key.
    thickness_mm:
        The sheet it is cut from, measured; or how thick to print it (rounded to layers).
    layer_mm, first_layer_mm:
        The printer's layer height, and that of its first layer, mm.

    Raises
    ------
    InputError
        For a thickness no holder is made of.
    """
    if not LEAST_MM <= thickness_mm <= MOST_MM:
        raise InputError(
            "thickness_mm",
            thickness_mm,
            f"a coupon is {LEAST_MM:g} to {MOST_MM:g} mm thick; measure the sheet",
        )
    heights = _stair(thickness_mm, layer_mm, first_layer_mm) if route == "print" else ()
    thick = heights[-1] if heights else thickness_mm
    slots = tuple(thick + step for step in STEPS_MM)
    pockets = tuple(PLUG_MM + step for step in STEPS_MM)
    plate = _plate(route, material, thick, slots, pockets, heights)
    width, _ = plate_size(thick, bool(heights))
    parts = (plate, _tongue(route, material, thick, width), _plug(route, material, thick, width))
    return Coupon(parts, SQUARE_MM, thick, PLUG_MM, slots, pockets, heights)


def coupon_for(job: Job) -> Coupon:
    """The coupon of a job: printed, or from the thickest of the sheets that its holder is made of with flat film.

    Raises ``InputError`` where no stack of sheets makes the holder, as the design itself.
    """
    if job.printer is not None:
        return coupon("print", job.material.key, PRINTED_MM, job.printer.layer_mm, job.printer.first_layer_mm)
    raised = rise(job)
    made = levels(job, raised)
    assert raised.stack is not None  # cut routes stack sheets
    thickest = max(*raised.stack.sheets, made.top - made.ledge - made.glue)
    return coupon(job.preset.route, job.material.key, min(thickest, MOST_MM))


def plate_size(thickness_mm: float, stair: bool) -> tuple[float, float]:
    """Outside of the plate, mm."""
    columns = len(STEPS_MM) * (max(PLUG_MM, thickness_mm) + STEPS_MM[-1] + GAP_MM)
    width = 2 * RIM_MM + columns + SQUARE_MM + (STAIR_MM + GAP_MM if stair else 0.0)
    height = 2 * RIM_MM + TONGUE_MM + STEPS_MM[-1] + PLUG_MM + STEPS_MM[-1] + 2 * LABEL_MM + GAP_MM
    return width, height


def _stair(thickness: float, layer: float, first: float) -> tuple[float, ...]:
    """Three heights that the slicer can make, the last the whole thickness."""
    if not 0 < layer <= thickness / STAIRS + 1e-9:
        raise InputError(
            "printer.layer_mm", layer, f"too coarse for a stair of {STAIRS} within {thickness:g} mm"
        )
    if not 0 < first <= thickness / STAIRS + 1e-9:
        raise InputError(
            "printer.first_layer_mm", first, f"too thick for a stair of {STAIRS} within {thickness:g} mm"
        )
    wishes = (thickness * (k + 1) / STAIRS for k in range(STAIRS))
    return tuple(round(first + round((wish - first) / layer) * layer, 6) for wish in wishes)


def _plate(
    route: Route,
    material: str,
    thick: float,
    slots: tuple[float, ...],
    pockets: tuple[float, ...],
    heights: tuple[float, ...],
) -> Part:
    width, height = plate_size(thick, bool(heights))
    low = RIM_MM + LABEL_MM
    above = low + PLUG_MM + STEPS_MM[-1] + GAP_MM + LABEL_MM
    pitch = max(PLUG_MM, thick) + STEPS_MM[-1] + GAP_MM
    rows = _row(pockets, low, PLUG_MM, pitch), _row(slots, above, TONGUE_MM, pitch)
    right = width - RIM_MM - SQUARE_MM - (STAIR_MM + GAP_MM if heights else 0.0)
    square = Rect(right, (height - SQUARE_MM) / 2, SQUARE_MM, SQUARE_MM)
    holes = [_box(r) for r in (*rows[0], *rows[1], square)]
    texts = [(f"{round(s * 100)}", _under(r)) for row in rows for r, s in zip(row, STEPS_MM, strict=True)]
    corner = Rect(right - GAP_MM / 2, RIM_MM - 1.0, SQUARE_MM + GAP_MM, (height - SQUARE_MM) / 2 - RIM_MM)
    texts.append((f"{material} {thick:.2f}", corner))
    grooves = tuple(g for text, room in texts if (g := _label(route, text, room, thick)))
    slabs = _slabs(width, height, thick, heights, tuple(holes))
    return Part("coupon", "test piece: slots, pockets, square", route, material, 1, slabs, grooves=grooves)


def _row(widths: tuple[float, ...], y: float, tall: float, pitch: float) -> list[Rect]:
    """Openings in even columns, each as much taller than what enters it as it is wider."""
    return [
        Rect(RIM_MM + k * pitch, y, width, tall + step)
        for k, (width, step) in enumerate(zip(widths, STEPS_MM, strict=True))
    ]


def _under(opening: Rect) -> Rect:
    """Room for a number under an opening."""
    middle = opening.x + opening.width / 2
    half = min(GAP_MM, middle - 0.5)
    return Rect(middle - half, opening.y - LABEL_MM - 0.5, 2 * half, LABEL_MM + 0.5)


def _label(route: Route, text: str, room: Rect, top: float) -> Groove | None:
    """A text on the plate; None where it has no room."""
    rules = process(route)
    strokes = strokes_in(text, room, rules.letter_least_mm, rules.letter_least_mm * 0.6)
    if strokes is None:
        return None
    return Groove(text, strokes, rules.groove_width_mm, rules.groove_depth_mm, top)


def _slabs(
    width: float, height: float, thick: float, heights: tuple[float, ...], holes: tuple[Outline, ...]
) -> tuple[Slab, ...]:
    """One plate; printed, its right end steps up over three heights (each slab ends where a step does)."""
    if not heights:
        return (Slab("plate", 0.0, thick, Region(rectangle(0, 0, width, height), holes)),)
    found, z = [], 0.0
    tread = height / STAIRS
    for number, top in enumerate(heights):
        outer = rectangle(0, 0, width, height) if number == 0 else _stepped(width, height, number * tread)
        found.append(Slab(f"step {number + 1}", z, top, Region(outer, holes)))
        z = top
    return tuple(found)


def _stepped(width: float, height: float, up_to: float) -> Outline:
    """The plate without the lower ``up_to`` mm of its right end."""
    inner = width - STAIR_MM
    corners = ((0.0, 0.0), (inner, 0.0), (inner, up_to), (width, up_to), (width, height), (0.0, height))
    return Outline(tuple(Vertex(x, y) for x, y in corners))


def _tongue(route: Route, material: str, thick: float, beside: float) -> Part:
    """A strip with a handle; its narrow end goes on edge through a slot."""
    x, y = beside + GAP_MM, 0.0
    wide, long, neck = TONGUE_MM + 8.0, 24.0, 12.0
    side = (wide - TONGUE_MM) / 2
    corners = (
        (x, y), (x + wide, y), (x + wide, y + long - neck), (x + wide - side, y + long - neck),
        (x + wide - side, y + long), (x + side, y + long), (x + side, y + long - neck), (x, y + long - neck),
    )  # fmt: skip
    outline = Outline(tuple(Vertex(*c) for c in corners))
    return Part(
        "coupon-tongue", "test tongue", route, material, 1, (Slab("tongue", 0.0, thick, Region(outline)),)
    )


def _plug(route: Route, material: str, thick: float, beside: float) -> Part:
    outline = rectangle(beside + GAP_MM, 24.0 + GAP_MM, PLUG_MM, PLUG_MM)
    return Part("coupon-plug", "test plug", route, material, 1, (Slab("plug", 0.0, thick, Region(outline)),))


def _box(r: Rect) -> Outline:
    return rectangle(r.x, r.y, r.width, r.height)
