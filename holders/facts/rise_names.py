"""What numbers are called that are easily taken for one another: of a lid that film lifts, and of a frame that bows.

Cold is the film in the room, warm the film that has dried on the warm bed; "under the picture" marks a mean over it,
"at most" a bound.
"""

from __future__ import annotations

COLD_RISE = "cold {noun} rise"  # of the usual film, or of one whose curl stands beside it
WARM_RISE = "warm {noun} rise"  # of film with nothing on its back
RAIL_BOW = "rail bow at most"  # between what presses a lid; not in the chance
COLD_SAG = "cold frame sag under the picture"
WARM_BOW = "warm frame bow under the picture"  # by how much more than cold; in the chance
MOST_WARM_BOW = "warm frame bow at most"  # anywhere along the ledge
MOST_DAMP_BOW = "damp frame bow at most"


def cold_rise(noun: str) -> str:
    """How far the film lifts what lies on it in the room; ``noun`` is that lid or cover."""
    return COLD_RISE.format(noun=noun)


def warm_rise(noun: str) -> str:
    """How far the film with nothing on its back lifts what lies on it on the warm bed."""
    return WARM_RISE.format(noun=noun)
