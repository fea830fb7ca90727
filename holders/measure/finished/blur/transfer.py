"""What a lens, a pixel and a defocus leave of film's detail, ring by ring of a block's spectrum.

The lens at its best is a Gaussian of standard deviation ``core_mm``; out of focus each point becomes a disc, whose
transfer is 2 J1(x) / x with x = 2 pi radius frequency (elementary; the geometrical-optics transfer of defocus,
H. H. Hopkins, Proc. R. Soc. A 231, 91 (1955), from memory). A pixel is a square that gathers light, and what lies
beyond half the sampling rate folds back.
"""

from __future__ import annotations

import numpy as np

from holders.measure.finished.blur.blocks import BLOCK, RINGS, ring_of_bins
from holders.measure.scan.spectra import F64

FINE_LP_MM = (
    15.0  # the detail by which a place is called sharp: half of what a flatbed shows at all; common practice
)
OF_NYQUIST = 0.68  # a coarse scan is judged by what it can hold
# what a cell's spectrum may be made of before lens and defocus: (power of frequency it falls with, own softness as x);
# grain is as strong at all frequencies; a picture may be crisp or soft in itself, which is no fault of the scan
CONTENT = ((0.0, 0.0), (1.6, 0.0), (3.2, 0.0), (2.0, 1.2), (2.0, 2.2), (2.0, 3.6), (3.2, 2.6))
CRISP = (0, 1, 2)  # parts that are crisp in themselves
CORES_MM = np.geomspace(0.0055, 0.018, 12)  # of the lens; see cores_mm
REDUCTION = 0.2  # pixels, standard deviation, beyond the pixel's own square; judgement
STEPS = np.concatenate([np.linspace(0.0, 3.0, 16), np.linspace(3.4, 7.0, 10)])  # x at the judged frequency


def cores_mm(pixel_mm: float) -> F64:
    """Standard deviations tried for the lens at its best, with what a scanner's own reduction to coarse pixels adds."""
    return np.hypot(CORES_MM, REDUCTION * pixel_mm)


def judged_lp_mm(pixel_mm: float) -> float:
    """The spatial frequency by which a scan of this pixel pitch is judged."""
    return min(FINE_LP_MM, OF_NYQUIST * 0.5 / pixel_mm)


def disc_share(x: F64) -> F64:
    """Transfer of a disc, 2 J1(x) / x."""
    from scipy.special import j1  # noqa: PLC0415

    safe = np.maximum(np.asarray(x, float), 1e-6)
    return np.asarray(2.0 * j1(safe) / safe)


def ring_model(pixel_mm: float) -> F64:
    """Expected ring powers, (cores, steps, parts, rings): the parts of ``CONTENT``, then noise."""
    ring = ring_of_bins()
    pick = ring >= 0
    fy, fx = np.meshgrid(np.fft.fftfreq(BLOCK), np.fft.rfftfreq(BLOCK), indexing="ij")
    fy, fx, ring = fy[pick] / pixel_mm, fx[pick] / pixel_mm, ring[pick]
    share = np.zeros((len(RINGS) - 1, len(ring)))
    share[ring, np.arange(len(ring))] = 1.0
    share /= share.sum(axis=1, keepdims=True)
    judged, cores = judged_lp_mm(pixel_mm), cores_mm(pixel_mm)
    out = np.zeros((len(CORES_MM), len(STEPS), len(CONTENT) + 1, len(RINGS) - 1))
    out[:, :, -1] = 1.0
    size = np.ones(len(CONTENT))  # parts of like size keep the fit well conditioned
    for k, m in ((0, 0), *((k, m) for k in (-1, 0, 1) for m in (-1, 0, 1) if k or m)):
        gx, gy = fx + k / pixel_mm, fy + m / pixel_mm
        f = np.hypot(gx, gy)
        aperture = np.sinc(gx * pixel_mm) ** 2 * np.sinc(gy * pixel_mm) ** 2
        disc = disc_share(STEPS[:, None] * f[None, :] / judged) ** 2
        core = np.exp(-4.0 * (np.pi * cores[:, None] * f[None, :]) ** 2)
        # what folds back is grain; pictures hold next to nothing that fine
        for part, (slope, soft) in enumerate(CONTENT if not (k or m) else CONTENT[:1]):
            seen = aperture * (f * pixel_mm) ** -slope * np.exp(-((0.5 * soft * f / judged) ** 2))
            if not (k or m):
                size[part] = (share @ seen).mean()
            seen = seen / size[part]
            out[:, :, part] += np.einsum("cf,sf,rf->csr", core * seen, disc, share, optimize=True)
    return out
