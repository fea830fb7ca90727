"""What stands below the list of parts: a joint of a split frame from above, the holder cut across, the mask of card."""

from __future__ import annotations

from collections.abc import Sequence

import shapely

from holders.core.lengths import measure
from holders.design.model import Design, Joint, Seam
from holders.design.parts.sections import area_of, polygon
from holders.output.draw import section
from holders.output.draw.canvas import (
    EDGE,
    HATCH_MATERIAL,
    HATCH_OTHER,
    Picture,
    View,
)
from holders.output.draw.drafting.lettering import LINE, TEXT, wrapped
from holders.output.draw.drafting.ordinates import Edge, Mark, depth, merged, row
from holders.output.draw.plan import plan

SCALES = (10.0, 5.0, 2.0, 1.0)  # ISO 5455
HEAD_MM, BETWEEN_MM = 4.0, 5.0
BESIDE_MM, BEYOND_MM = 6.0, 3.0  # of the rail beside a joint, and along it, that are shown
RIM_MM = 4.0  # of paper that the plan keeps free, both sides together
MOST_SCALE, LEAST_SCALE = 0.3, 0.1
LEAST_ACROSS_MM = 90.0  # a narrower picture of the whole shows nothing

Drawn = tuple[str, Picture, str]


def further(design: Design, width: float, height: float) -> Picture:
    """As many of the pictures as a room of ``width`` x ``height`` mm takes, below one another, each with its words."""
    picture = Picture(width, height, exact=True)
    y = 0.0
    for make in (_joint, _across, _card):
        drawn = make(design, width, height - y - HEAD_MM)
        if drawn is None:
            continue
        head, made, words = drawn
        picture.text((0.0, y + HEAD_MM - 1.0), head, TEXT, bold=True)
        picture.place(made, 0.0, y + HEAD_MM)
        y += HEAD_MM + made.height
        for line in wrapped(words, width, TEXT):
            y += LINE
            picture.text((0.0, y - 1.0), line, TEXT)
        y += BETWEEN_MM
    return picture


def _lines(words: str, width: float) -> float:
    return LINE * len(wrapped(words, width, TEXT))


def _across(design: Design, width: float, height: float) -> Drawn | None:
    """The section across the whole holder."""
    made = section.whole(design, width)
    share = made.height / width
    words = "Heights enlarged. Dash-dotted: the sharpest height; lined: the heights that are sharp."
    room = height - _lines(words, width)
    if made.height > room:
        narrower = room / share
        if narrower < LEAST_ACROSS_MM:
            return None
        made = section.whole(design, narrower)
        if made.height > room:
            return None
    return "Across the holder, put together", made, words


def _card(design: Design, width: float, height: float) -> Drawn | None:
    """Where the pieces of the mask lie on the glass, with the numbers of their files."""
    if not design.mask:
        return None
    words = "Grey: the mask, flat on the glass. Home end below."
    room, glass = height - _lines(words, width), design.glass
    scale = min(MOST_SCALE, (width - RIM_MM) / glass.width, (room - RIM_MM) / glass.height)
    if scale < LEAST_SCALE:
        return None
    made = plan(design, scale, dimensions=False)
    for number, card in enumerate(design.mask, 1):
        if len(design.mask) > 1:
            spot = area_of(card.slabs[0].region).buffer(-TEXT / scale / 2).representative_point()
            if not spot.is_empty:
                x, y = spot.x - glass.x, glass.top - spot.y
                made.text(
                    (x * scale + RIM_MM / 2, y * scale + RIM_MM / 2 + TEXT / 2), str(number), TEXT, "middle"
                )
    return "The mask on the glass, from above", made, words


