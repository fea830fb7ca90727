"""Inspect a finished scan: one call from the file to everything it says."""

from __future__ import annotations

import os
from collections.abc import Callable
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np

from holders.core.errors import InputError
from holders.measure.finished.clipping import Clipping, clipping_of
from holders.measure.finished.compare import Comparison, compare
from holders.measure.finished.correction import (
    Advice,
    Correction,
    HeightFit,
    advise,
    correct,
    fit_heights,
    predicted_at,
)
from holders.measure.finished.expected import Box, Expected
from holders.measure.finished.placement import Placement, place
from holders.measure.finished.reduce import Reduced, reduce_scan
from holders.measure.finished.rings.rings import RingPlace, RingsResult, find_rings
from holders.measure.finished.sharpness import SharpnessMap, sharpness_map
from holders.measure.scan.model import Scan
from holders.measure.scan.opened import open_scan

Progress = Callable[[str, float], None]


@dataclass(frozen=True)
class InspectResult:
    """What one scan says. See the parts for shapes and units.

    ``size_mm`` (across, down) of the scan; ``picture`` the designed picture area from the corner of the lit area;
    ``border_mm`` the clear border that the holder leaves, 0 for none, None where the holder is not known.
    """

    path: str
    pitch_mm: tuple[float, float]
    size_mm: tuple[float, float]
    rings: RingsResult
    sharpness: SharpnessMap
    placement: Placement
    height_fit: HeightFit | None
    correction: Correction | None
    advice: tuple[Advice, ...]
    warnings: tuple[str, ...]
    clipping: Clipping
    picture: Box | None = None
    border_mm: float | None = None

    def to_answer(self) -> dict[str, object]:
        """One JSON object: plain numbers, lists, strings, None."""
        s, p = self.sharpness, self.placement
        return {
            "scan": self.path,
            "rings": {
                "found": self.rings.found, "score": _n(self.rings.score, 3), "evidence": self.rings.evidence,
                "where": [_place(w) for w in self.rings.where], "channels_alike": self.rings.alike,
                "channel": self.rings.channel or None,
                "strong": [_place(w) for w in self.rings.strong], "note": self.rings.note,
            },
            "sharpness": {
                "grid": [[_n(v, 3) for v in row] for row in s.grid.tolist()],
                "in_band_fraction": _n(s.in_band_fraction, 4), "in_band_sigma": _n(s.in_band_sigma, 4),
                "judged_fraction": _n(s.judged_fraction, 4), "judged_at": _n(s.lp_mm, 2),
                "by_geometry": _n(s.by_geometry, 4),
                "x": [_n(v, 3) for v in s.x_mm], "y": [_n(v, 3) for v in s.y_mm], "pattern": s.pattern,
                "explained": _n(s.explained, 3), "worst": None if s.worst is None else [_n(v, 2) for v in s.worst],
            },
            "skew_deg": _n(p.skew_deg, 4), "skew_sigma_deg": _n(p.skew_sigma_deg, 4),
            "film_edges": {e.name: _n(e.at_mm, 3) for e in p.edges},
            "film_edges_sigma": {e.name: _n(e.at_sigma_mm, 4) for e in p.edges},
            "edges_agree": p.consistent,
            "window_error": None if p.window_error_mm is None else [_n(v, 3) for v in p.window_error_mm],
            "rebate": {"width": _n(p.rebate_mm, 2), "seen": p.rebate_seen, "at": p.rebate_at},
            "seen": _n(p.seen_fraction, 4),
            "clipping": self.clipping.to_values(),
            "mirrored_shows": None if self.border_mm is None else self.border_mm > 0,
            "height_fit": None if self.height_fit is None else {
                "offset": _n(self.height_fit.offset_mm, 3), "sigma": _n(self.height_fit.sigma_mm, 3),
                "agreement": _n(self.height_fit.agreement, 3),
            },
            "correction": None if self.correction is None else self.correction.to_values(),
            "advice": [{"what": a.what, "height": _n(a.height_mm, 3), "sigma": _n(a.sigma_mm, 3)} for a in self.advice],
            "warnings": [*self.warnings, *p.doubts],
        }  # fmt: skip


def _n(value: float | None, digits: int) -> float | None:
    return None if value is None or not np.isfinite(value) else round(float(value), digits)


def _place(w: RingPlace) -> dict[str, object]:
    return {
        "x": _n(w.x_mm, 2), "y": _n(w.y_mm, 2), "width": _n(w.width_mm, 2), "height": _n(w.height_mm, 2),
        "score": _n(w.score, 2), "contrast": _n(w.contrast, 4), "spacing": _n(w.spacing_mm, 3),
        "radius_of_curvature_m": _n(w.radius_of_curvature_m, 3),
    }  # fmt: skip


def inspect_scan(
    path: str | Path,
    *,
    design: Expected | None = None,
    dpi: float | None = None,
    progress: Progress | None = None,
    rings: bool = True,
) -> InspectResult:
    """Inspect a scan on disk (TIFF, PNG, JPEG); memory does not grow with it.

    Parameters
    ----------
    design:
        What the scan should show, if it was made in a designed holder.
    dpi:
        Pixels per inch, where the file does not say or says it wrongly.
    progress:
        Called with the name of the step and its share done.
    rings:
        Whether to look for Newton's rings, which takes most of the time.

    Raises
    ------
    InputError
        The file is missing, broken, too small or says no resolution.
    """
    reduced = walked(path, dpi, progress)
    return inspect_reduced(reduced, os.fspath(path), design=design, progress=progress, rings=rings)


