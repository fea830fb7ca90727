"""Which parts of a holder are frame and which are lid."""

from __future__ import annotations

from holders.design.model import Design, Part, Rect, Role


def is_lid(part: Part) -> bool:
    """Whether a part is a lid (that lies on the film) and no part of the frame below it."""
    return part.role is Role.LID


def frame_parts(design: Design) -> tuple[Part, ...]:
    """All parts that are neither lid nor catch."""
    return tuple(part for part in design.parts if part.in_frame)


def lid_parts(design: Design) -> tuple[Part, ...]:
    """The lids."""
    return tuple(part for part in design.parts if is_lid(part))


def own_lids(design: Design) -> tuple[Part, ...]:
    """The lids, or pieces of them, over the kind of film that is looked at."""
    lids = lid_parts(design)
    if not design.kinds:
        return lids
    places = [window.pocket for window in design.mine]
    return tuple(part for part in lids if any(place.overlaps(_box(part)) for place in places))


def _box(part: Part) -> Rect:
    x0, y0, x1, y1 = part.box
    return Rect(x0, y0, x1 - x0, y1 - y0)
