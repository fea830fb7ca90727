"""What the heights of a holder are called, alike on page and job sheet; mm."""

from __future__ import annotations

LEDGE = "ledge, above the holder's underside"  # as a caliper finds it on the holder that is made
FEET = "feet stand out"
LEDGE_ABOVE_GLASS = "ledge, above the glass"
PLANE = "plane of the picture, flat film"  # above the glass, as all that follow
SHARPEST = "sharpest height of the scanner"
BAND = "heights that are sharp"
WHOLE = "height of the whole"
