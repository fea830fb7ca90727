"""How much light the opaque holder around the picture shows: it passes none, so what is there is stray."""

from __future__ import annotations

import numpy as np

from holders.measure.finished.look import lit_box
from holders.measure.finished.placement import Placement
from holders.measure.finished.reduce import Reduced

FROM_MM, TO_MM = 0.8, 2.5  # outside the lit area: past the blur of its edge, and still in most scans
CLEAR = 95  # percentile of the lit area's light
FEWEST = 200  # cells of the small picture


def veil_of(reduced: Reduced, placement: Placement) -> float | None:
    """Median light of the holder beside the lit area over the light of the picture's clearest part.

    None where the scan shows too little of the holder, or no sides.
    """
    box = lit_box(placement)
    if box is None:
        return None
    light = reduced.small.mean(axis=2)
    pitch = reduced.small_pitch_mm
    x = (np.arange(light.shape[1]) + 0.5) * pitch[0]
    y = (np.arange(light.shape[0]) + 0.5) * pitch[1]
    out_x = np.maximum(box[0] - x, x - box[2])
    out_y = np.maximum(box[1] - y, y - box[3])
    outside = np.maximum(out_y[:, None], out_x[None, :])
    beside = light[(outside >= FROM_MM) & (outside <= TO_MM)]
    within = light[outside < 0]
    if beside.size < FEWEST or within.size == 0:
        return None
    clear = float(np.percentile(within, CLEAR))
    return float(np.median(beside)) / clear if clear > 0 else None
