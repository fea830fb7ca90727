"""Heights that a slicer can make: the first layer, then whole layers of their own height."""

from __future__ import annotations

import math

from holders.facts.models import Printer

EVEN = 1e-9


def printed_height(printer: Printer, wish_mm: float, pieces: int = 1) -> float:
    """The height nearest to a wish that printed parts stacked on one another can have, mm.

    Every part begins on the plate, so that each brings a first layer of its own.

    Parameters
    ----------
    printer:
        Its layer height and the height of its first layer, mm.
    wish_mm:
        The height wished for, above the plate (of the lowest part).
    pieces:
        How many printed parts make up the height.
    """
    first = pieces * printer.first_layer_mm
    thick = round(first / printer.layer_mm)  # ties fall as they do for a first layer of usual height
    more = max(0, round((wish_mm - first) / printer.layer_mm + thick) - thick)
    return round(first + more * printer.layer_mm, 6)


def printed_below(printer: Printer, most_mm: float) -> float:
    """The greatest printed height of at most ``most_mm``, mm; 0 where not even the first layer fits."""
    if most_mm < printer.first_layer_mm - EVEN:
        return 0.0
    more = math.floor((most_mm - printer.first_layer_mm) / printer.layer_mm + EVEN)
    return round(printer.first_layer_mm + more * printer.layer_mm, 6)


def layers_in(printer: Printer, height_mm: float) -> float:
    """How many layers a height is made of, the first one counted; a broken number lies between two layers."""
    return 1.0 + (height_mm - printer.first_layer_mm) / printer.layer_mm


def least_height(printer: Printer, layers: int) -> float:
    """The height of so many layers, the first one counted, mm."""
    return round(printer.first_layer_mm + (layers - 1) * printer.layer_mm, 6)
