"""A measured surface beside a preset: what the preset knows of it, and what a scan is then judged against."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

from holders.face.shared.expected import expected_of
from holders.study import Study


def with_record(known: Any, bed_record: Path) -> Any:
    """What is known with the lens's distance and distortion as they were measured on this bed, if they were."""
    from holders.measure.bed.lens import lens_distance
    from holders.measure.bed.record import load_record

    kept = load_record(bed_record)
    known = replace(known, distortion=kept.distortion)
    if known.lens_distance_mm is not None:
        return known
    measured = lens_distance(kept.lens)
    return (
        known if measured is None else replace(known, lens_distance_mm=measured[0], lens_sigma_mm=measured[1])
    )


def known_with(known: Any, studied: Study) -> Any:
    """What a preset says of ledge, lens, sharp band and expected surface, where nothing else says it."""
    heights, lens = studied.design.heights, studied.job.bed.lens_distance_mm
    given = known.lens_distance_mm  # by an option, or measured on this bed
    return replace(
        known,
        ledge_mm=known.ledge_mm if known.ledge_mm is not None else heights.sharp_plane,
        lens_distance_mm=given if given is not None else lens,
        lens_sigma_mm=known.lens_sigma_mm if given is not None else known.usual_lens_sigma(lens),
        lens_measured=given is not None,
        band_mm=(heights.band_low, heights.band_high),
        least_gap_mm=studied.film.least_gap_mm + heights.optics,
        predicted=predicted_of(studied),
    )


def predicted_of(studied: Study) -> Any:
    """What the plate model expects of the first window, as a scan shows it; None where there is no film surface."""
    from holders.measure.surface.predicted import Predicted

    expected = expected_of(studied)
    if expected.heights_mm is None:
        return None
    above = expected.heights_mm - studied.design.heights.sharp_plane
    return Predicted(expected.heights_x_mm, expected.heights_y_mm, above, expected.window_mm)


def with_measured(expected: Any, found: Any) -> Any:
    """What a scan should show, with the measured surface in place of the predicted one.

    Places that were not measured take the height of the nearest that was. Without any, ``expected`` comes back.
    """
    import numpy as np
    from scipy.ndimage import distance_transform_edt

    if not found.known.any():
        return expected
    nearest = distance_transform_edt(~found.known, return_distances=False, return_indices=True)
    x, y = found.x_mm - found.x_mm[0], found.y_mm - found.y_mm[0]
    wide, high = expected.window_mm
    return replace(
        expected,
        heights_x_mm=x * wide / float(np.ptp(x)),
        heights_y_mm=y * high / float(np.ptp(y)),
        heights_mm=found.z_mm[tuple(nearest)],
    )
