"""From the cells of many strips to one spectrum per place along the slope: what is dirt or blank is left out."""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.small import running_median
from holders.measure.scan.spectra import F64, Features

TEXTURE_SHARE = 0.12  # cells with less detail than this share of the best beside them are blank margin
LEAST_HELD = 0.3  # of a place's detail that must lie in cells which are not left out
OUTLIER = 4.0  # robust standard deviations of the logarithm
MOST_ODD = 0.67
DARKEST = 0.004  # fraction of full scale below which a cell is opaque


@dataclass(frozen=True)
class Gathered:
    """Mean power per place and feature, logarithm (n, f); mean level (n,); where their detail lies
    (n,), pixels behind the cells' middles; share of the cells that was used.
    """

    log_power: F64
    level: F64
    offset: F64
    used: float
    kept: NDArray[np.bool_]


def gather(power: F64, level: F64, offset: F64, allowed: NDArray[np.bool_], features: Features) -> Gathered:
    """Combine strips.

    Parameters
    ----------
    power:
        (strips, n, f) relative power of each cell in each feature.
    level:
        (strips, n) mean level of each cell.
    offset:
        (strips, n) where the detail of each cell lies.
    allowed:
        (strips, n) which cells lie in the window.

    Notes
    -----
    A cell is left out if it is opaque, if it is blank (judged by its coarse detail, which blur hardly touches), or
    if its detail outside the ruling's own line is far above what both its neighbours along the slope and those
    across it lead one to expect: dust, hairs, numerals, scratches. Places with no cell left, or with none but cells
    that hold hardly any of the target, hold NaN.
    """
    lit = allowed & (level > np.maximum(DARKEST, 0.1 * np.median(level)))
    pick = ~features.is_line & (features.frequency > np.median(features.frequency) * 0.4)
    if not pick.any():
        pick = np.ones_like(features.is_line)
    detail = np.log(np.maximum(power[:, :, pick].mean(axis=2), 1e-30))
    steady = textured(power, lit, features)
    kept = lit & (steady > 0.0)
    for _ in range(2):
        part = np.where(kept, detail, np.nan)
        # what neighbours along and across lead one to expect; a strip's own bias (its share of the target) set aside
        rest = part - _running(_nanmedian(part, 0))[None, :]
        rest = rest - _nanmedian(rest, 1)[:, None]
        spread = 1.4826 * float(np.nanmedian(np.abs(rest))) if kept.any() else 0.0
        odd = kept & (rest > OUTLIER * max(spread, 0.02))
        # a place where most cells are odd has no neighbours to be judged by
        kept = kept & ~(odd & (odd.sum(axis=0) <= MOST_ODD * kept.sum(axis=0)))
    # cells that hold next to nothing of the target must not stand for those beside them that dirt has spoilt
    held = (steady * kept).sum(axis=0) >= LEAST_HELD * (steady * lit).sum(axis=0)
    kept = kept & held[None, :]
    weight = kept.astype(float)
    total = weight.sum(axis=0)
    mean = np.einsum("snf,sn->nf", power, weight) / np.maximum(total, 1.0)[:, None]
    bright = (level * weight).sum(axis=0) / np.maximum(total, 1.0)
    pull = power.sum(axis=2) * weight
    behind = (offset * pull).sum(axis=0) / np.maximum(pull.sum(axis=0), 1e-30)
    log_power = np.where(total[:, None] > 0, np.log(np.maximum(mean, 1e-30)), np.nan)
    return Gathered(log_power, bright, behind, float(weight.sum() / max(lit.sum(), 1)), kept)


def textured(power: F64, lit: NDArray[np.bool_], features: Features) -> F64:
    """Coarse detail of cells that carry the target, a running median along it, (strips, n); zero elsewhere."""
    coarse = features.frequency <= np.sort(features.frequency)[max(2, len(features.frequency) // 3)]
    total = np.where(lit, power[:, :, coarse].sum(axis=2), 0.0)
    steady = running_median(total, 9, axis=1)
    best = running_median(steady.max(axis=0), 9)
    return np.where(steady >= TEXTURE_SHARE * best[None, :], steady, 0.0)


def _running(a: F64) -> F64:
    return running_median(a, 5)


def _nanmedian(a: F64, axis: int) -> F64:
    empty = ~np.isfinite(a).any(axis=axis)
    filled = np.where(np.expand_dims(empty, axis), 0.0, a)
    return np.asarray(np.nanmedian(filled, axis=axis), dtype=float)
