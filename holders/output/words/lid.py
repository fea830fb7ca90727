"""A lid or glass cover on its film, in words: what the film needs, what presses, how far it rises."""

from __future__ import annotations

from typing import TYPE_CHECKING

from holders.facts.rise_names import cold_rise

if TYPE_CHECKING:
    from holders.film.models import LidRest


def lid_words(rest: LidRest, noun: str) -> str:
    """What film of the usual curl needs to lie flat, what the ``noun`` on it presses with, and how far it is lifted."""
    presses = f"weighs {rest.weight_n:.2f} N"
    if rest.held_n > rest.weight_n + 5e-3:
        presses += f" and presses with {rest.held_n:.2f} N"
    words = f"the film needs {rest.needed_n:.2f} N to lie flat, the {noun} {presses}"
    if rest.rise_mm > 0:
        return f"{words}; {cold_rise(noun)} {max(rest.rise_mm, 0.01):.2f} mm"
    if rest.opens_mm is not None:
        return f"{words}: press it down, it also stays {rest.opens_mm:.1f} mm open"
    return f"{words}: it stays down"
