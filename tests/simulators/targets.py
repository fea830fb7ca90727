"""Transparent targets as functions of place: rulers, rulings, charts, text, film; linear transmittance."""

from __future__ import annotations

from collections.abc import Callable

import numpy as np
import scipy.ndimage
from numpy.typing import NDArray

from tests.simulators import pictures
from tests.simulators.optics import Image

Array = NDArray[np.floating]
Target = Callable[[Array, Array, float], Image]
KINDS = ("ruler", "ruling", "chart", "text", "grain", "content")

_SEGMENTS = {  # seven segments: x0, y0, x1, y1 in a cell 1 wide and 2 high, y up
    "a": (0, 2, 1, 2),
    "b": (1, 1, 1, 2),
    "c": (1, 0, 1, 1),
    "d": (0, 0, 1, 0),
    "e": (0, 0, 0, 1),
    "f": (0, 1, 0, 2),
    "g": (0, 1, 1, 1),
}
_DIGITS = ("abcdef", "bc", "abged", "abgcd", "fgbc", "afgcd", "afgedc", "abc", "abcdefg", "abcdfg")


def _inside(distance: Array, half_width: float, pixel_mm: float) -> Array:
    """Share of a pixel that lies within half_width of a line at this distance."""
    return np.asarray(np.clip((half_width - np.abs(distance)) / pixel_mm + 0.5, 0.0, 1.0))


def _step(distance: Array, pixel_mm: float) -> Array:
    """Share of a pixel on the positive side of an edge."""
    return np.asarray(np.clip(distance / pixel_mm + 0.5, 0.0, 1.0))


def ruler(random: np.random.Generator, width_mm: float, half_mm_ticks: bool) -> Target:
    """A clear ruler, printed side down (it reads mirrored), with open light beyond its edge.

    Ticks every 1 or 0.5 mm run from its edge inward; numerals stand at each 10 mm.

    Parameters
    ----------
    random : draws ink, plastic, tick widths and where the edge lies.
    width_mm : width of the picture; the ruler's edge lies near t = -0.4 * width.
    half_mm_ticks : ticks each 0.5 mm too.
    """
    edge = -width_mm * random.uniform(0.36, 0.48)
    tick = random.uniform(0.09, 0.18)
    ink, clear = random.uniform(0.02, 0.12), random.uniform(0.78, 0.9)
    first = random.uniform(-10, 0)
    lengths = (5.0, 4.0, 3.0, 1.8)
    start = int(random.integers(0, 20))

    def draw(s: Array, t: Array, pixel_mm: float) -> Image:
        place, deep = s - first, t - edge
        dark = np.zeros(np.broadcast_shapes(np.shape(place), np.shape(deep)), np.float32)
        for pitch, length in ((10, lengths[0]), (5, lengths[1]), (1, lengths[2]), (0.5, lengths[3])):
            if pitch < 1 and not half_mm_ticks:
                continue
            off = place - np.round(place / pitch) * pitch
            dark = np.maximum(
                dark,
                _inside(off, tick / 2, pixel_mm)
                * _step(length - deep, pixel_mm)
                * _step(deep - 0.3, pixel_mm),
            )
        dark = np.maximum(dark, _numerals(place, deep - 5.6, pixel_mm, start))
        light = clear + (ink - clear) * dark
        rim = _inside(deep, 0.06, pixel_mm)  # the cut edge bends light away
        beyond = _step(-deep, pixel_mm)
        return np.asarray((light * (1 - beyond) + 0.97 * beyond) * (1 - 0.75 * rim), np.float32)

    return draw


