"""How the film lies in its holder, in one sentence."""

from __future__ import annotations

from holders.design.held.model import Filmed
from holders.design.model import Design

FLAT_MM = 0.005


def film_words(design: Design, film: Filmed) -> str:
    """Between which heights the film lies, how far it sags or bows, how much is sharp, how far it stays off the glass.

    Raises ``ValueError`` when no film surface is known.
    """
    sag = film.sag
    if sag is None:
        raise ValueError("no film surface is known")
    h = design.heights
    low, high = sag.reach_mm if sag.reach_mm is not None else (-sag.max_mm, 0.0)
    moves = []
    if low < -FLAT_MM:
        moves.append(f"sags at most {-low:.2f} mm below its ledge")
    if high > FLAT_MM:
        moves.append(
            f"bows up at most {high:.2f} mm above it"
            if moves
            else f"bows up at most {high:.2f} mm above its ledge"
        )
    shape = " and ".join(moves) or "lies flat"
    borne = design.seen_above_mm != 0
    what, bed = ("glass with the film", "scanner's glass") if borne else ("film", "glass")
    return (
        f"The {what} {shape}; {100 * sag.in_band_fraction:.1f} % of the picture is sharp, if film and focus "
        f"height are exactly as supposed (from {h.band_low:.2f} to "
        f"{h.band_high:.2f} mm above the {bed}), and the {what} stays {sag.min_gap_mm:.2f} mm away from the {bed} (at "
        f"least {sag.least_gap_mm:.2f} mm against rings and dust)."
    )
