"""Which parts of a holder are frame and which are lid."""

from __future__ import annotations

from holders.design.model import Design, Part, Role


def is_lid(part: Part) -> bool:
    """Whether a part is a lid (that lies on the film) and no part of the frame below it."""
    return part.role is Role.LID


def frame_parts(design: Design) -> tuple[Part, ...]:
    """All parts that are neither lid nor turn button."""
    return tuple(part for part in design.parts if part.in_frame)


def lid_parts(design: Design) -> tuple[Part, ...]:
    """The lids."""
    return tuple(part for part in design.parts if is_lid(part))
