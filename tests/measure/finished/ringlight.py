"""Newton's rings as light makes them, laid over pictures: the test's own physics, apart from the detector's.

The gap t between film and glass is smooth: a bowl (a paraboloid of two radii of curvature, turned, on top of a least
gap, made uneven by a slow random field), a buckle (a slow random surface that comes down to the least gap somewhere) or
a bowl pressed flat against the glass in its middle. The light of one channel has the mean wavelength w and a Gaussian
spectrum of full width dw; with the coherence length L = w²/dw and the path 2t the visibility is
V = exp(-(pi 2t/L)²/(4 ln 2)) (computed table of the project's reference values: 550/100 nm L = 3.02 um, V = 0.5 at a
path of 0.4413 L). Contrast is (Imax - Imin)/(Imax + Imin), and ``contrast`` is what the strongest place in the frame
has before the pixels average the fringes over their own size.
"""

from __future__ import annotations

from dataclasses import dataclass
from pathlib import Path
from typing import Literal

import numpy as np
from PIL import Image
from scipy import ndimage

Family = Literal["bowl", "buckle", "pressed"]
FINEST_PX = 5.0  # fringe to fringe, of a buckle's fringes where they still show


@dataclass(frozen=True)
class Rings:
    """How the rings of one composite were made; lengths in pixels of the composite."""

    contrast: float
    wavelengths_nm: tuple[float, float, float]
    width_nm: float
    radius_px: float  # where the visibility has fallen to a tenth
    aspect: float
    turn: float
    centre: tuple[float, float]  # column, row
    least_gap_um: float
    uneven: float
    family: Family = "bowl"


def visibility(path_um: np.ndarray, wavelength_nm: float, width_nm: float) -> np.ndarray:
    length_um = wavelength_nm**2 / width_nm * 1e-3
    return np.exp(-((np.pi * path_um / length_um) ** 2) / (4 * np.log(2)))


def gap_um(shape: tuple[int, int], rings: Rings, rng: np.random.Generator) -> np.ndarray:
    """Gap between film and glass at each pixel, micrometres."""
    if rings.family == "buckle":
        return _buckle_um(shape, rings, rng)
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    x, y = x - rings.centre[0], y - rings.centre[1]
    u = x * np.cos(rings.turn) + y * np.sin(rings.turn)
    v = (y * np.cos(rings.turn) - x * np.sin(rings.turn)) / rings.aspect
    length = rings.wavelengths_nm[1] ** 2 / rings.width_nm * 1e-3
    reach = length / (2 * np.pi) * np.sqrt(4 * np.log(2) * np.log(10.0))
    bowl = (u**2 + v**2) / rings.radius_px**2 * reach
    rough = ndimage.gaussian_filter(rng.standard_normal(shape), min(shape) / 5, mode="nearest")
    rough /= max(float(np.std(rough)), 1e-12)
    pressed = 0.12 * reach if rings.family == "pressed" else 0.0
    return np.maximum(rings.least_gap_um + bowl * (1 + rings.uneven * rough) - pressed, 0.0)


def _buckle_um(shape: tuple[int, int], rings: Rings, rng: np.random.Generator) -> np.ndarray:
    """As steep a slow random surface as keeps its visible fringes no finer than ``FINEST_PX`` (nine places in ten)."""
    field = ndimage.gaussian_filter(
        rng.standard_normal(shape), rng.uniform(0.12, 0.25) * min(shape), mode="reflect"
    )
    field -= field.min()
    field /= field.max()
    steep = np.hypot(*np.gradient(field))
    middle, deepest = rings.wavelengths_nm[1], 12.0
    for _ in range(40):
        seen = visibility(2 * (rings.least_gap_um + deepest * field), middle, rings.width_nm)
        per_px = 2e3 / middle * deepest * steep[seen > 0.2 * seen.max()]
        if np.percentile(per_px, 90) <= 1 / FINEST_PX:
            break
        deepest *= 0.9
    return rings.least_gap_um + deepest * field


def ring_light(gap: np.ndarray, rings: Rings) -> np.ndarray:
    """Factor on the light of each channel, (rows, columns, 3)."""
    slope_y, slope_x = np.gradient(gap)
    weak = [visibility(2 * gap, w, rings.width_nm) for w in rings.wavelengths_nm]
    most = max(float(v.max()) for v in weak)
    out = []
    for v, w in zip(weak, rings.wavelengths_nm, strict=True):
        per_um = 2.0 / (w * 1e-3)  # fringes per micrometre of gap
        seen = np.sinc(per_um * slope_x) * np.sinc(per_um * slope_y)
        out.append(1 + rings.contrast * v / most * seen * np.cos(2 * np.pi * per_um * gap))
    return np.stack(out, axis=2)


def draw_rings(
    rng: np.random.Generator,
    shape: tuple[int, int],
    contrast: float,
    families: tuple[Family, ...] = ("bowl",),
) -> Rings:
    """Rings at random: lamps of 5 to 45 nm; of bowls one in ten is nearly a cylinder; families equally often."""
    family = families[int(rng.integers(len(families)))]
    half = min(shape) / 2
    width = float(np.exp(rng.uniform(np.log(5.0), np.log(45.0))))
    orders = 2 / np.pi * np.sqrt(np.log(2) * np.log(10.0)) * 540.0 / width
    # fringes at the tenth-visibility radius are radius/(2 orders) wide: never finer than 4.5 pixels there
    finest = 4.5 * 2 * orders
    radius = float(max(rng.uniform(0.45, 1.3) * half, min(finest, 4 * half)))
    return Rings(
        contrast=contrast,
        wavelengths_nm=(rng.uniform(600, 640), rng.uniform(525, 550), rng.uniform(450, 470)),
        width_nm=width,
        radius_px=radius,
        aspect=float(rng.uniform(3, 8) if rng.random() < 0.1 else rng.uniform(1, 1.8)),
        turn=float(rng.uniform(0, np.pi)),
        centre=(float(rng.uniform(0.2, 0.8) * shape[1]), float(rng.uniform(0.2, 0.8) * shape[0])),
        least_gap_um=float(rng.uniform(0, 0.6)),
        uneven=float(rng.uniform(0, 0.08)),
        family=family,
    )


def to_light(code: np.ndarray) -> np.ndarray:
    """Light of sRGB code values (IEC 61966-2-1, from memory), both as fractions."""
    return np.where(code <= 0.04045, code / 12.92, ((code + 0.055) / 1.055) ** 2.4)


def to_code(light: np.ndarray) -> np.ndarray:
    light = np.clip(light, 0, 1)
    return np.where(light <= 0.0031308, 12.92 * light, 1.055 * light ** (1 / 2.4) - 0.055)


def load_picture(path: Path) -> np.ndarray:
    """Code values of a picture file as fractions, (rows, columns, 3)."""
    if path.suffix == ".npz":
        grey = np.load(path)["data"].astype(float)
        return np.repeat((grey / max(grey.max(), 1))[:, :, None], 3, axis=2)
    with Image.open(path) as picture:
        return np.asarray(picture.convert("RGB"), dtype=float) / 255.0


def grain(rng: np.random.Generator, shape: tuple[int, int], size_px: float, rms: float) -> np.ndarray:
    """Film grain as a density field, one layer."""
    field = rng.standard_normal(shape)
    if size_px > 0:
        field = ndimage.gaussian_filter(field, size_px)
    return rms * field / np.std(field)
