"""PNG and JPEG scans. Their coding has no pieces to be had alone, so they are read whole and must be small."""

from __future__ import annotations

import warnings
from collections.abc import Sequence

import numpy as np

from holders.core.errors import InputError
from holders.measure.scan.model import Pixels, ScanInfo, Span, check_size

MAX_BYTES = 192 * 2**20


class PlainScan:
    """A PNG or JPEG. See ``holders.measure.scan.model.Scan``."""

    def __init__(self, path: str, file_bytes: int) -> None:
        from PIL import Image  # noqa: PLC0415 - only where such a file comes

        try:
            with warnings.catch_warnings():
                # what is wrong is judged below and told in words of our own
                warnings.simplefilter("ignore")
                with Image.open(path, formats=("PNG", "JPEG")) as picture:
                    self.info = _info(path, file_bytes, picture)
                    data = np.asarray(picture.convert("RGB") if picture.mode == "P" else picture)
        except InputError:
            raise
        except Exception as err:  # Pillow raises many kinds on broken files, none of them worth a traceback
            raise InputError(
                "scan", path, f"the picture is broken or cut short ({type(err).__name__}); scan again as TIFF"
            ) from err
        if data.dtype not in (np.dtype(np.uint8), np.dtype(np.uint16)):
            data = np.clip(data, 0, 65535).astype(np.uint16)
        self._data = data if data.ndim == 3 else data[:, :, None]

    def read(self, rows: Span, cols: Sequence[Span]) -> Pixels:
        """See ``Scan.read``."""
        parts = [self._data[rows[0] : rows[1], a:b] for a, b in cols]
        return parts[0] if len(parts) == 1 else np.concatenate(parts, axis=1)

    def close(self) -> None:
        """Let the pixels go."""
        self._data = self._data[:0]


def _info(path: str, file_bytes: int, picture: object) -> ScanInfo:
    from PIL import Image  # noqa: PLC0415

    assert isinstance(picture, Image.Image)
    channels = {"L": 1, "LA": 2, "RGB": 3, "RGBA": 4, "P": 3, "I;16": 1, "I": 1}.get(picture.mode)
    if channels is None:
        raise InputError(
            "scan", path, f"pictures of kind {picture.mode} are not read; save it as grey or RGB"
        )
    width, height = picture.size
    bits = 16 if picture.mode.startswith("I") else 8
    check_size(path, width, height, channels, bits)
    if width * height * channels * bits // 8 > MAX_BYTES:
        raise InputError(
            "scan", path, "too large to be read whole, which PNG and JPEG force; save it as TIFF"
        )
    lossy = picture.format == "JPEG"
    told = picture.info.get("dpi")
    dpi = (float(told[0]), float(told[1])) if told and min(told) > 1.5 else (None, None)
    note = (
        "JPEG compression removes fine detail and adds its own: what is measured is less sure; scan to TIFF"
        if lossy
        else "PNG is read at 8 bits a channel for colour and as a whole; TIFF is better for large scans"
    )
    code = picture.getexif().get(274, 1)
    return ScanInfo(
        path=path,
        width=width,
        height=height,
        channels=channels,
        bits=bits,
        dpi_x=dpi[0],
        dpi_y=dpi[1],
        compression=str(picture.format).lower(),
        lossy=lossy,
        white_is_zero=False,
        orientation=int(code) if code in range(1, 9) else 1,
        row_step=height,
        random_access=True,
        file_bytes=file_bytes,
        warnings=(note,),
    )
