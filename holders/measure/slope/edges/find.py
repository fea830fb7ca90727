"""Edges in a scan of a slope and how steep each one is, whatever the target shows.

The greatest slope of an edge, divided by its contrast, is the height of its line spread function: the integral of the
modulation transfer over frequency (ISO 12233 takes the spread function from an edge likewise). It depends neither on
contrast nor on how much detail lies beside it, so picture content, letters and bars all show the blur of their place.
An edge may be soft of itself, so the steep ones of each height tell.
"""

from __future__ import annotations

from collections.abc import Iterator
from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.model import Pixels, Span
from holders.measure.scan.spectra import F32, F64
from holders.measure.scan.view import View
from holders.measure.slope.target.placed import Placed

WORKING_PITCH_MM = 0.0099  # finer scans are averaged to no finer than that
SMOOTHING = 0.8  # pixels: standard deviation of the derivative's own smoothing
REACH_MM = 0.15  # to either side of an edge in which its contrast is looked for
LEAST_CONTRAST = 0.06  # of full scale
NOISES = 14.0  # times the noise that an edge's contrast must have
MOST_PIXELS = 4_000_000  # worked on, of the whole slope
STRIP = 96
CHUNK = 1_500_000
MOST_POINTS = 40_000  # of one chunk


@dataclass(frozen=True)
class Edges:
    """Edge points: ``height`` mm, ``across`` share of the slope's width (-0.5 .. 0.5), ``along`` mm from its first
    pixel, ``steepness`` 1/mm, ``contrast`` share of full scale, ``lengthwise`` whether the edge runs along the
    slope rather than across it, ``kind`` by how far the next edges lie on its bright and dark side (0: none near);
    all (n,).
    """

    height: F64
    across: F64
    along: F64
    steepness: F64
    contrast: F64
    lengthwise: NDArray[np.bool_]
    kind: NDArray[np.int64]

    def only(self, pick: NDArray[np.bool_]) -> Edges:
        """Some of them."""
        return Edges(*(getattr(self, name)[pick] for name in self.__dataclass_fields__))


def find_edges(view: View, placed: Placed) -> Edges:
    """Edge points on the slope, of as much of it as is worth reading."""
    part = placed.part
    factor = max(1, int(WORKING_PITCH_MM * 1.05 / view.pitch_mm))
    pitch = view.pitch_mm * factor
    middle = 0.5 * (part.across[0] + part.across[1])
    wide = part.across[1] - part.across[0]
    found = []
    for a0, c0, light in _chunks(view, placed, factor):
        y, x, steep, contrast, lengthwise, kind = _points(light, pitch)
        along, across = a0 + (x + 0.5) * factor, c0 + (y + 0.5) * factor
        keep = (along >= part.along[0]) & (along < part.along[1])
        if placed.inside is not None:
            keep &= placed.inside(along, across)
        height = placed.base_mm + placed.per_pixel_mm * (along - placed.lean * (across - middle))
        columns = (
            height, (across - middle) / wide, (along - part.along[0]) * view.pitch_mm, steep, contrast, lengthwise,
            kind,
        )  # fmt: skip
        found.append([column[keep] for column in columns])
    a = [np.concatenate(column) for column in zip(*found, strict=True)] if found else [np.zeros(0)] * 7
    return Edges(a[0], a[1], a[2], a[3], a[4], np.asarray(a[5], np.bool_), np.asarray(a[6], np.int64))


