"""A design with what a fitting made of it changed."""

from __future__ import annotations

from dataclasses import replace

from holders.design.model import Design, Fitted


def refitted(design: Design, new: Fitted) -> Design:
    """The design with ``new`` in the place of what a fitting of its kind made, or beside the others."""
    return replace(design, fitted=(*(one for one in design.fitted if type(one) is not type(new)), new))
