"""A scan of a sloping target in, the measured focus height out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from holders.errors import InputError
from holders.focus import band as bands
from holders.focus.combine import across_channels, across_scans
from holders.focus.estimate import Estimate, estimate
from holders.focus.gather import Gathered, gather
from holders.focus.geometry import SlopeGeometry
from holders.focus.profile import F64
from holders.focus.result import ChannelResult, FocusResult, Profile
from holders.focus.sample import Part, Progress, Taken, choose_cells, features_for, plan, preview, take
from holders.focus.scan import open_scan
from holders.focus.signs import signs_in_pixels, signs_in_spectrum
from holders.focus.spectra import Cells, Features
from holders.focus.view import View, look

WANTED_SIGMA = 0.005
LEAST_SHARE = 0.25
CHANNEL_NAMES = {1: ("grey",), 3: ("red", "green", "blue")}


@dataclass(frozen=True)
class Wish:
    """What the caller wants beside the height: band definition and how certain is certain enough (mm)."""

    frequency_lp_mm: float = bands.FREQUENCY
    band_share: float = bands.SHARE
    sigma_mm: float = WANTED_SIGMA

    def __post_init__(self) -> None:
        if not 0.5 <= self.frequency_lp_mm <= 500:
            raise InputError("frequency", self.frequency_lp_mm, "give lp/mm between 0.5 and 500")
        if not 0.05 <= self.band_share <= 0.99:
            raise InputError("band share", self.band_share, "give a share between 0.05 and 0.99")


@dataclass(frozen=True)
class Placed:
    """The part of a view that lies on a slope, and the height of each place along it."""

    part: Part
    slope: float
    heights: F64
    cells: Cells
    warnings: tuple[str, ...]


def _quiet(_what: str, _share: float) -> None:
    """No progress wanted."""


def measure_focus(
    paths: Sequence[str | Path],
    *,
    geometry: SlopeGeometry,
    dpi: float | None = None,
    wish: Wish | None = None,
    progress: Progress | None = None,
) -> FocusResult:
    """Measure the height above the glass at which a bed is sharpest.

    Parameters
    ----------
    paths:
        Scans of the same target at the same place. More than one: their heights are averaged by certainty.
    geometry:
        How the target climbs.
    dpi:
        Pixels per inch; overrides the file's own.
    progress:
        Called with what is done and the share of it that is done, 0..1.

    Raises
    ------
    InputError
        A file that cannot be read, no resolution, nothing on the slope, nothing sharp to measure.
    """
    if not paths:
        raise InputError("SCAN", "", "give at least one scan")
    results = [
        measure_one(p, geometry=geometry, dpi=dpi, wish=wish or Wish(), progress=progress or _quiet)
        for p in paths
    ]
    return results[0] if len(results) == 1 else across_scans(results)


def measure_one(
    path: str | Path, *, geometry: SlopeGeometry, dpi: float | None, wish: Wish, progress: Progress
) -> FocusResult:
    """Measure one scan. See ``measure_focus``."""
    scan = open_scan(path)
    try:
        view = look(scan, dpi)
        placed = place(view, geometry)
        return _measure(view, placed, wish, progress)
    finally:
        scan.close()


def place(view: View, geometry: SlopeGeometry) -> Placed:
    """Which pixels lie on the slope, and how high."""
    far_end = geometry.reverse != view.flipped
    run = int(round(geometry.run_mm / view.pitch_mm))
    warnings = list(view.scan.info.warnings)
    long_mm = view.along * view.pitch_mm
    length = min(run, view.along)
    if view.along > 1.02 * run:
        warnings.append(
            f"the scan is {long_mm:.1f} mm long by its resolution and the run is {geometry.run_mm:.1f} mm: only the "
            "run is measured; is the resolution right?"
        )
    elif view.along < 0.9 * run:
        warnings.append(
            f"the scan is {long_mm:.1f} mm long by its resolution and the run is {geometry.run_mm:.1f} mm: the upper "
            "part of the slope is not in it; is the resolution right?"
        )
    span = (view.along - length, view.along) if far_end else (0, length)
    part = Part(span, (0, view.across))
    slope = geometry.rise_mm / geometry.run_mm
    cells = choose_cells(view, part, slope)
    middle = cells.centres(length) + span[0]
    position = (view.along - middle if far_end else middle) * view.pitch_mm
    return Placed(part, slope, geometry.height(position), cells, tuple(warnings))


def _measure(view: View, placed: Placed, wish: Wish, tell: Progress) -> FocusResult:
    part, cells = placed.part, placed.cells
    starts, turn, marked = preview(view, part, cells)
    features, judged = features_for(cells, turn, marked)
    taken: Taken | None = None
    fits: list[Fit] = []
    passes = plan(starts, part, cells)
    for i, strips in enumerate(passes):
        more = take(view, part, cells, features, strips, tell)
        taken = more if taken is None else taken.joined(more)
        fits = [_fit(taken, c, placed, features, judged) for c in range(view.channels)]
        if i + 1 < len(passes) and all(_certain(f, wish.sigma_mm) for f in fits):
            break
    assert taken is not None
    _refuse_featureless(view, taken, fits)
    return _result(view, placed, wish, taken, fits, (features, judged, marked))


@dataclass(frozen=True)
class Fit:
    """One channel's gathered spectra (places with something in them) and the curve through them."""

    ok: NDArray[np.bool_]
    seen: Gathered
    h: F64
    y: F64
    curve: Estimate


