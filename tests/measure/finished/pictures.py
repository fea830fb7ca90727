"""Pictures that rings are laid over: bundled with installed packages, or made here; two sets that never mix.

``TUNED`` pictures were looked at while the detector was made; ``HELD_OUT`` ones were not: neither they nor the random
numbers that make their composites. Two kinds of made picture (cloth, corrugated sheet) are held out altogether.
"""

from __future__ import annotations

from collections.abc import Callable
from importlib.util import find_spec
from pathlib import Path

import numpy as np
from scipy import ndimage

from tests.measure.finished.ringlight import grain, load_picture, to_code

TUNED = (
    "skimage:astronaut.png", "skimage:brick.png", "skimage:camera.png", "skimage:chelsea.png", "skimage:coins.png",
    "skimage:grass.png", "skimage:hubble_deep_field.jpg", "skimage:ihc.png", "skimage:moon.png",
    "skimage:motorcycle_left.png", "skimage:page.png", "skimage:retina.jpg", "skimage:text.png",
)  # fmt: skip
HELD_OUT = (
    "skimage:coffee.png", "skimage:gravel.png", "skimage:rocket.jpg", "skimage:cell.png",
    "skimage:clock_motion.png", "skimage:horse.png", "sklearn:china.jpg", "sklearn:flower.jpg", "pywt:aero.npz",
    "pywt:ascent.npz", "matplotlib:grace_hopper.jpg",
)  # fmt: skip
FOLDERS = {
    "skimage": "data", "sklearn": "datasets/images", "pywt": "data", "matplotlib": "mpl-data/sample_data",
}  # fmt: skip


def picture_path(name: str) -> Path | None:
    """Where a bundled picture lies, or None if its package is not installed."""
    package, file = name.split(":")
    spec = find_spec(package)
    if spec is None or spec.origin is None:
        return None
    path = Path(spec.origin).parent / FOLDERS[package] / file
    return path if path.is_file() else None


