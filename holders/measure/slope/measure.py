"""A scan of a sloping target in, the measured focus height out."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import asdict, replace
from pathlib import Path

import numpy as np

from holders.core.errors import InputError
from holders.measure.ramp import RampGeometry
from holders.measure.scan.cut import choose_cells, widest_ticks_mm
from holders.measure.scan.opened import open_scan
from holders.measure.scan.view import View, look
from holders.measure.slope.combine import across_scans
from holders.measure.slope.doubt import Judged, Opinion, judge_both, of_a_picture
from holders.measure.slope.edges.curve import PRIORS, EdgeFit, fit_edges
from holders.measure.slope.edges.find import Edges, find_edges
from holders.measure.slope.edges.resolution import resolution_at_best
from holders.measure.slope.ends import by_an_end, by_trend, without_a_flank
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.judge import Fit, certain, fit_channel, refuse_featureless
from holders.measure.slope.options import Options
from holders.measure.slope.profile import F64
from holders.measure.slope.report import Detail, detail_opinion, result
from holders.measure.slope.result import FocusResult, LensResult, PlaceResult, ResolutionResult
from holders.measure.slope.target.marks import RampSeen
from holders.measure.slope.target.perspective import LENS_MM, lens_seen, shift_at
from holders.measure.slope.target.phase import Spacing, spacing_of_ticks
from holders.measure.slope.target.placed import Placed, find_ramps, middle_of, place, place_ramp
from holders.measure.slope.target.preview import Preview, features_for, glance
from holders.measure.slope.target.rows import RowHeight, rows_across, rows_of_edges
from holders.measure.slope.target.sample import Progress, Taken, plan, take
from holders.measure.slope.target.shape import FLAT, TargetShape, bend_at, with_seen
from holders.measure.slope.target.signs import signs_in_spectrum

MOST_CLIPPED = 0.9  # share of pixels
UNSEEN = 0.7  # of the effect of perspective, in doubt where no ticks show it


def _quiet(_what: str, _share: float) -> None:
    """No progress wanted."""


def measure_focus(
    paths: Sequence[str | Path],
    *,
    geometry: SlopeGeometry | RampGeometry,
    dpi: float | None = None,
    options: Options | None = None,
    progress: Progress | None = None,
    shape: TargetShape | None = None,
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
    shape:
        What is known of the target's own shape; a target on a ramp of ours is held flat unless this says otherwise.

    Raises
    ------
    InputError
        A file that cannot be read, no resolution, nothing on the slope, nothing sharp to measure.
    """
    if not paths:
        raise InputError("SCAN", "", "give at least one scan")
    results = [
        measure_one(
            p,
            geometry=geometry,
            dpi=dpi,
            options=options or Options(),
            progress=progress or _quiet,
            shape=shape or TargetShape(),
        )
        for p in paths
    ]
    return results[0] if len(results) == 1 else across_scans(results)


def measure_one(
    path: str | Path,
    *,
    geometry: SlopeGeometry | RampGeometry,
    dpi: float | None,
    options: Options,
    progress: Progress,
    shape: TargetShape,
) -> FocusResult:
    """Measure one scan. See ``measure_focus``."""
    scan = open_scan(path)
    try:
        view = look(scan, dpi)
        if isinstance(geometry, RampGeometry):
            return _all_ramps(view, geometry, options, progress, replace(shape, kind=shape.kind or FLAT))
        return _measure(view, place(view, geometry), options, progress, shape)
    finally:
        scan.close()


