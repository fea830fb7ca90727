"""What may be said of a scan's sharpness, and where nothing can.

Film's grain is as strong at all frequencies that a flatbed shows, so what is missing of it the lens took: grain says
how sharp a place is. A picture may be soft in itself. So every place is judged twice: once as if pictures held fine
detail everywhere ("crisp"), once as if any of them might not ("soft"). Where both agree the place is judged; where they
do not, one scan cannot tell.
"""

from __future__ import annotations

from dataclasses import dataclass

import numpy as np
from numpy.typing import NDArray

from holders.measure.finished.blur.blocks import BlockSpectra, ring_of_bins
from holders.measure.finished.blur.cells import Cells, gather, misfits
from holders.measure.finished.blur.smooth import join
from holders.measure.finished.blur.transfer import CORES_MM, STEPS, disc_share, judged_lp_mm, ring_model
from holders.measure.scan.spectra import F64

IN_BAND = (
    0.7  # of the contrast that the lens gives at its best: what counts as sharp; common practice, no source
)
LENS_MM, LENS_FACTOR = (
    0.0095,
    1.25,
)  # best focus of a flatbed's lens: 50 % at 13 to 31 lp/mm (two sigma); no source
TRUST = 0.5  # of a cell's evidence: neighbouring frequencies and blocks share grain and edges
TRUST_ALL = (
    0.3  # of all cells' evidence about the one lens: what is wrong with the model is wrong in all of them
)
GOOD_FIT, COARSE_FIT = (
    12.0,
    1.25,
)  # sum of squares of a usual fit (15 rings); how much more a coarse scan may leave
SEEN = 15.0  # sum of squares by which detail and noise together must fit better than noise alone
RARELY_SOFT = 0.02  # odds of a soft picture in the first judgement
HOPE = 1.0  # e-folding of blur in the second: no more blur than must be
SAME = 0.5  # blurs, as x of 2 J1(x) / x, that are alike
SURE = 0.85
# spherical aberration spreads a point unlike a disc, unlike above and below the focus: blur read as a disc's was 0.7 to
# 1.05 of that which takes the contrast at the judged frequency (tests/simulators/optics.py, up to 0.02 mm of it)
DISC_READS, DISC_SPREAD = 0.92, 0.13
RIM_BLUR = DISC_READS * 1.6374  # where 2 J1(x) / x falls to IN_BAND
FINE = 48  # points along the long side at which the map is counted
LEAST_JUDGED = 0.5
MOST_SIGMA = 0.05  # two of it are the tenth of the area within which a share is to be right
ODD_LENS = 1.5  # sigmas from the usual lens: a film that is soft all over looks like one with a poor lens
COARSE_LP_MM = (
    12.0  # a scan that holds no more must fit the model well to be believed: grain and noise look alike there
)


@dataclass(frozen=True)
class BlurMap:
    """Sharpness on a grid of cells, rows by columns; NaN where nothing is known.

    ``share`` of the lens's best contrast at ``lp_mm`` that is kept, ``blur`` the x of 2 J1(x) / x behind it (in
    proportion to the distance from the sharp plane), ``judged`` whether the scan can say so. ``in_band_fraction`` of
    the film's area that keeps ``IN_BAND``, None where too little can be judged, with ``in_band_sigma``; ``roughly`` is
    that share however large its sigma. ``unlike``: share of the area whose spectrum no blur explains, of a scan that
    holds little fine detail. ``odd_lens``: only a lens unlike a flatbed's would make the film so sharp. ``packed``: the
    picture was packed with losses, which takes grain away or makes some, so that nothing can be said.
    """

    x_mm: F64
    y_mm: F64
    share: F64
    blur: F64
    judged: NDArray[np.bool_]
    judged_fraction: float
    in_band_fraction: float | None
    in_band_sigma: float
    lp_mm: float
    lens_mm: float
    unlike: float = 0.0
    roughly: float | None = None
    odd_lens: bool = False
    packed: bool = False


