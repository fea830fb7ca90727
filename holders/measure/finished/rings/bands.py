"""One octave of a picture, made even: what the channels share is taken out, what stays has the same strength all over.

Newton's rings multiply the light, so the logarithm of the pixels makes them an added wave whose strength does not
depend on the tone below it. Picture content is mostly common to the colour channels; rings are not, because each
channel has its own wavelength. With S the local 3x3 covariance of the channels, S⁻¹h weighs down exactly the mixtures
in which the picture is strong (the matched filter for coloured noise, e.g. Kay, *Fundamentals of Statistical Signal
Processing* II, chapter 5, from memory).
"""

from __future__ import annotations

import numpy as np
from numpy.typing import NDArray
from scipy import ndimage

F32 = NDArray[np.float32]
Field = NDArray[
    np.float16
]  # what is looked at is between -CLIP and CLIP: a thousandth is fine enough, in half the memory

FINE, COARSE = 0.7, 3.5  # px: the band of one level, a difference of two Gaussians
BORDER = 14  # px: as far as the coarser Gaussian is reckoned
AREA = 9.0  # px: the neighbourhood over which strength and mixture of the channels are judged
DARKEST = 0.003  # fraction of full scale: nothing is read below it
NOISE = 2e-4  # natural logarithm of light: weakest structure believed in
SHARE = np.float32(
    1e-4
)  # of the channels' variance: what differs between them by less is not believed in either
LEAST_ROWS, PIXELS_AT_ONCE = 96, 500_000  # of a band looked at in one piece, with what lies beside it
CLIP = 2.5  # local standard deviations; edges beyond it say nothing about rings


def log_light(values: F32) -> F32:
    """Natural logarithm of light, (channels, rows, columns), from (rows, columns, channels) fractions."""
    return np.ascontiguousarray(
        np.moveaxis(np.log(np.maximum(values, np.float32(DARKEST))), 2, 0), np.float32
    )


