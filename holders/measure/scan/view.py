"""A scan looked at along its slope: one axis runs up the target, the other across it, whichever way it lies."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np

from holders.core.errors import InputError
from holders.measure.scan.model import Pixels, Scan, Span, to_float
from holders.measure.scan.spectra import F32

_RIGHT_TO_LEFT = (2, 3, 7, 8)  # orientation codes whose first column is shown on the right or at the bottom
MOST_LINES = 512
_UPWARDS = (3, 4, 6, 7)  # whose first row is shown at the bottom or on the right


@dataclass(frozen=True)
class View:
    """Scan with axes *along* (the long one) and *across*.

    ``flipped``: the displayed left or top end is at the last pixel of the stored long axis.
    """

    scan: Scan
    by_columns: bool
    flipped: bool
    along: int
    across: int
    channels: int
    pitch_mm: float

    def raw(self, along: Sequence[Span], across: Sequence[Span]) -> Pixels:
        """Pixels as stored at (across, along, channels), alpha left out; spans of either axis side by side."""
        if self.by_columns:
            parts, axis = [self.scan.read(c, along) for c in across], 0
        else:
            parts, axis = [np.swapaxes(self.scan.read(a, across), 0, 1) for a in along], 1
        whole = parts[0] if len(parts) == 1 else np.concatenate(parts, axis=axis)
        return whole[:, :, : self.channels]

    def light(self, raw: Pixels) -> F32:
        """Pixels of ``raw`` as fractions of full scale."""
        return to_float(raw, self.scan.info)

    def grey(self, along: Sequence[Span], across: Sequence[Span]) -> F32:
        """Mean light of the channels at (across, along)."""
        return np.asarray(self.light(self.raw(along, across)).mean(axis=2, dtype=np.float32))

    @property
    def lines_at_once(self) -> int:
        """How many neighbouring pixels along the file's rows are decoded together when one is wanted."""
        return min(self.scan.info.row_step, MOST_LINES)


def turned(view: View) -> View:
    """The same scan looked at along its other axis."""
    info = view.scan.info
    by_columns = not view.by_columns
    own, other = (info.dpi_x, info.dpi_y) if view.by_columns else (info.dpi_y, info.dpi_x)
    pitch = view.pitch_mm * own / other if own and other else view.pitch_mm
    flipped = info.orientation in (_RIGHT_TO_LEFT if by_columns else _UPWARDS)
    return View(view.scan, by_columns, flipped, view.across, view.along, view.channels, pitch)


def look(scan: Scan, dpi: float | None) -> View:
    """Lay the axes; ``dpi`` overrides what the file says.

    Raises
    ------
    InputError
        No resolution in the file and none given, or one that no bed has.
    """
    info = scan.info
    by_columns = info.width >= info.height
    told = dpi if dpi is not None else (info.dpi_x if by_columns else info.dpi_y)
    if told is None:
        raise InputError(
            "--dpi",
            "(missing)",
            f"{Path(info.path).name} does not say its resolution: give the pixels per inch that it was scanned at, "
            "such as 2400",
        )
    if not 72.0 <= told <= 25600.0:
        raise InputError("--dpi", told, "no bed scans at this; give the scan's true pixels per inch")
    flipped = info.orientation in (_RIGHT_TO_LEFT if by_columns else _UPWARDS)
    along, across = (info.width, info.height) if by_columns else (info.height, info.width)
    channels = {2: 1, 4: 3, 5: 3}.get(info.channels, info.channels)
    return View(scan, by_columns, flipped, along, across, channels, 25.4 / told)
