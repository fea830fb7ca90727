"""What a measured bed does to a design: the focus height at the window, and feet that follow a tilt."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import replace

from holders.design.draft.places import Layout
from holders.design.draft.stands import lit_boxes
from holders.design.height.heights import foot_protrusion, foot_recess
from holders.design.model import Foot
from holders.design.plan.layout import lay_out
from holders.measure.bed.record import Measured
from holders.measure.bed.use import Box, focus_over, foot_corrections
from holders.measure.slope.result import LEAST_MM
from holders.preset.resolve import Job

WORTH_MM = 0.05  # an unevenness of the feet below this is not worth a shim


def measured_bed(job: Job, places: Sequence[Measured]) -> Job:
    """The job with the bed's focus height, its uncertainty and its band as measured where the windows lie."""
    if not places:
        return job
    height, sigma = focus_over(places, box_of(lay_out(job)))
    found = {"focus_height_mm": height, "focus_sigma_mm": max(sigma, LEAST_MM)}
    bands = [place.band_mm for place in places if place.band_mm is not None]
    if bands:  # the narrowest, as the holder must be sharp everywhere
        found["focus_band_mm"] = min(bands)
    return replace(job, bed=job.bed.measured(**found))


def middle_of(layout: Layout) -> tuple[float, float]:
    """Middle of all windows on the bed."""
    left, foot, right, head = box_of(layout)
    return (left + right) / 2, (foot + head) / 2


def box_of(layout: Layout) -> Box:
    """What all windows together take of the bed: least x, least y, greatest x, greatest y."""
    boxes = [place.opening for place in layout.places]
    if layout.moves.count > 1:  # moved between passes: what is scanned, wherever the holder lies
        lit = (lit_boxes(opening, layout.lamp, layout.moves.stands) for opening in boxes)
        boxes = [box for each in lit for box in each if box is not None]
    return (
        min(b.x for b in boxes), min(b.y for b in boxes), max(b.right for b in boxes), max(b.top for b in boxes)
    )  # fmt: skip


def followed(
    job: Job, layout: Layout, stands: tuple[Foot, ...], places: Sequence[Measured]
) -> tuple[tuple[Foot, ...], tuple[str, ...]]:
    """Feet that follow a significant tilt, and in words what cannot be built in.

    A printed holder with recesses has them less deep where it must stand higher (in whole layers), deeper where it
    must stand lower, though never so deep that a foot no longer stands out; any other is to be shimmed by hand.
    """
    if not places:
        return stands, ()
    spots = [(f.x, f.y) for f in stands] or _corners(layout)
    wanted, tilted = foot_corrections(places, spots, box_of(layout))
    if not tilted or max(wanted) - min(wanted) < WORTH_MM:
        return stands, ()
    if stands and job.printer is not None:
        layer, first, most = job.printer.layer_mm, job.printer.first_layer_mm, foot_recess(job)
        # at its deepest a foot still stands out by a layer, at its highest it stands on the flat underside; a recess
        # between the two cannot be shallower than the first layer
        lowest = min(0, math.ceil(1 - foot_protrusion(job) / layer - 1e-9))
        lifts = [round(max(lowest, round(w / layer)) * layer, 6) for w in wanted]
        lifts = [lift if most - lift >= first - 1e-9 else most for lift in lifts]
        if max(lifts) - min(lifts) < layer / 2:
            return stands, (
                f"the bed is tilted by {max(wanted) - min(wanted):.2f} mm over the feet, less than layers of "
                f"{layer:g} mm can follow; shim the holder by hand if that is much of the focus band",
            )
        raised = tuple(replace(foot, raise_mm=lift) for foot, lift in zip(stands, lifts, strict=True))
        words = f"the bed is tilted: the feet differ by {max(lifts) - min(lifts):.2f} mm to follow it"
        short = max(abs(w - lift) for w, lift in zip(wanted, lifts, strict=True))
        if short > layer / 2 + WORTH_MM:
            words += f"; {short:.2f} mm more would need thicker feet set deeper"
        return raised, (words,)
    lift = [w - min(wanted) for w in wanted]
    words = ", ".join(
        f"{up:.2f} mm at x {x:.0f}, y {y:.0f}"
        for up, (x, y) in zip(lift, spots, strict=True)
        if up >= WORTH_MM
    )
    return stands, (
        f"the bed is tilted: shim the holder by {words}; that lifts its middle by {-min(wanted):.2f} mm, so take the "
        "ledge that much lower",
    )


def _corners(layout: Layout) -> list[tuple[float, float]]:
    o = layout.outer
    return [(o.x, o.y), (o.right, o.y), (o.x, o.top), (o.right, o.top)]
