"""Picture content: scikit-image's open test pictures, generated landscapes, letters, grain and dust."""

from __future__ import annotations

import functools

import numpy as np
import scipy.fft
import scipy.ndimage
import skimage.color
import skimage.data
import skimage.draw
import skimage.transform
from numpy.typing import NDArray

from tests.simulators.optics import Image

# files that scikit-image carries with it: nothing is fetched
OPEN_PICTURES = (
    "astronaut",
    "brick",
    "camera",
    "chelsea",
    "coffee",
    "coins",
    "grass",
    "gravel",
    "hubble_deep_field",
    "moon",
    "rocket",
)


@functools.cache
def open_picture(name: str) -> Image:
    """One of scikit-image's pictures as grey, 0 to 1."""
    raw = np.asarray(getattr(skimage.data, name)())
    grey = skimage.color.rgb2gray(raw) if raw.ndim == 3 else raw / 255.0
    return np.asarray(grey, np.float32)


def fractal(random: np.random.Generator, shape: tuple[int, int], exponent: float = 1.7) -> Image:
    """Noise whose amplitude falls as 1 / frequency ** exponent, mean 0, standard deviation 1."""
    fy = np.fft.fftfreq(shape[0])[:, None]
    fx = np.fft.rfftfreq(shape[1])[None, :]
    radius = np.maximum(np.hypot(fy, fx), 1.0 / max(shape))
    spectrum = scipy.fft.rfft2(random.standard_normal(shape, np.float32)) * radius**-exponent
    field = np.asarray(scipy.fft.irfft2(spectrum, s=shape), np.float32)
    return np.asarray((field - field.mean()) / max(float(field.std()), 1e-9), np.float32)


