"""What happens after the lens: pixels, noise, firmware's processing, and the file."""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path

import numpy as np
import scipy.fft
import scipy.ndimage
import tifffile
from numpy.typing import NDArray

from tests.simulators.optics import Image

Pixels = NDArray[np.uint8] | NDArray[np.uint16]

# ITU-T T.81 (JPEG), Annex K, table K.1: luminance quantisation at quality 50
_T81_K1 = np.array(
    [
        [16, 11, 10, 16, 24, 40, 51, 61],
        [12, 12, 14, 19, 26, 58, 60, 55],
        [14, 13, 16, 24, 40, 57, 69, 56],
        [14, 17, 22, 29, 51, 87, 80, 62],
        [18, 22, 37, 56, 68, 109, 103, 77],
        [24, 35, 55, 64, 81, 104, 113, 92],
        [49, 64, 78, 87, 103, 121, 120, 101],
        [72, 92, 95, 98, 112, 100, 103, 99],
    ],
    np.float32,
)


@dataclass(frozen=True)
class Sensor:
    """The sensor and the processing after it.

    Parameters
    ----------
    noise : standard deviation of the shot noise at white, as a share of white; falls as the root of the light.
    read_noise : standard deviation at black, as a share of white.
    streaks : standard deviation of the gain from column to column (one column is one cell of the line sensor).
    gamma : file value = light ** (1 / gamma).
    sharpen : amount of the unsharp mask, applied to the encoded values; 0 is none.
    sharpen_radius_px : its Gaussian's standard deviation.
    jpeg_quality : 1 to 100, or None for none.
    bits : 8 or 16 bits in the file.
    black, white : light that becomes 0 and full scale (clipping).
    """

    noise: float = 0.003
    read_noise: float = 0.0008
    streaks: float = 0.0005
    gamma: float = 1.0
    sharpen: float = 0.0
    sharpen_radius_px: float = 1.0
    jpeg_quality: int | None = None
    bits: int = 16
    black: float = 0.0
    white: float = 1.0


def bin_pixels(image: Image, factor: int) -> Image:
    """Mean of factor x factor blocks: the square pixel of the sensor."""
    if factor == 1:
        return image
    rows, columns = (n // factor * factor for n in image.shape)
    blocks = image[:rows, :columns].reshape(rows // factor, factor, columns // factor, factor)
    return np.asarray(blocks.mean(axis=(1, 3)), np.float32)


def add_noise(light: Image, sensor: Sensor, random: np.random.Generator) -> Image:
    """Linear light with shot noise, read noise and column gain."""
    sd = np.asarray(np.sqrt(sensor.noise**2 * np.clip(light, 0, None) + sensor.read_noise**2), np.float32)
    gain = np.asarray(1.0 + sensor.streaks * random.standard_normal(light.shape[1]), np.float32)
    return np.asarray(light * gain + sd * random.standard_normal(light.shape, np.float32), np.float32)


def unsharp(image: Image, amount: float, radius_px: float) -> Image:
    """image + amount * (image - blurred image)."""
    return np.asarray(image + amount * (image - scipy.ndimage.gaussian_filter(image, radius_px)), np.float32)


def jpeg(image: Image, quality: int) -> Image:
    """Values 0 to 1 after JPEG's loss: 8 bit, 8 x 8 DCT, T.81 table K.1 scaled as the reference coder scales it."""
    scale = 5000.0 / quality if quality < 50 else 200.0 - 2.0 * quality
    table = np.clip(np.floor((_T81_K1 * scale + 50.0) / 100.0), 1, 255).astype(np.float32)
    rows, columns = image.shape
    padded = (
        np.pad(np.round(np.clip(image, 0, 1) * 255), [(0, -rows % 8), (0, -columns % 8)], mode="edge") - 128
    )
    blocks = padded.astype(np.float32).reshape(padded.shape[0] // 8, 8, padded.shape[1] // 8, 8)
    coded = scipy.fft.dctn(blocks, axes=(1, 3), norm="ortho")
    table = table[None, :, None, :]
    coded = np.round(coded / table) * table
    back = scipy.fft.idctn(coded, axes=(1, 3), norm="ortho").reshape(padded.shape)
    return np.asarray((np.clip(np.round(back + 128), 0, 255) / 255)[:rows, :columns], np.float32)


def develop(light: Image, sensor: Sensor, random: np.random.Generator) -> Pixels:
    """File values of linear light: noise, levels, gamma, sharpening, JPEG, quantisation, in that order."""
    value = add_noise(light, sensor, random)
    value = np.asarray(np.clip((value - sensor.black) / (sensor.white - sensor.black), 0, 1), np.float32)
    value = value ** np.float32(1.0 / sensor.gamma)
    if sensor.sharpen:
        value = np.clip(unsharp(value, sensor.sharpen, sensor.sharpen_radius_px), 0, 1)
    if sensor.jpeg_quality is not None:
        value = jpeg(value, sensor.jpeg_quality)
    if sensor.bits == 8:
        return np.round(value * 255).astype(np.uint8)
    return np.round(value * 65535).astype(np.uint16)


def write_tiff(path: Path, image: Pixels, dpi: float) -> Path:
    """Write grey (rows, columns) or colour (rows, columns, 3) with resolution tags; 64 rows a strip, no compression."""
    colour = image.ndim == 3
    tifffile.imwrite(
        path,
        image,
        photometric="rgb" if colour else "minisblack",
        resolution=(dpi, dpi),
        resolutionunit="INCH",
        rowsperstrip=64,
        metadata=None,
    )
    return path
