"""Where the picture lies on average: the ledge, what it is seen through, the film's sag and the frame's, added up."""

from __future__ import annotations

from dataclasses import dataclass

from holders.design.model import Design
from holders.workshop.budget.framed import Framed


@dataclass(frozen=True, slots=True)
class Middle:
    """The sum for film of the usual curl in the room, averaged over its picture, mm above the glass.

    ``bow_mm`` is how far warmth lifts the frame under the picture at most; half of it is counted, as the holder is
    scanned anywhere between cold and warm.
    """

    ledge_mm: float
    optics_mm: float
    sag_mm: float
    frame_sag_mm: float
    bow_mm: float

    @property
    def height_mm(self) -> float:
        """Where the picture lies, between cold and warm."""
        return self.ledge_mm + self.optics_mm - self.sag_mm - self.frame_sag_mm + self.bow_mm / 2


def middle(design: Design, under: Framed | None) -> Middle:
    """The sum for one design; ``under`` is what its frame does, None where that is not known and taken as nothing."""
    frame, bow = (0.0, 0.0) if under is None else (under.mean_mm, under.lift_mm)
    sag = 0.0 if design.sag is None else design.sag.mean_mm
    return Middle(design.heights.ledge_above_glass, design.heights.optics, sag, frame, bow)
