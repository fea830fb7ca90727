"""Whether two scans of a session show the same picture, the same way round or another."""

from __future__ import annotations

import base64
import binascii
from collections.abc import Callable

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

from holders.measure.finished.look import lit_box
from holders.measure.finished.placement import Placement
from holders.measure.finished.reduce import Reduced

CELLS = 24  # each way
RIM = 0.06  # of the lit area, left out on each side: the clear border is alike on every sheet
WIDE = 3.0  # cells: what is broader is light falling off, sky and land, alike on many sheets
LEAST_LIGHT = 0.003  # fraction of full scale
SAME = 0.85  # correlation
NOT_FLAT = (
    0.01  # of a logarithm to the base ten, root mean square: below it there is no picture to know again
)
WAYS: dict[str, Callable[[NDArray[np.float64]], NDArray[np.float64]]] = {
    "as it is": lambda a: a,
    "mirrored": lambda a: a[:, ::-1],
    "upside down": lambda a: a[::-1, ::-1],
    "mirrored and upside down": lambda a: a[::-1],
}  # fmt: skip


def look_of(reduced: Reduced, placement: Placement) -> str:
    """What the picture looks like, in some 770 letters; empty for a scan that shows no sides, or no picture."""
    box = lit_box(placement)
    if box is None:
        return ""
    pitch = reduced.small_pitch_mm
    wide, high = box[2] - box[0], box[3] - box[1]
    x0, x1 = (round((box[0] + share * wide) / pitch[0]) for share in (RIM, 1 - RIM))
    y0, y1 = (round((box[1] + share * high) / pitch[1]) for share in (RIM, 1 - RIM))
    part = reduced.small[max(y0, 0) : y1, max(x0, 0) : x1].mean(axis=2)
    if min(part.shape) < CELLS:
        return ""
    density = -np.log10(np.maximum(part, LEAST_LIGHT))
    cells = np.stack([
        [piece.mean() for piece in np.array_split(row, CELLS, axis=1)]
        for row in np.array_split(density, CELLS, axis=0)
    ])  # fmt: skip
    detail = cells - ndimage.gaussian_filter(cells, WIDE, mode="nearest")
    spread = float(detail.std())
    if spread < NOT_FLAT:
        return ""
    return base64.b64encode(
        np.clip(np.round(32 * detail / spread), -127, 127).astype(np.int8).tobytes()
    ).decode()


def same_picture(one: str, other: str) -> str | None:
    """How the second shows the picture of the first (a key of ``WAYS``); None where it is another picture."""
    a, b = _cells(one), _cells(other)
    if a is None or b is None:
        return None
    found = {way: float(np.corrcoef(a.ravel(), turn(b).ravel())[0, 1]) for way, turn in WAYS.items()}
    best = max(found, key=lambda way: found[way])
    return best if found[best] >= SAME else None


def _cells(look: str) -> NDArray[np.float64] | None:
    try:
        found = np.frombuffer(base64.b64decode(look, validate=True), np.int8).astype(float)
    except (binascii.Error, ValueError):
        return None
    return found.reshape(CELLS, CELLS) if found.size == CELLS * CELLS and found.std() > 0 else None
