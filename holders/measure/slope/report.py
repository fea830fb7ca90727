"""A measurement's parts put together into what is said about it."""

from __future__ import annotations

import math
from dataclasses import dataclass, replace

import numpy as np
from numpy.typing import NDArray

from holders.measure.scan.spectra import Features
from holders.measure.scan.view import View
from holders.measure.slope import band as bands
from holders.measure.slope.combine import across_channels, colours_apart
from holders.measure.slope.doubt import PICTURE_FLOOR, Judged, Opinion, chance_near, detail_says
from holders.measure.slope.edges.curve import EdgeFit
from holders.measure.slope.judge import Fit, loses_detail, shows, shows_roughly
from holders.measure.slope.options import Options
from holders.measure.slope.profile import F64
from holders.measure.slope.result import ChannelResult, FocusResult, Profile, RowResult
from holders.measure.slope.target.placed import Placed
from holders.measure.slope.target.preview import Preview
from holders.measure.slope.target.rows import OF_ROWS, RowHeight, rows_apart, said_of_rows
from holders.measure.slope.target.sample import Taken
from holders.measure.slope.target.shape import Bend
from holders.measure.slope.target.signs import signs_in_pixels, signs_in_ruling, signs_in_spectrum

CHANNEL_NAMES = {1: ("grey",), 3: ("red", "green", "blue")}
# of half the band that stays sharp: what blur that differs above and below, more than can be seen, shifts both ways of
# measuring alike, and edges alone further; so that two sigma hold on 320 scans (seeds 2000 to 2021, 3000 to 3016)
OF_BAND, OF_BAND_BY_EDGES = 0.03, 0.04
SAY_BEND_MM = 0.03  # a bend that is less sure than that is said
UNSEEN_ACROSS = "level across its width, which this scan does not show"  # no two rows give a height
UNSURE_MM = 0.035  # above it one in fifty heights may be off by 0.1 mm


@dataclass(frozen=True)
class Detail:
    """What the spectra along a slope gave: strips read, a fit for each channel, features, which of them were judged,
    the preview; ``used``: the channels that show a height. ``roughly``: a texture whose height a few places may spoil;
    ``trend``: no height shows, only toward which end detail grows.
    """

    taken: Taken
    fits: tuple[Fit, ...]
    features: Features
    judged: NDArray[np.bool_]
    saw: Preview
    roughly: bool = False
    trend: bool = False

    @property
    def used(self) -> list[int]:
        """Numbers of the channels whose detail depends on the height."""
        enough = loses_detail if self.trend else shows_roughly if self.roughly else shows
        return [i for i, f in enumerate(self.fits) if enough(f)]

    @property
    def ruled(self) -> bool:
        """Whether a ruling was seen."""
        return not bool(self.judged.all())


@dataclass(frozen=True)
class _Curve:
    """Band and profile, about the height at which the sharpness was fitted."""

    height: float
    low: float
    high: float
    band_seen: bool
    wanted: float
    profile: Profile


def detail_opinion(detail: Detail) -> tuple[Opinion, F64] | None:
    """Height by the spectra, and the channels' weights; None where no channel shows one."""
    used = detail.used
    if not used:
        return None
    fits = [detail.fits[i] for i in used]
    height, sigma, weights = across_channels([f.curve for f in fits], [f.ok for f in fits])
    lead = fits[int(np.argmax(weights))].curve
    said = detail_says(height, sigma, lead.edge, lead.plain)
    return replace(said, floor=math.hypot(said.floor, PICTURE_FLOOR)) if detail.roughly else said, weights


