"""Whether a holder can be built well enough for a band of sharp heights, and what would help if not."""

from __future__ import annotations

from dataclasses import dataclass
from math import erf, sqrt

from holders.core.errors import InputError

SURE = 0.95
SIGMAS_SURE = 1.96  # standard deviations to either side that hold so much of a normal law


@dataclass(frozen=True)
class JobAdvice:
    """``fits``: the film stays in the band with 95 % probability. ``inside``: that probability. ``room_mm``: half the
    band. ``sigma_mm``: everything that is unsure, as a standard deviation. ``narrow``: not even in the middle of the
    band would the film stay in it with 95 % probability, so no shift alone will do. ``needs_mm``: the band that would
    hold it so. ``steps``: what would help, most first.
    """

    fits: bool
    inside: float
    room_mm: float
    sigma_mm: float
    narrow: bool
    needs_mm: float
    text: str
    steps: tuple[str, ...]


def job_advice(
    *,
    band: tuple[float, float],
    height_mm: float,
    height_sigma_mm: float,
    film_height_mm: float,
    stack_sigma_mm: float,
    film_spread_mm: float = 0.0,
    frame_spread_mm: float = 0.0,
    largest: str = "",
    printed: bool = False,
    held: bool = False,
    emulsion_down: bool = False,
) -> JobAdvice:
    """Judge a holder against a measured band.

    Parameters
    ----------
    band, height_mm, height_sigma_mm:
        The measured band (low, high), best height and its sigma, mm above the glass.
    film_height_mm, stack_sigma_mm:
        Height at which the holder puts the film, and the standard deviation of its tolerance stack.
    film_spread_mm:
        How far the film's surface rises or sags over the picture, highest minus lowest.
    frame_spread_mm:
        How far the frame under it hangs between its feet over the picture, likewise.
    largest:
        What in the stack is least sure, in words, to be named.
    printed, held, emulsion_down:
        What the holder is already (``held``: a lid, a glass cover or a channel), so that none of it is advised.

    Raises
    ------
    InputError
        An empty band, a negative spread.
    """
    low, high = band
    if not low < high:
        raise InputError("band", band, "give the low and the high end of the band")
    told = (height_sigma_mm, stack_sigma_mm, film_spread_mm, frame_spread_mm)
    if min(told) < 0:
        raise InputError("sigma", told, "give zero or more")
    sigma = max(sqrt(height_sigma_mm**2 + stack_sigma_mm**2), 1e-9)
    spread = film_spread_mm + frame_spread_mm  # the lowest of both may meet
    half_film = 0.5 * spread
    inside = _phi((high - half_film - film_height_mm) / sigma) - _phi(
        (low + half_film - film_height_mm) / sigma
    )
    inside = max(0.0, inside)
    room = 0.5 * (high - low)
    fits = inside >= SURE
    narrow = 2.0 * _phi((room - half_film) / sigma) - 1.0 < SURE
    needs = 2.0 * SIGMAS_SURE * sigma + spread
    ways = _ways(printed, held, emulsion_down)
    steps = () if fits else _steps(low, high, film_height_mm, told, ways)
    if largest and steps:
        steps = (f"the least sure part of the stack is: {largest}", *steps)
    text = (
        f"The band of {high - low:.2f} mm holds the film with {100 * inside:.0f} % probability "
        f"(uncertainty {sigma:.3f} mm, film {told_even(film_spread_mm, frame_spread_mm)}, "
        f"best height {height_mm:.2f} mm, film at {film_height_mm:.2f} mm)."
    )
    if not fits:
        text += " That is too little"
        text += (
            f": the band is narrower than the tolerances of this holder, which need {needs:.2f} mm."
            if narrow
            else ": the band is wide enough for this holder's tolerances, but the film does not lie in its middle."
        )
    return JobAdvice(fits, inside, room, sigma, narrow, needs, text, steps)


def _phi(z: float) -> float:
    return 0.5 * (1.0 + erf(z / sqrt(2.0)))


def told_even(film_mm: float, frame_mm: float) -> str:
    """How uneven the picture lies, in words."""
    frame = f" and its frame by {frame_mm:.2f} mm" if frame_mm >= 0.005 else ""
    return f"uneven by {film_mm:.2f} mm{frame}"


def _ways(printed: bool, held: bool, emulsion_down: bool) -> tuple[str, str]:
    """What makes the stack surer and what holds the film flatter, as far as this holder does not have it."""
    first = "measure the finished ledge" if printed else "measure the stock's thickness"
    flatter = [
        *([] if held else ["a lid frame or a glass cover"]),
        "a smaller window",
        "film of less curl",
        *([] if emulsion_down else ["film laid emulsion down"]),
    ]
    return (
        f"{first} and shim the feet: make them adjustable and set them by a scan",
        f"hold the film flatter: {', '.join(flatter[:-1])} or {flatter[-1]}",
    )


def _steps(
    low: float,
    high: float,
    film: float,
    shares: tuple[float, float, float, float],
    ways: tuple[str, str],
) -> tuple[str, ...]:
    """What would help, in the order of how much each one costs."""
    measured, stack, flat, frame = shares
    off = abs(film - 0.5 * (low + high))
    costs = [
        (off, f"shift the ledge by {0.5 * (low + high) - film:+.2f} mm to the middle of the band"),
        (2.0 * stack, ways[0]),
        (
            2.0 * measured,
            "measure the bed again: more scans, a longer or gentler slope, a target with finer detail",
        ),
        (0.5 * frame, "let the frame hang less: more feet, a thicker frame or a stiffer material"),
        (0.5 * flat, ways[1]),
    ]
    ranked = [text for cost, text in sorted(costs, reverse=True) if cost > 0.02 * (high - low)]
    return (*ranked, "accept a coarser print or less enlargement, which widens the band")