def _all_ramps(
    view: View, ramp: RampGeometry, options: Options, tell: Progress, shape: TargetShape
) -> FocusResult:
    """Every ramp in the scan; more than one: their heights averaged by certainty, and each with its place."""
    results, places = [], []
    ramps = find_ramps(view, ramp)
    for way, seen in ramps:
        placed, scaled = place_ramp(way, ramp, seen)
        found = _measure(scaled, placed, options, tell, shape, (seen, ramp))
        results.append(
            found.model_copy(
                update={"turn_deg": float(np.degrees(np.arctan(seen.row.turn))), "marks_read": seen.marks}
            )
        )
        x, y = middle_of(scaled, placed)
        places.append(
            PlaceResult(
                x=x, y=y, height=found.height, height_sigma=found.height_sigma, band=found.band,
                band_seen=found.band_seen, dpi=found.dpi, channels=found.channels, doubts=found.doubts,
            )
        )  # fmt: skip
    if len(results) == 1:
        return results[0]
    return across_scans(results).model_copy(update={"places": tuple(places), "scans": 1})


def _measure(
    view: View,
    placed: Placed,
    options: Options,
    tell: Progress,
    shape: TargetShape,
    on_ramp: tuple[RampSeen, RampGeometry] | None = None,
) -> FocusResult:
    detail = _detail(view, placed, options, tell)
    said = detail_opinion(detail)
    points = find_edges(view, placed)
    # a smooth wave has no edges: its slope over its contrast says nothing of blur
    edges = None if detail.saw.smooth else fit_edges(points, placed.ends)
    wide = (placed.part.across[1] - placed.part.across[0]) * view.pitch_mm
    if said is not None and detail.ruled and not rows_of_edges(edges, wide):
        said = leaning(said[0], points), said[1]
    judged = judge_both(said[0] if said else None, edges, wave=any(f.tone for f in detail.fits))
    slope = placed.per_pixel_mm / view.pitch_mm
    ruling = detail
    if judged is None:
        detail = _as_texture(view, placed, options, tell, detail)
        said = detail_opinion(detail)
        judged = judge_both(said[0] if said else None, edges)
    if judged is None:
        edges = edges or fit_edges(points, placed.ends)
        judged, detail = _by_trend(ruling, edges, placed)
        said = detail_opinion(detail) if detail.trend else None
    if judged is None or detail.taken.clipped > MOST_CLIPPED:
        ticks = (ruling.saw.period * view.pitch_mm if ruling.saw.steady else 0.0, widest_ticks_mm(slope))
        refuse_featureless(view.scan.info.path, ruling.taken, ruling.fits, ticks)
    assert judged is not None
    judged = without_a_flank(judged, edges, placed.ends, roughly=detail.roughly)
    judged = by_an_end(of_a_picture(judged, edges, said[0] if said else None), placed.ends)
    lo, hi = placed.ends
    run = (hi - lo) / abs(slope)
    share = min(max((judged.height - lo) / (hi - lo), 0.0), 1.0)
    bend = bend_at(shape, share, run, ruled=detail.ruled)
    spacing = _spacing(view, placed, detail, share)
    spaced = (0.0, (hi - lo) ** 2 * share * (1.0 - share) / LENS_MM * UNSEEN if view.by_columns else 0.0)
    if spacing is not None:
        spaced = (slope * spacing.bend_mm, abs(slope) * spacing.sigma_mm)
        bend = with_seen(bend, spacing.sag_mm, spacing.sag_sigma_mm, share)
    lens = None
    if on_ramp is not None:  # its own marks give the places
        along = (judged.height - placed.base_mm) / placed.per_pixel_mm
        spaced = shift_at(view, *on_ramp, (along, 0.5 * sum(placed.part.across)), judged.height)
        if (seen := lens_seen(view, *on_ramp)) is not None:
            lens = LensResult(**asdict(seen))
    rows = (_rows(placed, detail, said[1]) if said else ()) or rows_of_edges(edges, wide)
    found = result(
        view, placed, options, detail, edges, judged, said[1] if said else None, bend, spaced, rows
    )
    found = found.model_copy(update={"lens": lens})
    if edges is None or judged.edge or signs_in_spectrum(detail.saw):
        return found
    sharp = resolution_at_best(view, placed, points, edges)
    return (
        found if sharp is None else found.model_copy(update={"resolution": ResolutionResult(**asdict(sharp))})
    )


