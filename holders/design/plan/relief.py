"""What the ledge and lid hide from a lens that looks sideways, and the relief under the window edge.

The lens of a flatbed stands under the middle of the glass; a picture point off to the side is seen along a slanting
ray. Where the ray leans into the ledge (the window edges that face the middle), the ledge's height shades a strip of
film; above the film the same ray leans into the lid on the other side. Plane geometry, no source needed.
"""

from __future__ import annotations

from collections.abc import Sequence

from holders.design.draft.places import Place, Step
from holders.design.draft.stands import SLACK_MM
from holders.design.model import EDGES, Edges, Rect
from holders.film.stray import strip_view_factor
from holders.geometry.outline import Point


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


def shade_moved(
    opening: Rect,
    lamp: Rect,
    stands: Sequence[Point],
    lens: tuple[float, float],
    below: Sequence[Step],
    above: Sequence[Step],
) -> Edges:
    """The same for a holder that is moved between passes: the worst of those in which the edge lies over the lamp area.

    ``stands`` are the passes as shifts from where the opening is given, ``lens`` is where it stands across the bed and
    the way of the light to it, mm.
    """
    left, right = [0.0], [0.0]
    for across, along in stands:
        here = opening.moved(across, along)
        shaded = shade(here, *lens, below, above)
        if len(stands) == 1 or here.x >= lamp.x - SLACK_MM:
            left.append(shaded.left)
        if len(stands) == 1 or here.right <= lamp.right + SLACK_MM:
            right.append(shaded.right)
    return Edges(max(left), max(right), 0.0, 0.0)


def dimmed(place: Place, over: Sequence[Step], wall_mm: float) -> Edges:
    """Share of a wide, even, diffuse lamp's light kept from the outermost of the picture that shows, for each edge.

    View factors from a small level face to a long wall over it (:func:`holders.film.stray.strip_view_factor`, in which
    up and down are alike).

    Parameters
    ----------
    over:
        The profile of what lies over the film, from its ledge up, as for :func:`shade`.
    wall_mm:
        How high the pocket's wall stands above the ledge.
    """
    o, p, r = place.opening, place.picture, place.room
    hidden = {"left": p.x - o.x, "right": o.right - p.right, "head": o.top - p.top, "foot": p.y - o.y}
    aside = {"left": o.x - r.x, "right": r.right - o.right, "head": r.top - o.top, "foot": o.y - r.y}

    def of(edge: str) -> float:
        inside = max(0.0, hidden[edge])
        ends = edge in ("head", "foot")
        corners = [
            (
                inside + (step.back_mm if not ends or step.ends_back_mm is None else step.ends_back_mm),
                step.away_mm,
            )
            for step in over
        ]
        return strip_view_factor([*corners, (inside + aside[edge], wall_mm)])

    return Edges(**{edge: of(edge) for edge in EDGES})


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