def _joint(design: Design, width: float, height: float) -> Drawn | None:
    """The first joint of the frame from above, its places from the home corner as on the plan."""
    seam = next((s for s in design.seams if s.role.in_frame and s.joints), None)
    if seam is None:
        return None
    joint = seam.joints[0]
    words = (
        f"Tongue {measure(_wide(joint, seam), 1)} at its widest, play {measure(seam.clearance_mm)} a side."
    )
    room = height - _lines(words, width)
    x0, y0, x1, y1 = _shown(seam, joint)
    above, right = _marks(design, seam, joint)
    up, out = depth(above, "above"), depth(right, "right")
    scale = next(
        (s for s in SCALES if (x1 - x0) * s + out <= width and up + (y1 - y0) * s + 1.0 <= room), None
    )
    if scale is None:
        return None
    wide, high = (x1 - x0) * scale, (y1 - y0) * scale
    picture = Picture(wide + out + 1.0, up + high + 1.0, exact=True)
    view = View(0.5, up + high, x0, y0, scale, scale)
    tongue, socket = polygon(joint.tongue), polygon(joint.socket)
    low, other = _sides(seam, (x0, y0, x1, y1))
    _fill(picture, view, low.union(tongue), HATCH_OTHER)
    _fill(picture, view, other.difference(socket), HATCH_MATERIAL)
    o = design.outer
    row(picture, above, Edge("above", up, lambda x: view.at(o.x + x, 0)[0], 0.5, wide + 0.5))
    row(picture, right, Edge("right", wide + 0.5, lambda y: view.at(0, o.y + y)[1], up, up + high))
    what = f"Joint {joint.letter} from above, {measure(scale)} : 1"
    return what, picture, words


def _wide(joint: Joint, seam: Seam) -> float:
    x0, y0, x1, y1 = polygon(joint.tongue).bounds
    return float(x1 - x0 if seam.axis == "y" else y1 - y0)


def _shown(seam: Seam, joint: Joint) -> tuple[float, float, float, float]:
    """The part of the rail around a joint, in bed coordinates."""
    x0, y0, x1, y1 = polygon(joint.socket).bounds
    k = 0 if seam.axis == "y" else 1
    low, high = next(
        (span for span in seam.crossings if span[0] <= joint.root[k] <= span[1]), seam.crossings[0]
    )
    if k == 0:
        return max(low, x0 - BESIDE_MM), y0 - BEYOND_MM, min(high, x1 + BESIDE_MM), y1 + BEYOND_MM
    return x0 - BEYOND_MM, max(low, y0 - BESIDE_MM), x1 + BEYOND_MM, min(high, y1 + BESIDE_MM)


def _sides(
    seam: Seam, box: tuple[float, float, float, float]
) -> tuple[shapely.geometry.base.BaseGeometry, shapely.geometry.base.BaseGeometry]:
    """The rail below and above the seam."""
    x0, y0, x1, y1 = box
    if seam.axis == "y":
        return shapely.box(x0, y0, x1, seam.at_mm), shapely.box(x0, seam.at_mm, x1, y1)
    return shapely.box(x0, y0, seam.at_mm, y1), shapely.box(seam.at_mm, y0, x1, y1)


def _marks(design: Design, seam: Seam, joint: Joint) -> tuple[list[Mark], list[Mark]]:
    """What is dimensioned above and at the right, from the home corner: tongue, neck, seam."""
    o = design.outer
    tx0, ty0, tx1, ty1 = polygon(joint.tongue).bounds
    k = 0 if seam.axis == "y" else 1
    on_seam = [
        v.x if k == 0 else v.y for v in joint.tongue.vertices if abs((v.y, v.x)[k] - seam.at_mm) < 1e-6
    ]
    across = [Mark(at, "tongue") for at in ((tx0, tx1) if k == 0 else (ty0, ty1))]
    across += [Mark(at, "neck") for at in on_seam]
    end = (ty1 if k == 0 else tx1) if _upward(joint, seam) else (ty0 if k == 0 else tx0)
    lengthwise = [Mark(seam.at_mm, "seam"), Mark(end, "tongue")]
    first, second = (o.x, o.y) if k == 0 else (o.y, o.x)
    one = merged(Mark(m.at - first, m.words) for m in across)
    two = merged(Mark(m.at - second, m.words) for m in lengthwise)
    return (one, two) if k == 0 else (two, one)


def _upward(joint: Joint, seam: Seam) -> bool:
    """Whether the tongue points away from the home corner."""
    x0, y0, x1, y1 = polygon(joint.tongue).bounds
    low, high = (y0, y1) if seam.axis == "y" else (x0, x1)
    return bool(high - seam.at_mm > seam.at_mm - low)


def _fill(picture: Picture, view: View, shape: shapely.geometry.base.BaseGeometry, hatch: str) -> None:
    for piece in shapely.get_parts(shape):
        rings: list[Sequence[tuple[float, float]]] = [
            [view.at(x, y) for x, y in ring.coords] for ring in (piece.exterior, *piece.interiors)
        ]
        picture.polygon(rings, EDGE, hatch)