def _fit(taken: Taken, channel: int, placed: Placed, features: Features, judged: NDArray[np.bool_]) -> Fit:
    seen = gather(taken.power[channel], taken.level[channel], features)
    ok = np.isfinite(seen.log_power).all(axis=1)
    if ok.sum() < 16:
        raise InputError(
            "scan", f"{ok.sum()} places with light", "the slope shows nothing that can be measured"
        )
    h, y = placed.heights[ok], seen.log_power[ok][:, judged]
    if not (np.ptp(y) > 1e-9 and np.isfinite(y).all()) or np.exp(y.max()) < 1e-12:
        raise InputError("scan", "no detail at all", "scan a ruled target or developed film on the slope")
    return Fit(ok, seen, h, y, estimate(h, y, seen.level[ok], features.frequency[judged]))


def _certain(fit: Fit, wanted: float) -> bool:
    return not fit.curve.edge and float(np.hypot(fit.curve.sigma, fit.curve.spread)) <= wanted and _shows(fit)


def _shows(fit: Fit) -> bool:
    """Whether detail depends on the height at all, by what its frequencies do differently."""
    c = fit.curve
    return c.gain > 2.0 * c.freedom + 30.0 and c.shares >= LEAST_SHARE


def _refuse_featureless(view: View, taken: Taken, fits: list[Fit]) -> None:
    if taken.clipped > 0.9:
        raise InputError(
            "scan", f"{100 * taken.clipped:.0f} % clipped", "scan again with less or more exposure"
        )
    if not any(_shows(f) for f in fits):
        raise InputError(
            "scan",
            view.scan.info.path,
            "no height is sharper than the others: nothing ruled or grained is seen on the slope, or it lies flat; "
            "scan a ruled target or developed film on the slope",
        )


def _result(
    view: View,
    placed: Placed,
    wish: Wish,
    taken: Taken,
    fits: list[Fit],
    judging: tuple[Features, NDArray[np.bool_], float],
) -> FocusResult:
    features, judged, marked = judging
    names = CHANNEL_NAMES.get(view.channels, tuple(f"channel {i + 1}" for i in range(view.channels)))
    used = [i for i, f in enumerate(fits) if _shows(f)]
    frequency = features.frequency[judged]
    wanted = min(wish.frequency_lp_mm, 0.42 / view.pitch_mm)
    height, sigma, weights = across_channels([fits[i].curve for i in used], [fits[i].ok for i in used])
    lead = fits[used[int(np.argmax(weights))]]
    lo, hi = float(placed.heights.min()), float(placed.heights.max())
    edge = lead.curve.edge
    halves = [bands.half_band(fits[i].curve, frequency, wanted, wish.band_share) for i in used]
    low = max(fits[i].curve.height - half for i, (half, _) in zip(used, halves, strict=True))
    high = min(fits[i].curve.height + half for i, (half, _) in zip(used, halves, strict=True))
    if low > high:
        low = high = height
    warnings = list(placed.warnings)
    grave = signs_in_pixels(taken.clipped) + signs_in_spectrum(taken, features, view.pitch_mm)
    warnings += grave
    if edge:
        height, sigma = _at_end(height, sigma, lo, hi, edge)
        warnings.append(
            f"the sharpest height is at or beyond the {'upper' if edge > 0 else 'lower'} end of the heights seen "
            f"({lo:.2f} to {hi:.2f} mm); raise or lower the target and scan again"
        )
        low, high = min(low, height), max(high, height)
    if wanted < wish.frequency_lp_mm:
        warnings.append(
            f"this resolution shows no {wish.frequency_lp_mm:g} lp/mm: the band is for {wanted:.1f} lp/mm"
        )
    if len(used) < len(fits):
        warnings.append("not measurable in " + ", ".join(names[i] for i in range(len(fits)) if i not in used))
    order = np.argsort(lead.h)
    shape = bands.sharpness(lead.curve, frequency, wanted, lead.y)
    total = placed.part.across[1] - placed.part.across[0]
    rows = _rows(taken.strips, placed.cells.rows)
    return FocusResult(
        height=height,
        height_sigma=sigma,
        band=(low, high),
        at_edge=bool(edge),
        confidence=float(np.clip(lead.curve.explained, 0, 1)) * 0.5 ** (len(grave) + bool(edge)),
        profile=Profile(height=tuple(lead.h[order].tolist()), sharpness=tuple(shape[order].tolist())),
        heights_seen=(lo, hi),
        channels=tuple(
            ChannelResult(
                name=names[i],
                height=fits[i].curve.height,
                height_sigma=float(np.hypot(fits[i].curve.sigma, fits[i].curve.spread)),
            )
            for i in used
        ),
        dpi=25.4 / view.pitch_mm,
        rows_read=rows,
        rows_total=total,
        read_share=rows / total,
        frequency_lp_mm=wanted,
        band_share=wish.band_share,
        band_seen=all(seen for _, seen in halves),
        turn_deg=float(np.degrees(np.arctan(features.turn))),
        target="ruling" if not judged.all() else "texture",
        warnings=tuple(warnings),
    )


def _at_end(height: float, sigma: float, lo: float, hi: float, edge: int) -> tuple[float, float]:
    """Beyond the end nothing was seen: the end or a guess beyond it, and a sigma that says how little is known."""
    end = hi if edge > 0 else lo
    beyond = max(0.0, edge * (height - end))
    return end + edge * beyond, max(sigma, 0.5 * beyond, 0.05 * (hi - lo))


def _rows(strips: tuple[int, ...], tall: int) -> int:
    covered = 0
    last = -tall
    for s in sorted(strips):
        covered += min(tall, s - last)
        last = s
    return covered
