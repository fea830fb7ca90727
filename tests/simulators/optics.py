"""A scanner lens as ray optics: blur by defocus with spherical aberration, and blur that changes over a picture."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
import scipy.fft
from numpy.typing import NDArray
from scipy.special import j0

Image = NDArray[np.float32]
Array = NDArray[np.float64]

# pupil rings of equal area, for integrals over the pupil
_RINGS = np.sqrt((np.arange(64) + 0.5) / 64)
# spatial frequencies over which "sharpest" is defined, cycles per mm: what a picture shows at 1200 dpi
BAND_LP_MM = np.linspace(4.0, 20.0, 9)


@dataclass(frozen=True)
class Lens:
    """A lens seen from the glass: how a point at a height off the focus is spread.

    A ray through pupil radius r (0 to 1) misses by ``a*dz*r + b*(r**3 - 2*r/3)``: defocus plus third-order
    spherical aberration, the latter balanced so that the root-mean-square spot is least at dz = 0. The whole is
    blurred by a Gaussian core (diffraction, other aberrations).
    Source: transverse ray aberration of Seidel defocus and spherical terms; the integrals are elementary.

    Parameters
    ----------
    blur_per_mm : a, mm of blur radius per mm of defocus: 1 / (2 * f-number on the glass side).
    core_sigma_mm : standard deviation of the Gaussian core.
    asymmetry : k; above the focus a is a*(1 + k/2), below it a*(1 - k/2).
    spherical_mm : b, mm; the sign says on which side the bright-rimmed discs are.
    """

    blur_per_mm: float = 0.025
    core_sigma_mm: float = 0.009
    asymmetry: float = 0.0
    spherical_mm: float = 0.0

    def _slope(self, dz: float) -> float:
        return self.blur_per_mm * (1.0 + (0.5 if dz > 0 else -0.5) * self.asymmetry)

    def otf(self, frequency: Array, dz: float) -> Array:
        """Transfer at the frequencies (cycles per mm, any direction) at dz mm above the rms focus."""
        miss = self._slope(dz) * dz * _RINGS + self.spherical_mm * (_RINGS**3 - 2.0 * _RINGS / 3.0)
        flat = np.asarray(frequency, float).ravel()
        rays = j0(2.0 * np.pi * flat[:, None] * miss[None, :]).mean(axis=1)
        core = np.exp(-2.0 * (np.pi * self.core_sigma_mm * flat) ** 2)
        return np.asarray(rays * core).reshape(np.shape(frequency))

    def variance_mm2(self, dz: float) -> float:
        """Second moment of the spread along one direction, closed form: core + (a dz)^2/4 + b^2/72."""
        return self.core_sigma_mm**2 + (self._slope(dz) * dz) ** 2 / 4.0 + self.spherical_mm**2 / 72.0

    def sharpest_dz(self, band: Array = BAND_LP_MM) -> float:
        """Where the mean transfer over a band of frequencies is highest, mm above the rms focus."""
        coarse = np.linspace(-1.5, 1.5, 301)
        value = np.array([float(self.otf(band, float(dz)).mean()) for dz in coarse])
        best = int(np.argmax(value))
        fine = np.linspace(coarse[max(best - 1, 0)], coarse[min(best + 1, 300)], 41)
        return float(fine[np.argmax([float(self.otf(band, float(dz)).mean()) for dz in fine])])

    def mtf50_lp_mm(self, dz: float) -> float:
        """Lowest frequency at which the lens alone passes half, cycles per mm."""
        frequency = np.linspace(0.0, 120.0, 2401)
        below = np.flatnonzero(self.otf(frequency, dz) < 0.5)
        return float(frequency[below[0]]) if below.size else float("inf")


def blur_levels(lens: Lens, low: float, high: float, step_mm: float) -> Array:
    """Defocus values from low to high between which the spread grows by no more than step_mm (or 6 %)."""
    fine = np.linspace(low, high, 2000)
    spread = np.sqrt([lens.variance_mm2(float(dz)) for dz in fine])
    grown = np.abs(np.gradient(spread, fine)) / np.maximum(step_mm, 0.06 * spread) + 1.0 / 0.4
    count = np.concatenate([[0.0], np.cumsum(0.5 * (grown[1:] + grown[:-1]) * np.diff(fine))])
    levels = max(int(np.ceil(count[-1])) + 1, 2)
    return np.asarray(np.interp(np.linspace(0.0, count[-1], levels), count, fine))


def blur_by_defocus(
    image: Image, defocus: NDArray[np.floating], lens: Lens, pixel_mm: float, step_px: float = 0.35
) -> Image:
    """The image as the lens shows it where each pixel has its own defocus.

    Blurred at a ladder of defocus values, each only where it is needed, and mixed linearly between rungs.

    Parameters
    ----------
    image : (rows, columns), linear light.
    defocus : same shape or one that broadcasts to it, mm above the rms focus.
    lens : the lens.
    pixel_mm : pixel pitch.
    step_px : by how many pixels the spread may grow from rung to rung.
    """
    dz = np.broadcast_to(np.asarray(defocus, np.float32), image.shape)
    low, high = float(dz.min()), float(dz.max())
    if high - low < 1e-6:
        return _filtered(image, lens, 0.5 * (low + high), pixel_mm)
    levels = blur_levels(lens, low, high, step_px * pixel_mm)
    out = np.zeros(image.shape, np.float32)
    row_low, row_high = dz.min(axis=1), dz.max(axis=1)
    column_low, column_high = dz.min(axis=0), dz.max(axis=0)
    for k, level in enumerate(levels):
        below = levels[k - 1] if k else level - 1.0
        above = levels[k + 1] if k + 1 < len(levels) else level + 1.0
        rows = np.flatnonzero((row_low < above) & (row_high > below))
        columns = np.flatnonzero((column_low < above) & (column_high > below))
        if not rows.size or not columns.size:
            continue
        reach = int(np.ceil(4.0 * np.sqrt(lens.variance_mm2(float(level))) / pixel_mm)) + 2
        r0, r1, c0, c1 = rows[0], rows[-1] + 1, columns[0], columns[-1] + 1
        R0, R1 = max(r0 - reach, 0), min(r1 + reach, image.shape[0])
        C0, C1 = max(c0 - reach, 0), min(c1 + reach, image.shape[1])
        soft = _filtered(image[R0:R1, C0:C1], lens, float(level), pixel_mm)
        part = dz[r0:r1, c0:c1]
        weight = np.where(part <= level, (part - below) / (level - below), (above - part) / (above - level))
        out[r0:r1, c0:c1] += np.clip(weight, 0, 1) * soft[r0 - R0 : r1 - R0, c0 - C0 : c1 - C0]
    return out


def _filtered(image: Image, lens: Lens, dz: float, pixel_mm: float) -> Image:
    """One blur for the whole image; the border is mirrored."""
    reach = int(np.ceil(4.0 * np.sqrt(lens.variance_mm2(dz)) / pixel_mm)) + 2
    pad = [min(reach, n - 1) for n in image.shape]
    padded = np.pad(image, [(pad[0], pad[0]), (pad[1], pad[1])], mode="reflect")
    shape = [scipy.fft.next_fast_len(n, real=True) for n in padded.shape]
    fy = np.fft.fftfreq(shape[0], pixel_mm)[:, None]
    fx = np.fft.rfftfreq(shape[1], pixel_mm)[None, :]
    square = (fy**2 + fx**2).astype(np.float32)
    grid = np.linspace(0.0, float(np.sqrt(square.max())) + 1e-6, 400)
    # interpolated in the squared frequency, in which the transfer is straight near zero: keeps the second moment
    transfer = np.interp(square, grid**2, lens.otf(grid, dz)).astype(np.float32)
    spectrum = scipy.fft.rfft2(padded, s=shape)
    soft = scipy.fft.irfft2(spectrum * transfer, s=shape)
    return np.asarray(soft[pad[0] : pad[0] + image.shape[0], pad[1] : pad[1] + image.shape[1]], np.float32)
