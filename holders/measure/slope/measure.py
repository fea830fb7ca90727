"""A scan of a sloping target in, the measured focus height out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import dataclass
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.ramp import RampGeometry
from holders.measure.scan.cut import choose_cells, widest_ticks_mm
from holders.measure.scan.opened import open_scan
from holders.measure.scan.spectra import Features
from holders.measure.scan.view import View, look
from holders.measure.slope import band as bands
from holders.measure.slope.combine import across_channels, across_scans
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.judge import Fit, certain, fit_channel, refuse_featureless, shows
from holders.measure.slope.result import ChannelResult, FocusResult, Profile
from holders.measure.slope.target.placed import Placed, place, place_ramp
from holders.measure.slope.target.preview import Glance, features_for, glance
from holders.measure.slope.target.sample import Progress, Taken, plan, take
from holders.measure.slope.target.signs import signs_in_pixels, signs_in_ruling, signs_in_spectrum

WANTED_SIGMA = 0.005
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


def _quiet(_what: str, _share: float) -> None:
    """No progress wanted."""


def measure_focus(
    paths: Sequence[str | Path],
    *,
    geometry: SlopeGeometry | RampGeometry,
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
    path: str | Path,
    *,
    geometry: SlopeGeometry | RampGeometry,
    dpi: float | None,
    wish: Wish,
    progress: Progress,
) -> FocusResult:
    """Measure one scan. See ``measure_focus``."""
    scan = open_scan(path)
    try:
        view = look(scan, dpi)
        if isinstance(geometry, RampGeometry):
            placed, seen, view = place_ramp(view, geometry)
            return _measure(view, placed, wish, progress).model_copy(
                update={"turn_deg": float(np.degrees(np.arctan(seen.turn))), "marks_read": seen.marks}
            )
        placed = place(view, geometry)
        return _measure(view, placed, wish, progress)
    finally:
        scan.close()


def _measure(view: View, placed: Placed, wish: Wish, tell: Progress) -> FocusResult:
    part, slope = placed.part, placed.per_pixel_mm / view.pitch_mm
    saw = glance(view, placed, choose_cells(view, part, slope), slope)
    features, judged = features_for(saw)
    heights = placed.heights(saw.cells)
    ticks = saw.period * view.pitch_mm if saw.steady else 0.0
    taken: Taken | None = None
    fits: list[Fit] = []
    passes = plan(saw.strips, view, part, saw.cells)
    for i, strips in enumerate(passes):
        more = take(view, placed, saw.cells, features, strips, tell)
        taken = more if taken is None else taken.joined(more)
        fits = [
            fit_channel(taken, c, heights, placed.per_pixel_mm, features, judged, ticks, saw.smooth)
            for c in range(view.channels)
        ]
        if i + 1 < len(passes) and all(certain(f, wish.sigma_mm) for f in fits):
            break
    assert taken is not None
    refuse_featureless(view.scan.info.path, taken, fits, (saw.period * view.pitch_mm, widest_ticks_mm(slope)))
    return _result(view, placed, wish, taken, fits, (features, judged, saw))


def _result(
    view: View,
    placed: Placed,
    wish: Wish,
    taken: Taken,
    fits: list[Fit],
    judging: tuple[Features, NDArray[np.bool_], Glance],
) -> FocusResult:
    features, judged, saw = judging
    names = CHANNEL_NAMES.get(view.channels, tuple(f"channel {i + 1}" for i in range(view.channels)))
    used = [i for i, f in enumerate(fits) if shows(f)]
    wanted = _shown(wish.frequency_lp_mm, view.pitch_mm, [fits[i] for i in used])
    height, sigma, weights = across_channels([fits[i].curve for i in used], [fits[i].ok for i in used])
    lead = fits[used[int(np.argmax(weights))]]
    lo, hi = placed.ends
    edge = lead.curve.edge
    shapes = [bands.sharpness(fits[i].curve, fits[i].frequency, wanted, fits[i].y) for i in used]
    kept = [
        bands.contrast_kept(fits[i].curve, fits[i].h, shape, wish.band_share)
        for i, shape in zip(used, shapes, strict=True)
    ]
    halves = [(half, seen) for _, half, seen in kept]
    low = max(fits[i].curve.height - half for i, (half, _) in zip(used, halves, strict=True))
    high = min(fits[i].curve.height + half for i, (half, _) in zip(used, halves, strict=True))
    low, high = (low, high) if low <= high else (height, height)
    grave = signs_in_pixels(taken.clipped) + signs_in_spectrum(saw)
    grave += signs_in_ruling(lead, lead.frequency * view.pitch_mm) if not judged.all() else []
    warnings = [*view.scan.info.warnings, *placed.warnings, *grave]
    if edge:
        height, sigma = _at_end(height, sigma, lo, hi, edge)
        low, high = min(low, height), max(high, height)
    missing = [names[i] for i in range(len(fits)) if i not in used]
    warnings += _said(edge, (lo, hi), wish, wanted, missing, tone=lead.tone)
    order = np.argsort(lead.h)
    at = int(np.argmax(weights))
    shape = shapes[at] / max(kept[at][0], 1e-9)
    total = placed.part.across[1] - placed.part.across[0]
    rows = _rows(taken.strips, saw.cells.rows)
    return FocusResult(
        height=height,
        height_sigma=sigma,
        band=(low, high),
        at_edge=bool(edge),
        confidence=float(np.clip(lead.curve.explained, 0, 1)) * 0.5 ** (len(grave) + bool(edge)),
        profile=Profile(height=tuple(lead.h[order].tolist()), sharpness=tuple(shape[order].tolist())),
        heights_seen=(lo, hi),
        channels=tuple(_channel(names[i], fits[i]) for i in used),
        dpi=25.4 / view.pitch_mm,
        rows_read=rows,
        rows_total=total,
        read_share=rows / total,
        frequency_lp_mm=wanted,
        band_share=wish.band_share,
        band_seen=all(seen for _, seen in halves),
        turn_deg=float(np.degrees(np.arctan(features.turn))),
        target="ruling" if not judged.all() else "texture",
        tick_mm=saw.period * view.pitch_mm,
        warnings=tuple(warnings),
        doubts=_doubts(edge, placed),
    )


def _doubts(edge: int, placed: Placed) -> tuple[str, ...]:
    """Why the height is not to be built on yet."""
    words = {
        "its best height was not seen": bool(edge),
        "the scan is not as long as the run": placed.length_off,
    }
    return tuple(why for why, applies in words.items() if applies)


def _shown(wanted: float, pitch_mm: float, fits: list[Fit]) -> float:
    """The frequency that the band can be told for, lp/mm: no finer than pixels and target show."""
    shown = min(wanted, 0.42 / pitch_mm)
    return min(shown, float(fits[0].frequency[0])) if all(f.tone for f in fits) else shown


def _channel(name: str, fit: Fit) -> ChannelResult:
    return ChannelResult(name=name, height=fit.curve.height, height_sigma=fit.curve.total)


def _said(
    edge: int, seen: tuple[float, float], wish: Wish, wanted: float, missing: list[str], *, tone: bool
) -> list[str]:
    """What the result must be read with: an end that was reached, a frequency not shown, channels without a height."""
    found = []
    if edge:
        found.append(
            f"the sharpest height is at or beyond the {'upper' if edge > 0 else 'lower'} end of the heights seen "
            f"({seen[0]:.2f} to {seen[1]:.2f} mm); raise or lower the target and scan again"
        )
    if tone:
        found.append(
            f"the ruling is a smooth wave: it shows {wanted:.1f} lp/mm only, the band is for that, and a change of its "
            "contrast could pass for blur, which the uncertainty allows for; a ruling of sharp lines says more"
        )
    elif wanted < wish.frequency_lp_mm:
        found.append(
            f"this resolution shows no {wish.frequency_lp_mm:g} lp/mm: the band is for {wanted:.1f} lp/mm"
        )
    if missing:
        found.append("not measurable in " + ", ".join(missing))
    return found


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
