"""A scan shown back small, so that its owner sees what was measured: never more than some rows in memory."""

from __future__ import annotations

import base64
import io
from pathlib import Path

import numpy as np

from holders.measure.scan.model import to_float
from holders.measure.scan.opened import open_scan

LONGEST_PX = 900


def thumbnail(path: str | Path) -> tuple[str, bool]:
    """The scan as a small grey PNG in base64, the right way round, and whether it lies (is wider than high).

    Rows and columns are picked, not averaged: it is a look at the scan, not a measurement.

    Raises ``holders.core.errors.InputError`` for a file that is no scan.
    """
    from PIL import Image  # noqa: PLC0415 - only where a picture is wanted

    scan = open_scan(path)
    try:
        info = scan.info
        step = max(1, -(-max(info.width, info.height) // LONGEST_PX))
        columns = [(0, info.width)]
        rows = [
            to_float(scan.read((row, row + 1), columns)[:, ::step, :3], info).mean(axis=2)
            for row in range(0, info.height, step)
        ]
    finally:
        scan.close()
    light = _upright(np.concatenate(rows), info.orientation)
    light = np.clip(light / max(float(np.quantile(light, 0.995)), 1e-3), 0, 1)
    out = io.BytesIO()
    Image.fromarray((255 * light).astype(np.uint8)).save(out, "PNG")
    return base64.b64encode(out.getvalue()).decode("ascii"), light.shape[1] >= light.shape[0]


def _upright(light: np.ndarray, orientation: int) -> np.ndarray:
    """As a viewer shows it (TIFF 6.0, tag 274 Orientation)."""
    turned = {
        2: light[:, ::-1], 3: light[::-1, ::-1], 4: light[::-1], 5: light.T, 6: light.T[:, ::-1],
        7: light[::-1, ::-1].T, 8: light.T[::-1],
    }  # fmt: skip
    return turned.get(orientation, light)
