"""What the heights of a holder are called, alike on terminal, page, job sheet and drawings; mm."""

from __future__ import annotations

LEDGE = "ledge, above the holder's underside"  # as a caliper finds it on the holder that is made
LEDGE_DRAWN = "drawn ledge"  # the same in the files, where the printer makes another height of it
FEET = "feet stand out"
LEDGE_ABOVE_GLASS = "ledge, above the glass"
PLANE = "plane of the picture, flat film"  # above the glass, as all that follow
SHARPEST = "sharpest height of the scanner"
BAND = "heights that are sharp"
WHOLE = "height of the whole"