def plain_grain(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """An even tone with grain: dye clouds of three layers, or silver that is common to the channels."""
    size, rms = rng.uniform(0.0, 2.0), rng.uniform(0.005, 0.04)
    if rng.random() < 0.5:
        layers = np.stack([grain(rng, shape, size, rms) for _ in range(3)], axis=2)
    else:
        layers = np.repeat(grain(rng, shape, size, rms)[:, :, None], 3, axis=2)
    return to_code(rng.uniform(0.1, 0.5) * 10.0**-layers)


def gradient(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """A sky: a smooth slope of tone and colour with a little grain."""
    y, x = np.mgrid[: shape[0], : shape[1]] / max(shape)
    out = []
    for _ in range(3):
        a, b, c = rng.uniform(-0.5, 0.5, 3)
        out.append(10.0 ** -(0.6 + a * x + b * y + c * ((x - 0.5) ** 2 + (y - 0.5) ** 2)))
    return to_code(
        np.stack(out, axis=2) * 10.0 ** -grain(rng, shape, 1.0, rng.uniform(0.003, 0.02))[:, :, None]
    )


def wood(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """A planed board: year rings of even width around a far heart, made wavy, brown."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    size = min(shape)
    wave = ndimage.gaussian_filter(rng.standard_normal(shape), size / 16) * size
    r = np.hypot((x - rng.uniform(0, size)) / rng.uniform(1, 4), y - rng.uniform(-1, 2) * size) + wave
    year = r / rng.uniform(6, 20) + rng.uniform(0, 1)
    late = np.abs(year % 1 - 0.5) * 2
    density = 0.3 + rng.uniform(0.03, 0.25) * late**2 + grain(rng, shape, 1.0, 0.02)
    return to_code(10.0 ** -(density[:, :, None] * np.array([0.8, 1.1, 1.6])))


def ripples(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """Water after a stone: circles of nearly even width that fade, on a blue-grey slope."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    r = np.hypot(x - rng.uniform(0, 1) * shape[1], (y - rng.uniform(0, 1) * shape[0]) * rng.uniform(1, 3))
    width = rng.uniform(8, 30)
    density = (
        0.5 + 0.1 * np.cos(2 * np.pi * r / width) * np.exp(-r / rng.uniform(100, 400)) + 0.2 * y / shape[0]
    )
    density = density + grain(rng, shape, 1.0, 0.01)
    return to_code(10.0 ** -(density[:, :, None] * np.array([1.3, 1.0, 0.8])))


def tiles(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """A roof seen from the side: courses of round tiles that come closer together toward the ridge."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    depth = 1 + rng.uniform(0.2, 1.5) * y / shape[0]
    course = shape[0] / rng.uniform(12, 40)
    row = y / (course * depth)
    column = (x - shape[1] / 2) / (course * rng.uniform(0.8, 1.5) * depth) + 0.5 * np.floor(row)
    shade = 0.4 + 0.25 * (row % 1) ** 2 + 0.15 * np.cos(2 * np.pi * column) + grain(rng, shape, 1.0, 0.03)
    return to_code(10.0 ** -(shade[:, :, None] * np.array([0.7, 1.1, 1.3])))


def halftone(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """A printed page: round dots of three inks on three turned screens, their size following a slow picture."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    pitch, spread = rng.uniform(4.5, 12), 10.0 ** -rng.uniform(0.3, 1.0)
    light = np.ones((*shape, 3))
    for ink, angle in enumerate(rng.permutation(np.radians([15.0, 45.0, 75.0]))):
        a = angle + rng.uniform(-0.05, 0.05)
        u, v = (x * np.cos(a) + y * np.sin(a)) / pitch, (y * np.cos(a) - x * np.sin(a)) / pitch
        screen = (np.cos(2 * np.pi * u) + np.cos(2 * np.pi * v)) / 4 + 0.5
        tone = ndimage.gaussian_filter(rng.standard_normal(shape), min(shape) / 8)
        tone = 0.5 + 0.15 * tone / tone.std()
        dot = ndimage.gaussian_filter((screen > 1 - tone).astype(float), 0.8)
        for c in range(3):
            light[:, :, c] *= 1 - dot * (1 - spread) * (1.0 if c == ink else 0.15)
    return to_code(0.8 * light * 10.0 ** -grain(rng, shape, 0.7, 0.01)[:, :, None])


def cloth(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """A woven cloth in folds: warp and weft of different colour, their pitch pulled about by the folds."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    pull = [ndimage.gaussian_filter(rng.standard_normal(shape), min(shape) / 10) for _ in range(2)]
    pitch = rng.uniform(4.5, 10)
    u = x / pitch + rng.uniform(1, 6) * pull[0] / pull[0].std() * 0.3
    v = y / (pitch * rng.uniform(0.9, 1.2)) + rng.uniform(1, 6) * pull[1] / pull[1].std() * 0.3
    over = np.cos(2 * np.pi * u) * np.cos(2 * np.pi * v) > 0
    warp, weft = rng.uniform(0.2, 0.9, 3), rng.uniform(0.2, 0.9, 3)
    shade = 1 + 0.2 * np.cos(4 * np.pi * np.where(over, u, v))
    light = np.where(over[:, :, None], 10.0**-warp, 10.0**-weft) * (0.5 * shade)[:, :, None]
    light = ndimage.gaussian_filter(light, (0.8, 0.8, 0)) * 10.0 ** -grain(rng, shape, 1.0, 0.02)[:, :, None]
    return to_code(light * (1 + 0.3 * pull[0] / pull[0].std() * 0.3)[:, :, None])


def corrugated(rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    """A shed of corrugated sheet seen at a slant: ridges that close up with distance, rust in patches."""
    y, x = np.mgrid[: shape[0], : shape[1]].astype(float)
    near, far = rng.uniform(14, 30), rng.uniform(5, 12)
    s = x / shape[1]
    turns = shape[1] / (far - near) * np.log1p(s * (far - near) / near)
    turns = turns + rng.uniform(-0.3, 0.3) * (y / shape[0] - 0.5) * turns
    rust = ndimage.gaussian_filter(rng.standard_normal(shape), min(shape) / 15)
    rust = np.clip(rust / rust.std() - 0.5, 0, 1)
    density = 0.45 + rng.uniform(0.05, 0.2) * np.cos(2 * np.pi * turns) + grain(rng, shape, 1.0, 0.02)
    return to_code(10.0 ** -(density[:, :, None] + 0.3 * rust[:, :, None] * np.array([0.1, 0.6, 1.2])))


MADE: dict[str, Callable[[np.random.Generator, tuple[int, int]], np.ndarray]] = {
    "grain": plain_grain, "gradient": gradient, "wood": wood, "ripples": ripples, "tiles": tiles,
    "halftone": halftone, "cloth": cloth, "corrugated": corrugated,
}  # fmt: skip
MADE_HELD_OUT = ("cloth", "corrugated")


def picture(rng: np.random.Generator, name: str, side: int) -> np.ndarray:
    """One picture of at most ``side`` pixels square: a crop at random, turned and scaled at random."""
    if name in MADE:
        return MADE[name](rng, (side, side))
    path = picture_path(name)
    assert path is not None, name
    whole = load_picture(path)
    scale = max(rng.uniform(0.9, 1.4), side / min(whole.shape[:2]) * 0.75)
    if scale != 1.0:
        whole = np.clip(ndimage.zoom(whole, (scale, scale, 1), order=1), 0, 1)
    high, wide = min(side, whole.shape[0]), min(side, whole.shape[1])
    top, left = rng.integers(0, whole.shape[0] - high + 1), rng.integers(0, whole.shape[1] - wide + 1)
    part = whole[top : top + high, left : left + wide]
    part = np.rot90(part, int(rng.integers(0, 4)))
    return part[:, ::-1] if rng.random() < 0.5 else part
