"""What a measured bed is like, and what a holder must do about it, in words."""

from __future__ import annotations

from collections.abc import Sequence
from typing import TYPE_CHECKING

import numpy as np

from holders.measure.bed.colours import NAMES, colour_shapes, colours_of
from holders.measure.bed.use import foot_corrections

if TYPE_CHECKING:
    from holders.measure.bed.record import Measured
    from holders.measure.bed.shape import BedShape

WORTH_MM = 0.05  # a difference below this needs no shim
KINDS = {
    "level": "level, as far as these measurements show",
    "tilted": "tilted",
    "curved": "curved",
}


def box_of(places: Sequence[Measured]) -> tuple[float, float, float, float]:
    """What the places span: least x, least y, greatest x, greatest y (mm)."""
    x, y = [p.x_mm for p in places], [p.y_mm for p in places]
    return min(x), min(y), max(x), max(y)


def shape_words(places: Sequence[Measured], shape: BedShape) -> tuple[str, ...]:
    """The shape with its size, and how sure it is."""
    box = box_of(places)
    height, sigma, _ = shape.over(box)
    told = [f"The height of best focus is {KINDS[shape.kind]}: {height:.2f} ± {sigma:.2f} mm on average."]
    tilt_x, tilt_y, real = shape.slope(box)
    if real:
        sx, sy = (1000 * s for s in shape.slope_sigma(box))
        told.append(
            f"Tilt: {1000 * tilt_x:+.2f} ± {sx:.2f} mm per m across, {1000 * tilt_y:+.2f} ± {sy:.2f} along."
        )
    if shape.kind == "curved":
        bulge, doubt = shape.bulge(box)
        way = "higher" if bulge > 0 else "lower"
        told.append(f"Curvature: the middle lies {abs(bulge):.2f} ± {doubt:.2f} mm {way} than the corners.")
    if shape.undirected:
        told.append(
            "Whether it curves across, along or both cannot be seen from these places: measure the middle of a long "
            "and of a short side too."
        )
    told.append(
        f"Places repeat to {shape.repeat_mm:.3f} mm beyond their own sigmas; a level bed would look as uneven as this "
        f"with probability {shape.chance_if_level:.2g}."
    )
    return tuple(told)


def colour_words(places: Sequence[Measured]) -> tuple[str, ...]:
    """How the colours focus, and what to do about it; nothing where no place shows them."""
    seen = colours_of(places)
    if seen is None:
        return ()
    each = ", ".join(
        f"{name} {offset:+.3f} ± {sigma:.3f} mm"
        for name, offset, sigma in zip(NAMES, seen.offset_mm, seen.sigma_mm, strict=True)
    )
    told = [f"Colours focus beside their mean: {each} ({seen.places} places)."]
    told += _own_heights(places)
    if seen.apart_mm >= WORTH_MM and seen.apart_mm > 2 * max(seen.sigma_mm):
        at = int(np.argmin(np.abs(seen.offset_mm)))
        told.append(
            f"No holder brings colours {seen.apart_mm:.2f} mm apart together: for colour film the mean is right; of "
            f"black-and-white film keep one channel, best {NAMES[at]}, which lies nearest to it "
            f"({seen.offset_mm[at]:+.3f} mm)."
        )
    return tuple(told)


def _own_heights(places: Sequence[Measured]) -> list[str]:
    """Each colour's height over the glass, and where colours lie furthest apart; nothing where that is not known."""
    found = colour_shapes(places)
    if found is None:
        return []
    box = box_of([p for p in places if p.colours_mm is not None])
    each = ", ".join(
        f"{name} {height:.2f} ± {sigma:.2f} mm ({shape.kind})"
        for name, shape in zip(NAMES, found.shapes, strict=True)
        for height, sigma, _ in (shape.over(box),)
    )
    told = [f"Each colour has its own height over the glass: {each}."]
    x, y = (a.ravel() for a in np.meshgrid(np.linspace(box[0], box[2], 9), np.linspace(box[1], box[3], 9)))
    apart = found.apart(x, y)
    worst, best = int(np.argmax(apart)), int(np.argmin(apart))
    doubt = max(float(shape.at(x[worst], y[worst])[1][0]) for shape in found.shapes)
    if apart[worst] - apart[best] >= max(WORTH_MM, 2.0 * doubt):
        told.append(
            f"They lie {apart[best]:.2f} mm apart near x {x[best]:.0f}, y {y[best]:.0f} and {apart[worst]:.2f} mm near "
            f"x {x[worst]:.0f}, y {y[worst]:.0f}: put the windows of colour film where they lie closer."
        )
    return told


def holder_words(places: Sequence[Measured], shape: BedShape) -> tuple[str, ...]:
    """What a holder must do about it."""
    box = box_of(places)
    corners = ((box[0], box[1]), (box[2], box[1]), (box[0], box[3]), (box[2], box[3]))
    lifts, real = foot_corrections(places, corners, box)
    told = []
    if real and max(lifts) - min(lifts) >= WORTH_MM:
        high = ", ".join(
            f"{lift - min(lifts):.2f} mm at x {x:.0f}, y {y:.0f}"
            for lift, (x, y) in zip(lifts, corners, strict=True)
            if lift - min(lifts) >= WORTH_MM
        )
        told.append(
            f"A holder this large must stand higher at its corners by: {high}. `make --bed-record` builds that "
            "into the feet."
        )
    _, _, uneven = shape.over(box)
    if shape.kind == "curved":
        bands = [p.band_mm for p in places if p.band_mm is not None]
        band = f", of a band of ± {min(bands):.2f} mm" if bands else ""
        told.append(
            f"A flat film cannot follow the curvature: over all of this it is out by {uneven:.2f} mm (root mean "
            f"square){band}. A smaller film placed where the map is even loses less."
        )
    if not told:
        told.append("A holder needs to do nothing about it: give all feet one height.")
    return tuple(told)
