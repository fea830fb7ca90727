"""Scans made for the tests: film in an opaque holder with known edges, turn, blur; written as TIFF."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import tifffile
from scipy import interpolate, ndimage

from holders.measure.finished.expected import Expected

HOLDER_PX = 30  # of the holder shown around the window
PX_PER_MM = 0.7  # blur: at the band's rim the judged detail keeps the in-band share


def window_scan(
    shape: tuple[int, int],
    corner: tuple[float, float],
    size: tuple[float, float],
    turn_deg: float,
    film: np.ndarray | float = 0.4,
    dark: float = 0.01,
    soft_px: float = 1.0,
    over: int = 4,
) -> np.ndarray:
    """Light of an opening of exact place: ``corner`` (x, y) of its unturned rectangle, turned about its middle.

    Pixel edges are at whole numbers; each pixel is the mean of over² samples, then blurred.
    """
    high, wide = shape
    s = (np.arange(over) + 0.5) / over
    y = (np.arange(high)[:, None] + s[None, :]).ravel()
    x = (np.arange(wide)[:, None] + s[None, :]).ravel()
    cx, cy = corner[0] + size[0] / 2, corner[1] + size[1] / 2
    a = np.radians(turn_deg)
    lit = np.empty((high, wide))
    for k in range(high):
        yy, xx = np.meshgrid(y[k * over : (k + 1) * over] - cy, x - cx, indexing="ij")
        u, v = xx * np.cos(a) + yy * np.sin(a), yy * np.cos(a) - xx * np.sin(a)
        inside = (np.abs(u) < size[0] / 2) & (np.abs(v) < size[1] / 2)
        lit[k] = inside.reshape(over, wide, over).mean(axis=(0, 2))
    return ndimage.gaussian_filter(dark + (film - dark) * lit, soft_px)


def grain_film(
    rng: np.random.Generator, shape: tuple[int, int], rms: float = 0.08, size_px: float = 0.7
) -> np.ndarray:
    grain = ndimage.gaussian_filter(rng.standard_normal(shape), size_px)
    return 0.35 * 10.0 ** (-rms * grain / grain.std())


def textured_film(rng: np.random.Generator, shape: tuple[int, int], rms: float = 0.08) -> np.ndarray:
    """A picture with detail at all frequencies, its amplitude falling as their 0.8th power, and a little grain.

    At a coarse resolution grain looks like noise: what such a scan is judged by is the picture.
    """
    f = np.hypot(np.fft.fftfreq(shape[0])[:, None], np.fft.rfftfreq(shape[1])[None, :])
    detail = np.fft.irfft2(
        np.fft.rfft2(rng.standard_normal(shape)) * np.maximum(f, 1 / max(shape)) ** -0.8, s=shape
    )
    return 0.35 * 10.0 ** (-rms * detail / detail.std() - 0.01 * rng.standard_normal(shape))


def blurred(film: np.ndarray, defocus: np.ndarray, px_per_mm: float) -> np.ndarray:
    """Film blurred from place to place: sigma in px = |defocus| times ``px_per_mm``; between 25 fixed blurs."""
    sigma = np.abs(defocus) * px_per_mm
    steps = np.linspace(0, max(float(sigma.max()), 1e-6), 25)
    stack = np.stack([ndimage.gaussian_filter(film, s) if s > 0.05 else film for s in steps])
    at = sigma / steps[-1] * 24
    low = np.clip(at.astype(int), 0, 23)
    part = at - low
    rows, cols = np.indices(film.shape)
    return stack[low, rows, cols] * (1 - part) + stack[low + 1, rows, cols] * part


def scan_of(path: Path, expected: Expected, offset_mm: float, dpi: float, number: int = 3) -> Path:
    """A scan of grain in a design's window, blurred as its predicted surface ``offset_mm`` higher would blur it."""
    assert expected.band_mm is not None
    assert expected.heights_mm is not None
    px = 25.4 / dpi
    wide, high = (round(side / px) for side in expected.window_mm)
    look = interpolate.RegularGridInterpolator(
        (expected.heights_y_mm, expected.heights_x_mm),
        expected.heights_mm,
        bounds_error=False,
        fill_value=None,
    )
    y, x = np.meshgrid((np.arange(high) + 0.5) * px, (np.arange(wide) + 0.5) * px, indexing="ij")
    heights = look(np.stack([y, x], axis=-1))
    rng = np.random.default_rng(number)
    film = blurred(
        textured_film(rng, (high, wide)), heights + offset_mm - sum(expected.band_mm) / 2, PX_PER_MM
    )
    light = np.full((high + 2 * HOLDER_PX, wide + 2 * HOLDER_PX), 0.01)
    light[HOLDER_PX:-HOLDER_PX, HOLDER_PX:-HOLDER_PX] = film
    return write(path, light + rng.normal(0, 0.0005, light.shape), dpi)


def sagging_scan(path: Path, dpi: float = 1200.0) -> Path:
    """Grain finer than the lens shows in a window turned by 0.3 degrees, softest in the middle, as film that sags."""
    shape, rng = (1000, 1300), np.random.default_rng(5)
    v, u = np.meshgrid(np.linspace(-1, 1, shape[0]), np.linspace(-1, 1, shape[1]), indexing="ij")
    film = blurred(grain_film(rng, shape, size_px=0.35), 0.9 * np.clip((1 - u**2) * (1 - v**2), 0, None), 1.6)
    light = window_scan(shape, (60, 60), (shape[1] - 120, shape[0] - 120), 0.3, film, soft_px=0.3)
    return write(path, light + rng.normal(0, 0.0005, shape), dpi)


def write(path: Path, light: np.ndarray, dpi: float, rows_per_strip: int = 16) -> Path:
    pixels = np.round(np.clip(light, 0, 1) * 65535).astype(np.uint16)
    colour = pixels.ndim == 3
    tifffile.imwrite(
        path,
        pixels,
        photometric="rgb" if colour else "minisblack",
        resolution=(dpi, dpi),
        resolutionunit="INCH",
        rowsperstrip=rows_per_strip,
    )
    return path