def result(
    view: View,
    placed: Placed,
    options: Options,
    detail: Detail,
    edges: EdgeFit | None,
    judged: Judged,
    weights: F64 | None,
    bend: Bend,
    spaced: tuple[float, float],
    rows: tuple[RowHeight, ...] = (),
) -> FocusResult:
    """All that is said about one scan; ``weights`` of the channels used (None: only edges show the height), ``spaced``:
    mm to add for uneven spacing along the slope (perspective), and how unsure that is; ``rows`` across the width.
    """
    lo, hi = placed.ends
    names = _names(view)
    used = detail.used if weights is not None else []
    curve = _curve(view, options, detail, edges, weights, (lo, hi))
    grave = signs_in_pixels(detail.taken.clipped) + signs_in_spectrum(detail.saw)
    tone = False
    if weights is not None:
        lead = detail.fits[used[int(np.argmax(weights))]]
        tone = lead.tone
        grave += signs_in_ruling(lead, lead.frequency * view.pitch_mm) if detail.ruled else []
    colours = 0.0 if weights is None else colours_apart([detail.fits[i].curve.height for i in used], weights)
    height = judged.height - bend.below_mm + spaced[0]
    lens = (OF_BAND_BY_EDGES if judged.by == "edges" else OF_BAND) * 0.5 * (curve.high - curve.low)
    sigma = math.hypot(judged.sigma, bend.sigma_mm, spaced[1], colours, OF_ROWS * rows_apart(rows), lens)
    if judged.edge:
        height, sigma = _at_end(height, sigma, lo, hi, judged.edge)
    missing = _missing(detail, names, used)
    warnings = [*view.scan.info.warnings, *placed.warnings, *grave, *judged.warnings]
    warnings += _said(judged, (lo, hi), options, curve.wanted, missing, tone=tone)
    warnings += (
        said_of_rows(rows) + _said_of_shape(bend) + ([] if judged.edge else _said_of_sigma(sigma, bend, lens))
    )
    total, read = _read(placed, detail)
    return FocusResult(
        height=height,
        height_sigma=sigma,
        band=_band(curve, height),
        at_edge=bool(judged.edge),
        confidence=0.0 if judged.edge else chance_near(sigma),
        profile=curve.profile,
        heights_seen=(lo, hi),
        channels=_channels(detail, names, used),
        dpi=25.4 / view.pitch_mm,
        rows_read=read,
        rows_total=total,
        read_share=read / total,
        frequency_lp_mm=curve.wanted,
        band_share=options.band_share,
        band_seen=curve.band_seen,
        turn_deg=float(np.degrees(np.arctan(detail.features.turn))),
        target="ruling" if detail.ruled else "texture",
        tick_mm=detail.saw.period * view.pitch_mm,
        warnings=tuple(warnings),
        doubts=_doubts(judged.edge, placed),
        assumed=(bend.assumed, *([] if rows else [UNSEEN_ACROSS])),
        judged_by=judged.by,
        rows=_told_rows(rows),
    )


def _band(curve: _Curve, height: float) -> tuple[float, float]:
    shift = height - curve.height
    return min(curve.low + shift, height), max(curve.high + shift, height)


def _told_rows(rows: tuple[RowHeight, ...]) -> tuple[RowResult, ...]:
    return tuple(RowResult(across=r.across, height=r.height, height_sigma=r.sigma) for r in rows)


def _channels(detail: Detail, names: tuple[str, ...], used: list[int]) -> tuple[ChannelResult, ...]:
    return tuple(_channel(names[i], detail.fits[i]) for i in used)


def _missing(detail: Detail, names: tuple[str, ...], used: list[int]) -> list[str]:
    return [names[i] for i in range(len(detail.fits)) if i not in used] if used else []


def _names(view: View) -> tuple[str, ...]:
    return CHANNEL_NAMES.get(view.channels, tuple(f"channel {i + 1}" for i in range(view.channels)))


def _curve(
    view: View,
    options: Options,
    detail: Detail,
    edges: EdgeFit | None,
    weights: F64 | None,
    ends: tuple[float, float],
) -> _Curve:
    if weights is None:
        return _of_edges(options, edges, ends)
    return _of_detail(view, options, detail, weights)


def _of_detail(view: View, options: Options, detail: Detail, weights: F64) -> _Curve:
    """Band and profile by the spectra of the channels used."""
    fits = [detail.fits[i] for i in detail.used]
    wanted = _shown(options.frequency_lp_mm, view.pitch_mm, fits)
    shapes = [bands.sharpness(f.curve, f.frequency, wanted, f.y) for f in fits]
    kept = [
        bands.contrast_kept(f.curve, f.h, shape, options.band_share)
        for f, shape in zip(fits, shapes, strict=True)
    ]
    height = float(weights @ np.array([f.curve.height for f in fits]))
    low = max(f.curve.height - half for f, (_, half, _) in zip(fits, kept, strict=True))
    high = min(f.curve.height + half for f, (_, half, _) in zip(fits, kept, strict=True))
    low, high = (low, high) if low <= high else (height, height)
    at = int(np.argmax(weights))
    lead, shape = fits[at], shapes[at] / max(kept[at][0], 1e-9)
    order = np.argsort(lead.h)
    profile = Profile(height=tuple(lead.h[order].tolist()), sharpness=tuple(shape[order].tolist()))
    return _Curve(height, low, high, all(seen for _, _, seen in kept), wanted, profile)


