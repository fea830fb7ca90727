"""Designs made by hand, small enough to know every number: a printed frame with a lid, and the same in sheets."""

from __future__ import annotations

import shapely
from shapely.geometry.base import BaseGeometry

from holders.design.height_sum import Heights
from holders.design.model import Cut, Design, Edges, Foot, Groove, Part, Rect, Role, Slab, Window
from holders.design.parts.sections import groove_area
from holders.fittings.lid.fitted import LidFrame
from holders.geometry.outline import Bay, Point, Region, circle, rectangle, walled

OUTER = Rect(0.5, 0.5, 120.0, 150.0)
OPENING = Rect(20.5, 30.5, 80.0, 100.0)
FILM = Rect(18.5, 28.5, 84.0, 104.0)
POCKET = FILM.grown(0.5)
PLATE = Rect(2, 2, 296, 296)
UNDER, LEDGE, TOP = 0.8, 3.2, 5.2
FLARE = 1.6
FEET = tuple(Foot(x, y, 10.0) for x, y in ((10.5, 10.5), (110.5, 10.5), (10.5, 140.5), (110.5, 140.5)))

# strokes of an A, an O and an I, 5 mm high: an island, a ring and a bare line
LETTERS: tuple[tuple[Point, ...], ...] = (
    ((0.0, 0.0), (2.0, 5.0), (4.0, 0.0)),
    ((0.8, 2.0), (3.2, 2.0)),
    (
        (7.0, 0.0),
        (9.0, 0.0),
        (10.0, 1.0),
        (10.0, 4.0),
        (9.0, 5.0),
        (7.0, 5.0),
        (6.0, 4.0),
        (6.0, 1.0),
        (7.0, 0.0),
    ),
    ((12.0, 0.0), (12.0, 5.0)),
)


def letters(x: float, y: float) -> tuple[tuple[Point, ...], ...]:
    """The three letters moved to (x, y)."""
    return tuple(tuple((px + x, py + y) for px, py in stroke) for stroke in LETTERS)


def shell() -> Region:
    """The holder's outer outline without holes."""
    return Region(rectangle(OUTER.x, OUTER.y, OUTER.width, OUTER.height, 4.0))


def opening() -> Region:
    """The base: a window through it."""
    window = rectangle(OPENING.x, OPENING.y, OPENING.width, OPENING.height, 1.0)
    return Region(shell().outer, (window,))


def wall() -> Region:
    """The wall: a pocket with two finger bays and a small bay with square corners."""
    bays = (
        Bay("head", 60.0, 25.0, 5.0, 4.0),
        Bay("foot", 60.0, 25.0, 5.0, 4.0),
        Bay("left", 60.0, 4.0, 2.0, 0.0),
    )
    pocket = walled(POCKET.x, POCKET.y, POCKET.width, POCKET.height, 1.5, bays)
    return Region(shell().outer, (pocket,))


def written(grooves: tuple[Groove, ...]) -> BaseGeometry:
    """What several grooves take off in plan."""
    return shapely.union_all([groove_area(groove) for groove in grooves])


def frame_part(lettered: bool = True) -> Part:
    """A printed frame: window chamfer, foot recesses, lettering."""
    cuts = (
        Cut("window chamfer", opening().holes[0], UNDER, LEDGE - 0.8, FLARE),
        *(Cut("foot recess", circle(f.x, f.y, 5.15), UNDER, UNDER + 0.6, foot=True) for f in FEET),
    )
    grooves = (Groove("AOI", letters(20.0, 8.0), 0.8, 0.4, TOP),) if lettered else ()
    slabs = (Slab("ledge", UNDER, LEDGE, opening()), Slab("wall", LEDGE, TOP, wall()))
    return Part("frame", "frame", "print", "petg", 1, slabs, cuts, grooves)


def lid_part(route: str = "print", quantity: int = 1) -> Part:
    """A lid frame, one plate."""
    body = POCKET.grown(-0.3)
    hole = rectangle(OPENING.x - 1, OPENING.y - 1, OPENING.width + 2, OPENING.height + 2, 1.0)
    region = Region(rectangle(body.x, body.y, body.width, body.height, 1.0), (hole,))
    places = tuple((0.0, 200.0 * k) for k in range(quantity))
    slab = Slab("lid", LEDGE + 0.3, TOP, region)
    return Part("lid", "lid frame", route, "petg", quantity, (slab,), places=places, role=Role.LID)  # type: ignore[arg-type]


def sheet_parts() -> tuple[Part, ...]:
    """The frame as two sheets for the laser, the upper one lettered."""
    grooves = (Groove("AOI", letters(20.0, 8.0), 0.2, 0.1, 5.0),)
    return (
        Part(
            "sheet-1-ledge",
            "sheet 1: ledge",
            "laser",
            "acrylic-cast",
            1,
            (Slab("ledge", 0.0, 3.0, opening()),),
        ),
        Part(
            "sheet-2-wall",
            "sheet 2: wall",
            "laser",
            "acrylic-cast",
            1,
            (Slab("wall", 3.0, 5.0, wall()),),
            (),
            grooves,
        ),
    )


def made(route: str = "print", lid: bool = True, title: str = "Low Weir Archive test holder") -> Design:
    """A whole design."""
    parts: tuple[Part, ...] = (frame_part(),) if route == "print" else sheet_parts()
    if lid:
        parts = (*parts, lid_part(route))
    lips = Edges(2.0, 2.0, 2.0, 2.0)
    window = Window(
        OPENING, FILM, FILM.inset(3, 3, 3, 3), POCKET, lips, "sheet", False, 1.0, Edges(0, 0, 0, 0)
    )
    return Design(
        slug="low-weir-archive-test-holder",
        title=title,
        route=route,  # type: ignore[arg-type]
        outer=OUTER,
        glass=Rect(0, 0, 121.0, 151.0),
        lamp=Rect(15, 20, 91, 116),
        calibration=Rect(40, 0, 40, 8),
        heights=Heights(0.8, 2.4, 2.4, 0.0, 3.1, 0.1, 2.5, 3.7, 0.2),
        windows=(window,),
        parts=parts,
        feet=FEET if route == "print" else (),
        foot_thickness=1.4,
        foot_recess=0.6,
        film_thickness=0.18,
        pocket_depth=2.0,
        fitted=(LidFrame(0.12),) if lid else (),
        clearance=0.5,
        slide_gap=0.5,
        total_height=TOP,
        plate=PLATE if route == "print" else None,
    )