def halved(log_channels: F32) -> F32:
    """The next level: means of 2x2."""
    c, h, w = log_channels.shape
    a = log_channels[:, : h // 2 * 2, : w // 2 * 2]
    return np.asarray(a.reshape(c, h // 2, 2, w // 2, 2).mean(axis=(2, 4)), np.float32)


def octave(log_channels: F32) -> F32:
    """The band between the two Gaussians of each channel; a slope that runs out of the frame leaves nothing."""
    out = np.empty_like(log_channels)
    for c, plane in enumerate(log_channels):
        wider = np.pad(plane, BORDER, mode="reflect", reflect_type="odd")
        both = ndimage.gaussian_filter(wider, FINE) - ndimage.gaussian_filter(wider, COARSE)
        out[c] = both[BORDER:-BORDER, BORDER:-BORDER]
    return out


def _smooth(a: F32) -> F32:
    return np.asarray(ndimage.gaussian_filter(a, AREA, mode="nearest", truncate=2.5), np.float32)


def evened(band: F32) -> F32:
    """The band of each channel alone over its local strength, clipped."""
    out = np.empty_like(band)
    for c, plane in enumerate(band):
        strength = np.sqrt(_smooth(plane**2)) + np.float32(NOISE)
        soft = np.clip(plane, -2 * strength, 2 * strength)
        strength = np.sqrt(_smooth(soft**2)) + np.float32(NOISE)
        out[c] = np.clip(plane / strength, -CLIP, CLIP)
    return out


def pair_left(band: F32) -> F32:
    """What two channels hold when each third is left out, (3, 2, rows, columns), of strength 1 and not correlated.

    A wave of the third channel alone leaves no trace in it, though ``unmixed`` carries it into all three.
    """
    mixture = _mixture(band, np.ones(band.shape[1:], np.float32))
    floor = _floor(mixture)
    out = np.empty((3, 2, *band.shape[1:]), np.float32)
    for c in range(3):
        i, j = (k for k in range(3) if k != c)
        first = mixture[i, i] + floor
        shared = mixture[i, j] / first
        out[c, 0] = band[i] / np.sqrt(first)
        out[c, 1] = (band[j] - shared * band[i]) / np.sqrt(mixture[j, j] + floor - shared * mixture[i, j])
    return np.asarray(np.clip(out, -CLIP, CLIP), np.float32)


def unmixed(band: F32) -> F32:
    """The band of three channels with what they share taken out, over its local strength, clipped."""
    inverse = _inverse(_mixture(band, np.ones(band.shape[1:], np.float32)))
    distance = np.einsum("ihw,ijhw,jhw->hw", band, inverse, band)
    del inverse  # the largest of all, and not wanted beside the next one
    # edges are few and strong: they must not decide what is taken for the common part
    inverse = _inverse(
        _mixture(band, np.asarray(np.minimum(1.0, 6.0 / np.maximum(distance, 1e-6)), np.float32))
    )
    out = np.einsum("ijhw,jhw->ihw", inverse, band)
    for c in range(3):
        out[c] /= np.sqrt(np.maximum(inverse[c, c], 1e-12))
    return np.asarray(np.clip(out, -CLIP, CLIP), np.float32)


def planes(band: F32, out: Field | None = None) -> Field:
    """``unmixed`` and after it ``pair_left`` of each channel, (9, rows, columns), of a band of three channels.

    Noise as strong as the weakest structure believed in is laid over the band first (always the same): without it the
    smallest differences between channels that are otherwise alike would be looked at as if they were strong. Some rows
    at a time, with as many beside them as three smoothings reach: the channels' mixture takes six times the band.
    They are written into ``out`` where that is given.
    """
    random = np.random.default_rng(1)
    noise = np.empty(band.shape, np.float16)
    for plane in noise:
        made = octave(random.standard_normal((1, *plane.shape), np.float32))[0]
        made /= made.std()
        plane[:] = made
        del made
    if out is None:
        out = np.empty((9, *band.shape[1:]), np.float16)
    high, wide = band.shape[1:]
    reach = 3 * int(2.5 * AREA + 0.5) + 1
    rows = max(LEAST_ROWS, PIXELS_AT_ONCE // wide - 2 * reach)
    for top in range(0, high, rows):
        below = min(high, top + rows)
        a, b = max(0, top - reach), min(high, below + reach)
        part = band[:, a:b]
        mixture = _mixture(part, np.ones(part.shape[1:], np.float32))
        laid = part + noise[:, a:b] * np.sqrt(_floor(mixture))
        del mixture
        keep = slice(top - a, below - a)
        out[:3, top:below] = unmixed(laid)[:, keep]
        out[3:, top:below] = pair_left(laid).reshape(6, *laid.shape[1:])[:, keep]
    return out


def _mixture(band: F32, weight: F32) -> F32:
    total = _smooth(weight)
    out = np.empty((3, 3, *band.shape[1:]), np.float32)
    for i in range(3):
        for j in range(i, 3):
            out[i, j] = out[j, i] = _smooth(weight * band[i] * band[j]) / total
    return out


def _floor(mixture: F32) -> F32:
    """Variance of the weakest structure believed in, where the channels' strength is that."""
    return np.asarray(NOISE**2 + (mixture[0, 0] + mixture[1, 1] + mixture[2, 2]) * SHARE, np.float32)


def _inverse(m: F32) -> F32:
    floor = _floor(m)
    a, b, c = m[0, 0] + floor, m[1, 1] + floor, m[2, 2] + floor
    d, e, f = m[0, 1], m[0, 2], m[1, 2]
    out = np.empty_like(m)
    out[0, 0], out[1, 1], out[2, 2] = b * c - f * f, a * c - e * e, a * b - d * d
    out[0, 1] = out[1, 0] = e * f - d * c
    out[0, 2] = out[2, 0] = d * f - e * b
    out[1, 2] = out[2, 1] = d * e - a * f
    out /= a * out[0, 0] + d * out[0, 1] + e * out[0, 2]
    return out
