"""What the ledge and lid hide from a lens that looks sideways, and the relief under the window edge.

The lens of a flatbed stands under the middle of the glass; a picture point off to the side is seen along a slanting
ray. Where the ray leans into the ledge (the window edges that face the middle), the ledge's height shades a strip of
film; above the film the same ray leans into the lid on the other side. Plane geometry, no source needed.
"""

from __future__ import annotations

from collections.abc import Sequence

from holders.design.draft.places import Place, Step
from holders.design.model import Edges, Rect


def shaded_mm(profile: Sequence[Step], slant: float) -> float:
    """Width of film that a wall shades when rays lean into it by ``slant`` (sideways per height), mm."""
    return max([0.0, *(step.away_mm * slant - step.back_mm for step in profile)])


def shade(
    opening: Rect, lens_x: float, lens_distance_mm: float, below: Sequence[Step], above: Sequence[Step]
) -> Edges:
    """Strips shaded beside the left and right window edge, mm (head and foot see no slant: the lens travels along).

    ``below`` is the ledge's profile from the film down, ``above`` the lid's from the film up.
    """

    def one(x: float, inward: float) -> float:
        lean = (lens_x - x) * inward / lens_distance_mm  # positive: rays go down into the opening
        return shaded_mm(below, -lean) if lean < 0 else shaded_mm(above, lean)

    return Edges(one(opening.x, 1.0), one(opening.right, -1.0), 0.0, 0.0)


def seen_fraction(place: Place, shaded: Edges) -> float:
    """Share of the picture area that shows through the window less what is shaded."""
    clear = place.opening.inset(shaded.left, shaded.right, shaded.head, shaded.foot)
    width = min(clear.right, place.picture.right) - max(clear.x, place.picture.x)
    height = min(clear.top, place.picture.top) - max(clear.y, place.picture.y)
    if width <= 0 or height <= 0:
        return 0.0
    return min(1.0, width * height / (place.picture.width * place.picture.height))


def room_for_relief(places: Sequence[Place], outer: Rect, keep_open: Rect | None, wall: float) -> float:
    """How far window edges may stand back below the ledge without leaving less than ``wall`` anywhere, mm."""
    free = []
    for place in places:
        o = place.opening
        free += [
            o.x - outer.x - wall,
            outer.right - o.right - wall,
            o.y - outer.y - wall,
            outer.top - o.top - wall,
        ]
        if keep_open is not None and keep_open.x < o.right and keep_open.right > o.x:
            free.append(o.y - keep_open.top - wall)
        for other in places:
            p = other.opening
            if p.x > o.right and p.y < o.top and p.top > o.y:
                free.append((p.x - o.right - wall) / 2)
            if p.y > o.top and p.x < o.right and p.right > o.x:
                free.append((p.y - o.top - wall) / 2)
    return max(0.0, min(free))
