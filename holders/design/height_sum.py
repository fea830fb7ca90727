"""The heights of a finished design, added up in one place."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Heights:
    """The height sum of one holder, mm: the one place where heights of ledge and picture are added up.

    ``ledge_height`` is measured from the holder's underside and is what the drawing and the slabs have. A printer may
    make it higher or lower by ``print_offset`` (a test piece shows by how much); ``ledge_as_made`` is what a caliper
    then reads, ``ledge_above_glass`` where film really rests, and ``sharp_plane`` where the picture of a flat film is.
    """

    foot_protrusion: float
    ledge_height: float  # above the underside, as drawn
    ledge_wanted: float  # the same before rounding to layers or stock
    optics: float  # what the film's own thickness adds: emulsion up t/n, a mount's inner plane
    focus: float
    focus_sigma: float
    band_low: float
    band_high: float
    step: float  # the unit heights come in: a printer layer; 0 for stock
    print_offset: float = 0.0  # how much higher than drawn the ledge comes out
    print_offset_sigma: float = 0.0  # its standard uncertainty, from the readings of the test piece
    glue: float = 0.0  # of the ledge height, what the glue lines between sheets take
    film_reach: tuple[float, float] = (0.0, 0.0)  # heights of the film above its ledge that it was chosen for

    @property
    def drawn_ledge(self) -> float:
        """Height of the ledge above the glass as drawn, mm: for geometry only."""
        return self.foot_protrusion + self.ledge_height

    @property
    def ledge_as_made(self) -> float:
        """Height of the ledge above the underside as it comes out, mm: what a caliper reads."""
        return self.ledge_height + self.print_offset

    @property
    def ledge_above_glass(self) -> float:
        """Height of the ledge above the glass as it comes out, mm."""
        return self.foot_protrusion + self.ledge_as_made

    @property
    def sharp_plane(self) -> float:
        """Height above the glass at which the lens sees the picture of a flat film, mm."""
        return self.ledge_above_glass + self.optics

    @property
    def rounding(self) -> float:
        """What layers or sheets add to the ledge that was wanted, mm."""
        return self.ledge_height - self.ledge_wanted

    @property
    def aimed_off(self) -> float:
        """How far the plane was aimed above the focus height on purpose, to meet a sagging film, mm."""
        return self.sharp_plane - self.focus - self.rounding

    @property
    def half_band(self) -> float:
        """Half the width of the focus band, mm."""
        return (self.band_high - self.band_low) / 2