def _by_trend(detail: Detail, edges: EdgeFit | None, placed: Placed) -> tuple[Judged | None, Detail]:
    """The end toward which the target grows sharper, if any, and the detail, marked where the end rests on it."""
    judged = by_trend(edges, detail.fits, placed.ends, wave=detail.saw.smooth)
    return judged, replace(detail, trend=judged is not None and judged.by == "detail")


def leaning(detail: Opinion, points: Edges) -> Opinion:
    """What a ruling's detail says, less sure where it lies on one side of a width whose level no rows show.

    The curve through the edges counts the same tilt, from the same prior.
    """
    if not len(points.across):
        return detail
    off = abs(float(np.mean(points.across)))
    return replace(detail, floor=float(np.hypot(detail.floor, PRIORS["tilt"] * off)))


def _rows(placed: Placed, detail: Detail, weights: F64) -> tuple[RowHeight, ...]:
    """Heights by parts of the width, in the channel that counts most."""
    channel = detail.used[int(np.argmax(weights))]
    wide = float(placed.part.across[1] - placed.part.across[0])
    heights, size = placed.heights(detail.saw.cells), (wide, float(detail.saw.cells.rows))
    return rows_across(
        detail.taken, channel, heights, placed.per_pixel_mm, detail.features, detail.judged, size
    )


def _spacing(view: View, placed: Placed, detail: Detail, share: float) -> Spacing | None:
    """How evenly the ticks of a ruling that repeats itself are spaced; None where there is none."""
    saw = detail.saw
    if not (saw.steady and saw.period > 0.0) or placed.inside is not None:
        return None
    if not view.by_columns and not view.scan.info.random_access:
        return None  # along the bed it says nothing, and all of a compressed file would be decoded for it
    at = share if placed.per_pixel_mm > 0 else 1.0 - share
    return spacing_of_ticks(view, placed, saw.cells, saw.strips, saw.period, saw.turn, at)


def _detail(view: View, placed: Placed, options: Options, tell: Progress) -> Detail:
    """Spectra along the slope, of as many strips as the wanted certainty needs, and the curves through them."""
    slope = placed.per_pixel_mm / view.pitch_mm
    return _spectra(
        view, placed, options, tell, glance(view, placed, choose_cells(view, placed.part, slope), slope)
    )


def _as_texture(view: View, placed: Placed, options: Options, tell: Progress, detail: Detail) -> Detail:
    """Detail that showed no height taken for an even texture, a few places of which may be spoilt.

    Gaps between the frames of a strip of film pass for a ruling, and hold no grain.
    """
    saw = detail.saw
    if saw.smooth or saw.steady:
        return detail
    if saw.ruled:
        slope = placed.per_pixel_mm / view.pitch_mm
        plain = replace(saw, marked=0.0, turn=0.0, period=0.0, cells=choose_cells(view, placed.part, slope))
        detail = _spectra(view, placed, options, tell, plain)
    return replace(detail, roughly=True)


def _spectra(view: View, placed: Placed, options: Options, tell: Progress, saw: Preview) -> Detail:
    """Spectra along the slope of what the preview saw, and the curves through them."""
    part = placed.part
    features, judged = features_for(saw)
    heights = placed.heights(saw.cells)
    ticks = saw.period * view.pitch_mm if saw.steady else 0.0
    taken: Taken | None = None
    fits: tuple[Fit, ...] = ()
    passes = plan(saw.strips, view, part, saw.cells)
    for i, strips in enumerate(passes):
        more = take(view, placed, saw.cells, features, strips, tell)
        taken = more if taken is None else taken.joined(more)
        fits = tuple(
            fit_channel(taken, c, heights, placed.per_pixel_mm, features, judged, ticks, saw.smooth)
            for c in range(view.channels)
        )
        if i + 1 < len(passes) and all(certain(f, options.sigma_mm) for f in fits):
            break
    assert taken is not None
    return Detail(taken, fits, features, judged, saw)