def inspect_reduced(
    reduced: Reduced,
    path: str,
    *,
    design: Expected | None = None,
    progress: Progress | None = None,
    rings: bool = True,
) -> InspectResult:
    """Inspect a scan that was already walked over; parameters as in ``inspect_scan``."""
    pitch = reduced.small_pitch_mm
    high, wide = reduced.small.shape[:2]
    placement = place(np.asarray(reduced.small.mean(axis=2), dtype=float), pitch, design)
    box = lit_box(placement)
    ringed = _rings(reduced, box, pitch, progress) if rings else RingsResult(False, 0.0, "grey", ())
    seen = sharpness_map(reduced, box)
    fit = None
    if design is not None and design.band_mm is not None:
        heights = predicted_at(seen, design, (box[0], box[1]) if box else (0.0, 0.0))
        fit = None if heights is None else fit_heights(seen, heights, design.band_mm)
    correction = correct(seen, fit)
    advice = advise(seen, design.band_mm if design else None, correction)
    return InspectResult(
        path=path, pitch_mm=reduced.pitch_mm, size_mm=(wide * pitch[0], high * pitch[1]),
        rings=ringed, sharpness=seen, placement=placement, height_fit=fit, correction=correction,
        advice=advice, warnings=reduced.warnings, picture=None if design is None else design.picture,
        clipping=clipping_of(reduced, placement, design, lit=box is not None),
        border_mm=None if design is None else design.rebate_mm if design.rebate_edge is not None else 0.0,
    )  # fmt: skip


def compare_scans(
    first: str | Path,
    second: str | Path,
    *,
    design: Expected | None = None,
    dpi: float | None = None,
    progress: Progress | None = None,
) -> tuple[InspectResult, InspectResult, Comparison]:
    """Inspect two scans of the same film and compare the second with the first.

    ``design`` is what the second should show; the first may have been made in anything.

    Raises
    ------
    InputError
        As ``inspect_scan``; both are one file; resolutions differ; the scans do not show the same film.
    """
    if os.path.realpath(first) == os.path.realpath(second):
        raise InputError(
            "scan", os.fspath(second), "give two different scans; a scan compared with itself says nothing"
        )
    both: list[tuple[Reduced, InspectResult]] = []
    for path, expected in ((first, None), (second, design)):
        reduced = walked(path, dpi, progress)
        both.append((reduced, inspect_reduced(reduced, os.fspath(path), design=expected, progress=progress)))
    (a, found_a), (b, found_b) = both
    inside = (lit_box(found_a.placement), lit_box(found_b.placement))
    return found_a, found_b, compare(a, b, found_a.rings, found_b.rings, inside)


def walked(path: str | Path, dpi: float | None = None, progress: Progress | None = None) -> Reduced:
    """Walk once over a scan on disk; for :func:`inspect_reduced` and whatever else reads its small picture.

    Raises ``InputError`` as :func:`inspect_scan`.
    """
    scan = open_scan(path)
    try:
        return walked_over(scan, dpi, progress)
    finally:
        scan.close()


def walked_over(scan: Scan, dpi: float | None = None, progress: Progress | None = None) -> Reduced:
    """The same over a scan that is open already, for who reads more of it; it stays open.

    Raises ``InputError`` as :func:`inspect_scan`.
    """
    try:
        return reduce_scan(
            scan, dpi=dpi, progress=None if progress is None else lambda s: progress("reading", s)
        )
    except (MemoryError, OverflowError) as err:
        raise InputError(
            "scan", scan.info.path, "it cannot be read in bounded memory; save it in strips"
        ) from err


def lit_box(placement: Placement) -> tuple[float, float, float, float] | None:
    """The lit area (left, top, right, bottom) mm, if all four sides were found and leave something between them."""
    at = {e.name: e.at_mm for e in placement.edges}
    if len(at) < 4 or at["right"] - at["left"] < 5.0 or at["foot"] - at["head"] < 5.0:
        return None
    return at["left"], at["head"], at["right"], at["foot"]


def _crop(
    small: np.ndarray, box: tuple[float, float, float, float] | None, pitch: tuple[float, float]
) -> np.ndarray:
    if box is None:
        return small
    x0, x1 = int(np.ceil(box[0] / pitch[0])) + 1, int(box[2] / pitch[0]) - 1
    y0, y1 = int(np.ceil(box[1] / pitch[1])) + 1, int(box[3] / pitch[1]) - 1
    return small[y0:y1, x0:x1] if min(x1 - x0, y1 - y0) >= 72 else small


def _rings(
    reduced: Reduced,
    box: tuple[float, float, float, float] | None,
    pitch: tuple[float, float],
    progress: Progress | None,
) -> RingsResult:
    """Rings within the lit area, placed in the whole scan."""
    part = _crop(reduced.small, box, pitch)
    rings = find_rings(part, pitch[0], progress=None if progress is None else lambda s: progress("rings", s))
    if box is None:
        return rings
    x, y = box[0], box[1]

    def moved(places: tuple[RingPlace, ...]) -> tuple[RingPlace, ...]:
        return tuple(replace(w, x_mm=w.x_mm + x, y_mm=w.y_mm + y) for w in places)

    return replace(rings, where=moved(rings.where), strong=moved(rings.strong))