def landscape(random: np.random.Generator, shape: tuple[int, int] = (768, 1024)) -> Image:
    """A generated view: smooth sky, hills one behind the other with texture that grows toward the foot; 0 to 1."""
    rows, columns = shape
    y = np.linspace(0, 1, rows, dtype=np.float32)[:, None]
    view = np.broadcast_to(0.92 - 0.25 * y, shape).copy()
    texture = fractal(random, shape, 0.9)
    for k in range(4):
        ridge = 0.35 + 0.14 * k + 0.06 * fractal(random, (8, columns), 1.6)[4]
        inside = np.clip((y - ridge[None, :]) * rows + 0.5, 0, 1)
        tone = random.uniform(0.15, 0.65) + (0.03 + 0.05 * k) * texture
        view = view * (1 - inside) + tone * inside
    for _ in range(int(random.integers(1, 6))):  # walls and poles: straight edges
        r0, c0 = int(random.integers(rows // 3, rows - 60)), int(random.integers(0, columns - 80))
        h, w = int(random.integers(20, rows // 3)), int(random.integers(3, 120))
        view[r0 : r0 + h, c0 : c0 + w] = random.uniform(0.05, 0.9)
    return np.asarray(np.clip(view, 0.02, 1.0), np.float32)


def picture(random: np.random.Generator) -> Image:
    """A random picture, 0 to 1: an open test picture or a landscape, sometimes mirrored."""
    pick = int(random.integers(0, len(OPEN_PICTURES) + 5))
    view = open_picture(OPEN_PICTURES[pick]) if pick < len(OPEN_PICTURES) else landscape(random)
    return view[:, ::-1] if random.random() < 0.5 else view


def letters(random: np.random.Generator, cell: int) -> Image:
    """A page of invented letters, 1 is ink: 16 lines of 40 cells, each cell x cell * 0.6 pixels, words apart."""
    wide = int(cell * 0.6)
    alphabet = [_glyph(random, cell, wide) for _ in range(26)]
    page = np.zeros((16 * cell, 40 * wide), np.float32)
    for line in range(16):
        for place in range(40):
            if random.random() < 0.82:
                r, c = line * cell, place * wide
                page[r : r + cell, c : c + wide] = alphabet[int(random.integers(26))]
    return page


def _glyph(random: np.random.Generator, cell: int, wide: int) -> Image:
    """Two to four strokes, straight or round, antialiased."""
    up = 6
    big = np.zeros((cell * up, wide * up), bool)
    thick = max(int(0.035 * cell * up), 1)
    xs, ys = (0.14, 0.5, 0.82), (0.22, 0.48, 0.72)
    for _ in range(int(random.integers(2, 5))):
        if random.random() < 0.3:
            r, c = skimage.draw.circle_perimeter(  # type: ignore[no-untyped-call]
                int(random.choice((0.35, 0.6)) * cell * up),
                int(0.48 * wide * up),
                int(0.12 * cell * up),
                shape=big.shape,
            )
        else:
            r, c = skimage.draw.line(  # type: ignore[no-untyped-call]
                int(random.choice(ys) * cell * up),
                int(random.choice(xs) * wide * up),
                int(random.choice(ys) * cell * up),
                int(random.choice(xs) * wide * up),
            )
        big[r, c] = True
    fat = scipy.ndimage.distance_transform_edt(~big) <= thick if big.any() else big
    return np.asarray(fat.reshape(cell, up, wide, up).mean(axis=(1, 3)), np.float32)


def dust(
    random: np.random.Generator, shape: tuple[int, int], pixel_mm: float, per_cm2: float, soft_mm: float = 0.0
) -> Image:
    """Transmittance of specks and hairs, 1 where clean.

    Parameters
    ----------
    random : draws number, place and size.
    shape : rows and columns.
    pixel_mm : pixel pitch.
    per_cm2 : how many a square centimetre.
    soft_mm : standard deviation of a blur of the whole, for dust that lies out of focus.
    """
    layer = np.ones(shape, np.float32)
    area = shape[0] * shape[1] * pixel_mm**2 / 100
    for _ in range(int(random.poisson(per_cm2 * area))):
        centre = random.uniform(0, 1, 2) * shape
        if random.random() < 0.8:
            size = float(np.clip(random.lognormal(np.log(0.03), 0.6), 0.01, 0.25))
            points, radius = np.zeros((1, 2)), size
        else:
            steps = np.cumsum(random.normal(0, 0.25, 40) * 0.3)
            points = np.cumsum(np.stack([np.sin(steps), np.cos(steps)], 1) * random.uniform(0.01, 0.05), 0)
            radius = 0.012
        stamp(layer, centre, points, radius, soft_mm, pixel_mm, random.uniform(0.4, 0.95))
    return layer


def stamp(
    layer: Image,
    centre: NDArray[np.floating],
    points_mm: NDArray[np.floating],
    radius_mm: float,
    soft_mm: float,
    pixel_mm: float,
    depth: float,
) -> None:
    """Darken the layer where points, each a disc, lie."""
    reach = (np.abs(points_mm).max() + radius_mm + 3 * soft_mm) / pixel_mm + 3
    r0, c0 = (max(int(v - reach), 0) for v in centre)
    r1, c1 = (min(int(v + reach) + 1, n) for v, n in zip(centre, layer.shape, strict=True))
    if r1 <= r0 or c1 <= c0:
        return
    yy = (np.arange(r0, r1)[:, None] - centre[0]) * pixel_mm
    xx = (np.arange(c0, c1)[None, :] - centre[1]) * pixel_mm
    near = np.full((r1 - r0, c1 - c0), np.inf)
    for y, x in points_mm:
        near = np.minimum(near, np.hypot(yy - y, xx - x))
    speck = np.clip((radius_mm - near) / pixel_mm + 0.5, 0, 1)
    if soft_mm > 0:
        speck = scipy.ndimage.gaussian_filter(speck, soft_mm / pixel_mm)
    layer[r0:r1, c0:c1] *= (1 - depth * speck).astype(np.float32)