def _strips(part_across: Span, length: int, factor: int) -> list[Span]:
    """Spans across the slope to read: all of it, or strips spread over it."""
    a, b = part_across
    tall = STRIP * factor
    most = max(tall, MOST_PIXELS * factor**2 // max(length, 1))
    if b - a <= most:
        return [part_across]
    count = max(1, most // tall)
    starts = np.linspace(a, b - tall, count + 2)[1:-1]
    return [(int(s), int(s) + tall) for s in starts]


def _chunks(view: View, placed: Placed, factor: int) -> Iterator[tuple[int, int, F32]]:
    """First pixel along, first across and light (across, along) averaged over ``factor`` pixels each way.

    The file is walked along its own rows, so that no piece of it is decoded for every strip or chunk again.
    """
    a, b = placed.part.along
    margin = int(np.ceil(REACH_MM / view.pitch_mm)) + 8 * factor
    strips = _strips(placed.part.across, b - a, factor)
    tall = sum(c1 - c0 for c0, c1 in strips)
    long = max(4 * margin, CHUNK // (strips[0][1] - strips[0][0] if view.by_columns else tall))
    spans = [(max(a, s - margin), min(b, s + long + margin)) for s in range(a, b, long)]
    if view.by_columns:
        for strip in strips:
            whole = view.raw([(a, b)], [strip])
            for first, last in spans:
                yield first, strip[0], _reduced(view, whole[:, first - a : last - a], factor)
        return
    for first, last in spans:
        whole = view.raw([(first, last)], strips)
        row = 0
        for c0, c1 in strips:
            yield first, c0, _reduced(view, whole[row : row + c1 - c0], factor)
            row += c1 - c0


def _reduced(view: View, raw: Pixels, factor: int) -> F32:
    """Mean light of the channels, averaged over ``factor`` pixels each way."""
    light = np.asarray(view.light(raw).mean(axis=2, dtype=np.float32))
    if factor == 1:
        return light
    h, w = light.shape[0] // factor, light.shape[1] // factor
    return np.asarray(light[: h * factor, : w * factor].reshape(h, factor, w, factor).mean(axis=(1, 3)))


def _noise(light: F32) -> float:
    """Standard deviation of one pixel's noise, by the quieter tenth of small blocks' differences."""
    size = 12
    h, w = (light.shape[0] - 1) // size * size, light.shape[1] // size * size
    if not h or not w:
        return float(np.diff(light, axis=0).std() / np.sqrt(2.0))
    blocks = np.diff(light, axis=0)[:h, :w].reshape(h // size, size, w // size, size)
    return float(np.percentile(blocks.std(axis=(1, 3)), 10) / np.sqrt(2.0))


def _points(light: F32, pitch: float) -> tuple[F64, F64, F64, F64, NDArray[np.bool_], NDArray[np.int64]]:
    """Crests of the gradient: row, column, steepness (1/mm), contrast, whether they run lengthwise, kind."""
    from scipy import ndimage  # noqa: PLC0415

    smooth = ndimage.gaussian_filter(light, SMOOTHING, mode="nearest")
    gy = np.gradient(smooth, axis=0)
    gx = np.gradient(smooth, axis=1)
    size = np.hypot(gx, gy)
    reach = max(4, round(REACH_MM / pitch))
    edge = reach + 2
    if light.shape[0] < 8 or light.shape[1] <= 2 * edge:
        return _none()
    least = max(LEAST_CONTRAST, NOISES * _noise(light))
    inner = np.zeros(size.shape, np.bool_)
    inner[3:-3, edge:-edge] = size[3:-3, edge:-edge] > least / (3.0 * reach)
    # crests: no smaller than both neighbours along the nearer axis of the gradient
    flat = np.abs(gx) >= np.abs(gy)
    crest = np.zeros_like(inner)
    crest[1:-1, 1:-1] = np.where(
        flat[1:-1, 1:-1],
        (size[1:-1, 1:-1] >= size[1:-1, :-2]) & (size[1:-1, 1:-1] > size[1:-1, 2:]),
        (size[1:-1, 1:-1] >= size[:-2, 1:-1]) & (size[1:-1, 1:-1] > size[2:, 1:-1]),
    )
    y, x = np.nonzero(crest & inner)
    if len(y) > MOST_POINTS:
        pick = np.linspace(0, len(y) - 1, MOST_POINTS).astype(int)
        y, x = y[pick], x[pick]
    if not len(y):
        return _none()
    nx, ny = gx[y, x] / size[y, x], gy[y, x] / size[y, x]
    steps = np.arange(-reach, reach + 1)
    rows, columns = y[:, None] + ny[:, None] * steps, x[:, None] + nx[:, None] * steps
    profile = ndimage.map_coordinates(smooth, [rows, columns], order=1, mode="nearest")
    up, down = profile[:, reach + 1 :], profile[:, reach - 1 :: -1]
    contrast = up.max(axis=1) - down.min(axis=1)
    slope = np.diff(profile, axis=1)
    # the crest itself, between pixels
    before, after = slope[:, reach - 1], slope[:, reach]
    top = size[y, x]
    side = ndimage.map_coordinates(
        size, [np.concatenate([y - ny, y + ny]), np.concatenate([x - nx, x + nx])], order=1, mode="nearest"
    )
    before, after = side[: len(y)], side[len(y) :]
    bend = before - 2.0 * top + after
    peak = top - np.where(bend < 0, (after - before) ** 2 / np.minimum(8.0 * bend, -1e-9), 0.0)
    keep = (
        (contrast > least) & (slope.max(axis=1) <= 1.1 * peak) & (after < top * 1.02) & (before < top * 1.02)
    )
    middle = 0.5 * (up.max(axis=1) + down.min(axis=1))
    kind = _widths(middle[:, None] - up, pitch) + 100 * _widths(down - middle[:, None], pitch)
    return (
        y[keep].astype(float), x[keep].astype(float), np.asarray((peak / contrast / pitch)[keep], dtype=float),
        np.asarray(contrast[keep], dtype=float), np.asarray(np.abs(ny[keep]) > np.abs(nx[keep])), kind[keep],
    )  # fmt: skip


def _none() -> tuple[F64, F64, F64, F64, NDArray[np.bool_], NDArray[np.int64]]:
    empty = np.zeros(0)
    return empty, empty, empty, empty, np.zeros(0, np.bool_), np.zeros(0, np.int64)


def _widths(below: F32, pitch: float) -> NDArray[np.int64]:
    """How far it is to the next edge back, in steps of a fifth from 0.01 mm; 0 where there is none in reach.

    ``below`` (n, reach): positive where the profile lies on the other side of the middle level.
    """
    left = np.cumsum(below <= 0, axis=1) > 0  # the first pixels may still lie on the edge itself
    back = left & (below > 0)
    at = np.maximum(np.argmax(back, axis=1), 1)
    rows = np.arange(len(below))
    a, b = below[rows, at - 1], below[rows, at]
    exact = at + np.where(b > a, -a / np.maximum(b - a, 1e-9), 0.0)
    step = np.rint(np.log(np.maximum(exact * pitch, 1e-3) / 0.01) / 0.2).astype(np.int64) + 1
    return np.where(back.any(axis=1), np.clip(step, 1, 99), 0)