def judge(
    found: BlockSpectra, pitch_mm: tuple[float, float], inside: tuple[float, float, float, float]
) -> BlurMap:
    """Judge the lit area ``inside`` (left, top, right, bottom; mm)."""
    cells = gather(found, pitch_mm, inside)
    shape = (len(cells.y_mm), len(cells.x_mm))
    lp_mm = judged_lp_mm(found.pixel_mm)
    if len(cells.row) < 4 or found.packed:
        none = np.full(shape, np.nan)
        return BlurMap(
            cells.x_mm, cells.y_mm, none, none, np.zeros(shape, bool), 0.0, None, 1.0, lp_mm, np.nan,
            packed=found.packed,
        )  # fmt: skip
    ring = ring_of_bins()
    left = misfits(cells, ring_model(found.pixel_mm), np.bincount(ring[ring >= 0]).astype(float))
    crisp, soft, lens = beliefs(cells, *left)
    lowered, hoped = (np.einsum("ncs,c,s->n", b, lens, STEPS) for b in (crisp, soft))
    sure = [
        np.einsum("ncs,c->ns", b, lens)[:, disc_share(STEPS / DISC_READS) >= IN_BAND].sum(axis=1)
        for b in (crisp, soft)
    ]
    alike = np.abs(lowered - hoped) < SAME
    fits = (
        left[1].min(axis=(1, 2)) < COARSE_FIT * GOOD_FIT
        if lp_mm < COARSE_LP_MM
        else np.ones(len(lowered), bool)
    )
    side = (np.minimum(*sure) > SURE) | (np.maximum(*sure) < 1 - SURE)
    judged = np.zeros(shape, bool)
    judged[cells.row, cells.column] = (alike | side) & fits
    drawn = [
        *np.einsum("ncs,s->cn", crisp, STEPS),
        hoped,
        *(lowered * (1 + k * DISC_SPREAD) for k in (-1, 1)),
    ]
    *shares, other, less, more = share_in_band(cells, np.stack(drawn, axis=1), inside)
    best = float(lens @ np.asarray(shares))
    spread = float(np.sqrt(lens @ (np.asarray(shares) - best) ** 2))
    blur, share = np.full(shape, np.nan), np.full(shape, np.nan)
    blur[cells.row, cells.column] = lowered
    share[cells.row, cells.column] = np.einsum(
        "ncs,c,s->n", crisp, lens, np.abs(disc_share(STEPS / DISC_READS))
    )
    fraction = float(judged.mean())
    # what fits no blur of the model is counted as its neighbours are, and may be anything
    unlike = _area(cells.row[~fits], cells.column[~fits], shape)
    doubt, odd = _of_the_lens(lens, np.asarray(shares), best)
    squares = (
        max(spread, 0.02) ** 2 + 0.25 * ((other - best) ** 2 + (more - less) ** 2) + unlike**2 + doubt**2
    )
    sigma = min(1.0, float(np.sqrt(squares)))
    known = fraction >= LEAST_JUDGED and sigma <= MOST_SIGMA
    return BlurMap(
        cells.x_mm, cells.y_mm, share, blur, judged, fraction, best if known else None, sigma, lp_mm,
        float(lens @ CORES_MM), unlike, best if fraction >= LEAST_JUDGED else None, odd,
    )  # fmt: skip


def _of_the_lens(lens: F64, shares: F64, best: float) -> tuple[float, bool]:
    """How far the share is from what the nearest usual lens makes of it, and whether that matters.

    Nothing but the form of the blur tells a poor lens from a film that is out of focus all over, and spherical
    aberration changes the form: a lens no flatbed has is not believed on that evidence alone.
    """
    away = np.log(float(lens @ CORES_MM) / LENS_MM) / np.log(LENS_FACTOR)
    if abs(away) <= ODD_LENS:
        return 0.0, False
    usual = LENS_MM * LENS_FACTOR ** float(np.clip(away, -ODD_LENS, ODD_LENS))
    doubt = abs(best - float(np.interp(usual, CORES_MM, shares)))
    return doubt, doubt > MOST_SIGMA


def _area(row: NDArray[np.intp], column: NDArray[np.intp], shape: tuple[int, int]) -> float:
    """Share of the cells that these are, with a quarter of those beside them: their rim runs through both."""
    wide = np.zeros((shape[0] + 2, shape[1] + 2), bool)
    wide[row + 1, column + 1] = True
    beside = wide[:-2, 1:-1] | wide[2:, 1:-1] | wide[1:-1, :-2] | wide[1:-1, 2:]
    inside = wide[1:-1, 1:-1]
    return float((inside + 0.25 * (beside & ~inside)).mean())


def beliefs(cells: Cells, crisp: F64, soft: F64, noise: F64) -> tuple[F64, F64, F64]:
    """Beliefs (n, cores, steps) as crisp and as soft, and the odds of each core (cores,); from ``misfits``."""
    least = soft.min(axis=(1, 2))
    seen = noise - least > SEEN
    trust = (-0.5 * TRUST * seen / np.maximum(1.0, least / GOOD_FIT))[:, None, None]
    firm = np.exp(trust * (crisp - least[:, None, None]))
    loose = np.exp(trust * (soft - least[:, None, None]))
    first = (1 - RARELY_SOFT) * firm + RARELY_SOFT * loose
    belief, around = join(first / first.max(axis=2, keepdims=True), STEPS, cells.row, cells.column)
    evidence = np.log((around * (first + 1e-3)).sum(axis=2)).sum(axis=0)
    odds = TRUST_ALL * evidence - 0.5 * (np.log(CORES_MM / LENS_MM) / np.log(LENS_FACTOR)) ** 2
    lens = np.exp(odds - odds.max())
    second = loose * np.exp(-STEPS / HOPE)
    hoped, _ = join(second / second.max(axis=2, keepdims=True), STEPS, cells.row, cells.column)
    return belief, hoped, lens / lens.sum()


def share_in_band(cells: Cells, blur: F64, inside: tuple[float, float, float, float]) -> F64:
    """Shares of the area that keep ``IN_BAND``, for each map of blur (n, maps) drawn smoothly through the cells."""
    from scipy.interpolate import RBFInterpolator  # noqa: PLC0415

    wide, high = inside[2] - inside[0], inside[3] - inside[1]
    nx = max(8, round(FINE * wide / max(wide, high)))
    ny = max(8, round(FINE * high / max(wide, high)))
    x = inside[0] + (np.arange(nx) + 0.5) / nx * wide
    y = inside[1] + (np.arange(ny) + 0.5) / ny * high
    through = RBFInterpolator(cells.at_mm, blur, kernel="linear", smoothing=0.1)
    grid = np.stack(np.meshgrid(x, y), axis=-1).reshape(-1, 2)
    kept = disc_share(np.abs(through(grid)) / DISC_READS)
    return np.asarray((kept >= IN_BAND).mean(axis=0))