def _of_edges(options: Options, fit: EdgeFit | None, ends: tuple[float, float]) -> _Curve:
    """Band and profile by the steepness of edges.

    The band takes the blur for Gaussian: its standard deviation is 1 / (sqrt(2 pi) steepness), and detail of frequency
    f keeps exp(-2 pi^2 f^2 (s^2 - s0^2)) of its contrast.
    """
    assert fit is not None
    h, y, curve = fit.cells
    order = np.argsort(h)
    h, y, curve = h[order], y[order], curve[order]
    wide = np.exp(-2.0 * curve) / (2.0 * np.pi)
    keeps = np.exp(-2.0 * np.pi**2 * options.frequency_lp_mm**2 * (wide - wide.min()))
    inside = h[keeps >= options.band_share]
    low, high = float(inside.min()), float(inside.max())
    margin = 0.01 * (ends[1] - ends[0])
    seen = low > float(h[0]) + margin and high < float(h[-1]) - margin
    sharp = np.exp(y - curve.max())
    profile = Profile(height=tuple(h.tolist()), sharpness=tuple(sharp.tolist()))
    return _Curve(
        fit.height, min(low, fit.height), max(high, fit.height), seen, options.frequency_lp_mm, profile
    )


def _doubts(edge: int, placed: Placed) -> tuple[str, ...]:
    """Why the height is not to be built on yet."""
    words = {
        "its best height was not seen": bool(edge),
        "the scan is not as long as the run": placed.length_off,
    }
    return tuple(why for why, applies in words.items() if applies)


def _shown(wanted: float, pitch_mm: float, fits: list[Fit]) -> float:
    """The frequency that the band can be given for, lp/mm: no finer than pixels and target show."""
    shown = min(wanted, 0.42 / pitch_mm)
    return min(shown, float(fits[0].frequency[0])) if all(f.tone for f in fits) else shown


def _channel(name: str, fit: Fit) -> ChannelResult:
    return ChannelResult(name=name, height=fit.curve.height, height_sigma=fit.curve.total)


def _said(
    judged: Judged,
    seen: tuple[float, float],
    options: Options,
    wanted: float,
    missing: list[str],
    *,
    tone: bool,
) -> list[str]:
    """What the result must be read with: an end that was reached, a frequency not shown, channels without a height."""
    found = []
    if judged.edge:
        found.append(
            f"the sharpest height is at or beyond the {'upper' if judged.edge > 0 else 'lower'} end of the heights "
            f"seen ({seen[0]:.2f} to {seen[1]:.2f} mm); raise or lower the target and scan again"
        )
    if tone:
        found.append(
            f"the ruling is a smooth wave: it shows {wanted:.1f} lp/mm only, the band is for that, and a change of its "
            "contrast could pass for blur, which the uncertainty allows for; a ruling of sharp lines says more"
        )
    elif wanted < options.frequency_lp_mm:
        found.append(
            f"this resolution shows no {options.frequency_lp_mm:g} lp/mm: the band is for {wanted:.1f} lp/mm"
        )
    if missing:
        found.append("not measurable in " + ", ".join(missing))
    return found


def _said_of_shape(bend: Bend) -> list[str]:
    """A warning where the target's own shape decides."""
    if bend.sigma_mm < SAY_BEND_MM:
        return list(bend.warnings)
    name = "" if bend.named else " (nobody said what it is: give --target, --target-thickness and --span)"
    return [
        *bend.warnings,
        f"the target may not be straight: counted as {bend.assumed}{name}; this alone leaves "
        f"{bend.sigma_mm:.2f} mm in doubt; hold it flat on a stiff slope and say --target flat",
    ]


def _said_of_sigma(sigma: float, bend: Bend, lens: float) -> list[str]:
    """A warning where the scan, rather than the target's shape, leaves the height unsure."""
    if sigma <= UNSURE_MM or bend.sigma_mm >= 0.7 * sigma:
        return []
    if lens >= 0.7 * sigma:
        return [
            f"the height is known to {sigma:.2f} mm only (one standard deviation): over so wide a band as this lens is "
            "sharp, blur that differs above and below shifts it"
        ]
    return [
        f"the height is known to {sigma:.2f} mm only (one standard deviation): what the target shows differs along the "
        "slope; a ruling of sharp lines or even grain all along it says more"
    ]


def _at_end(height: float, sigma: float, lo: float, hi: float, edge: int) -> tuple[float, float]:
    """Beyond the end nothing was seen: the end or a guess beyond it, and a sigma that says how little is known."""
    end = hi if edge > 0 else lo
    beyond = max(0.0, edge * (height - end))
    return end + edge * beyond, max(sigma, 0.5 * beyond, 0.05 * (hi - lo))


def _read(placed: Placed, detail: Detail) -> tuple[int, int]:
    """Rows across the slope, and how many of them were read."""
    return placed.part.across[1] - placed.part.across[0], _rows(detail.taken.strips, detail.saw.cells.rows)


def _rows(strips: tuple[int, ...], tall: int) -> int:
    covered = 0
    last = -tall
    for s in sorted(strips):
        covered += min(tall, s - last)
        last = s
    return covered