def _numerals(place: Array, up: Array, pixel_mm: float, start: int) -> NDArray[np.float32]:
    """Numbers of two digits centred at each multiple of 10 mm, 2 mm high, foot at up = 0."""
    shape = np.broadcast_shapes(np.shape(place), np.shape(up))
    if float(np.max(up)) < -0.2:
        return np.zeros(shape, np.float32)
    number = np.round(np.broadcast_to(place, shape) / 10).astype(int)
    x = np.broadcast_to(place, shape) - number * 10
    y = np.broadcast_to(up, shape)
    dark = np.zeros(shape, np.float32)
    near = (np.abs(x) < 1.7) & (y > -0.3) & (y < 2.3)
    rows = np.nonzero(near)
    if not rows[0].size:
        return dark
    xs, ys, ns = x[rows], y[rows], number[rows] + start
    found = np.zeros(xs.shape, np.float32)
    for value in np.unique(ns):
        here = ns == value
        for slot, digit in ((-1.25, value // 10 % 10), (0.25, value % 10)):
            for name in _DIGITS[int(digit)]:
                x0, y0, x1, y1 = _SEGMENTS[name]
                dx = np.maximum(np.maximum(x0 + slot - xs[here], xs[here] - x1 - slot), 0)
                dy = np.maximum(np.maximum(y0 - ys[here], ys[here] - y1), 0)
                found[here] = np.maximum(found[here], _inside(np.hypot(dx, dy), 0.14, pixel_mm))
    dark[rows] = found
    return dark


def ruling(random: np.random.Generator) -> Target:
    """Fine straight lines across the slope, pitch 0.15 to 0.5 mm, a little slanted."""
    pitch, ink, clear = random.uniform(0.15, 0.5), random.uniform(0.03, 0.2), random.uniform(0.8, 0.92)
    duty, slant = random.uniform(0.35, 0.6), np.tan(np.radians(random.uniform(-4, 4)))

    def draw(s: Array, t: Array, pixel_mm: float) -> Image:
        place = s + slant * t
        off = place - np.round(place / pitch) * pitch
        return np.asarray(clear + (ink - clear) * _inside(off, duty * pitch / 2, pixel_mm), np.float32)

    return draw


def chart(random: np.random.Generator) -> Target:
    """A repeated strip of bar groups (2 to 14 line pairs per mm, both ways), slanted squares and stars."""
    ink, clear = random.uniform(0.02, 0.1), random.uniform(0.8, 0.93)
    cell = random.uniform(3.0, 5.0)
    kinds = random.permutation(7)
    frequency = random.uniform(2.0, 14.0, 7)

    def draw(s: Array, t: Array, pixel_mm: float) -> Image:
        s, t = np.broadcast_arrays(s, t)
        i, j = np.floor(s / cell).astype(np.int32), np.floor(t / cell).astype(np.int32)
        x, y = s - (i + np.float32(0.5)) * np.float32(cell), t - (j + np.float32(0.5)) * np.float32(cell)
        kind = kinds[(i + 3 * j) % 7]
        pitch = (1.0 / frequency).astype(np.float32)[(2 * i + j) % 7]
        dark = np.zeros(s.shape, np.float32)
        for which, shade in ((kind < 4, None), ((kind == 4) | (kind == 5), _slanted), (kind == 6, _star)):
            a, b = x[which], y[which]
            if shade is not None:
                dark[which] = shade(a, b, cell, pixel_mm)
                continue
            across, step = np.where(kind[which] < 2, a, b), pitch[which]
            off = across - np.round(across / step) * step
            bars = np.clip((step / 4 - np.abs(off)) / pixel_mm + 0.5, 0, 1)
            dark[which] = bars * _inside(np.maximum(np.abs(a), np.abs(b)), 0.4 * cell, pixel_mm)
        return np.asarray(clear + (ink - clear) * dark, np.float32)

    return draw


def _slanted(x: Array, y: Array, cell: float, pixel_mm: float) -> Array:
    """A square turned by 6 degrees."""
    cos, sin = float(np.cos(np.radians(6.0))), float(np.sin(np.radians(6.0)))
    return _inside(np.maximum(np.abs(x * cos + y * sin), np.abs(y * cos - x * sin)), 0.28 * cell, pixel_mm)


def _star(x: Array, y: Array, cell: float, pixel_mm: float) -> Array:
    """A star of 18 dark spokes."""
    radius = np.hypot(x, y)
    spokes = np.clip(0.5 + np.sin(18 * np.arctan2(y, x)) * np.maximum(radius, 1e-3) / (18 * pixel_mm), 0, 1)
    return np.asarray(spokes * _step(0.42 * cell - radius, pixel_mm))


def text(random: np.random.Generator, width_mm: float) -> Target:
    """A page of invented letters printed on clear film, lines along the slope or across it."""
    size = random.uniform(1.4, 3.2)  # height of a capital, mm
    ink, clear = random.uniform(0.03, 0.15), random.uniform(0.75, 0.9)
    page = pictures.letters(random, 48)
    scale = 48 / 2.0 / size  # texture pixels per mm: a cell is two capitals high
    turned = bool(random.random() < 0.5)

    def draw(s: Array, t: Array, pixel_mm: float) -> Image:
        s, t = np.broadcast_arrays(s, t + width_mm)
        along, down = (t, s) if turned else (s, t)
        place = [np.mod(down * scale, page.shape[0]), np.mod(along * scale, page.shape[1])]
        dark = scipy.ndimage.map_coordinates(page, place, order=1, mode="grid-wrap", output=np.float32)
        sharp = (
            np.clip(0.5 + (dark - 0.5) / (scale * pixel_mm * 1.2), 0, 1) if scale * pixel_mm < 0.8 else dark
        )
        return np.asarray(clear + (ink - clear) * sharp, np.float32)

    return draw


def film(random: np.random.Generator, width_mm: float, contrast: float, grain: float) -> Target:
    """Developed film: a picture (contrast in density, 0 for none) and grain.

    Parameters
    ----------
    random : draws picture and place.
    width_mm : width of the strip; frames follow each other with clear bars where the picture is small.
    contrast : density range of the picture.
    grain : standard deviation of density in a square of 10 um.
    """
    views = [pictures.picture(random) for _ in range(4)]
    base = random.uniform(0.1, 0.3)
    frame = width_mm * random.uniform(1.1, 1.6)
    start = random.uniform(0, frame)
    bars = bool(random.random() < 0.4)
    seed = int(random.integers(2**31))

    def draw(s: Array, t: Array, pixel_mm: float) -> Image:
        s, t = np.broadcast_arrays(s, t)
        number = np.floor((s + start) / frame).astype(np.int32)
        x = (s + start) / frame - number
        y = 1 - np.abs(np.mod(t / width_mm + 0.5, 2) - 1)  # mirrored where a skewed crop leaves the frame
        density = np.empty(s.shape, np.float32)
        for k, view in enumerate(views):
            here = number % len(views) == k
            place = [y[here] * (view.shape[0] - 1), x[here] * (view.shape[1] - 1)]
            density[here] = contrast * (
                1 - scipy.ndimage.map_coordinates(view, place, order=1, output=np.float32)
            )
        density = density + (0.5 if contrast < 0.3 else 0.0)
        if bars:
            gap = 1.5 / frame
            edge = np.clip(np.minimum(x, 1 - x) - gap / 2, -1, 1) * frame
            density = density * _step(edge, pixel_mm).astype(np.float32)
        noise = np.random.default_rng(seed).standard_normal(s.shape, np.float32)
        spread = grain * min(0.0106 / pixel_mm, 2.0) * np.sqrt(np.clip(density / 0.8, 0.02, 2.0))
        return np.asarray(10.0 ** -(base + density + spread * noise), np.float32)

    return draw


def make(kind: str, random: np.random.Generator, width_mm: float) -> Target:
    """A random target of this kind (see KINDS) for a picture of this width."""
    if kind == "ruler":
        return ruler(random, width_mm, bool(random.random() < 0.6))
    if kind == "ruling":
        return ruling(random)
    if kind == "chart":
        return chart(random)
    if kind == "text":
        return text(random, width_mm)
    if kind == "grain":
        return film(random, width_mm, random.uniform(0, 0.25), random.uniform(0.06, 0.16))
    if kind == "content":
        return film(random, width_mm, random.uniform(0.9, 1.8), random.uniform(0.02, 0.08))
    raise ValueError(f"target kind {kind!r} is not one of {KINDS}")
