"""Curl from scans of film stood on its edge: the whole way from files to numbers."""

from __future__ import annotations

import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.measure.curl.circle import Circle, fit_circle
from holders.measure.curl.foot import Foot, fine_foot, rough_foot
from holders.measure.curl.parts import Part, cut, main_part, named
from holders.measure.curl.picture import Grid, Sheet, coarse_of, sheet_of
from holders.measure.curl.result import FilmCurl, Hollow, ScanCurl, chord_rise
from holders.measure.curl.ruler import UNIFORM, friction_bound_per_m
from holders.measure.curl.trace import arc_length, trace
from holders.measure.scan.opened import open_scan

F64 = NDArray[np.float64]
Progress = Callable[[str, float], None]
HALF_FILM_MM, HALF_FILM_SIGMA_MM = 0.09, 0.04  # half of what the line is thick, unless it shows
SCALE_SHARE = 0.003  # how far a bed's millimetres may be off: no source, compare with a ruler
EDGE_MM = 0.006  # how far the sharp edge may bow along the arc beyond what scatter shows
EDGE_PIXEL = 0.06
JOINT_MM = 1.5  # left out beside a bend or another part
SEEN_SIGMA_MM = 0.03  # of half the thickness that shows
BLOCKS = 10
FAR_MM = 60.0  # from the middle of the bed's width
NARROW_MM = 120.0  # a picture narrower than this cannot be a whole bed
WEAK_PER_M = 2.0
LEAST_DPI = 200.0
TRIM, LEAST_POINTS = 3, 26  # steps left out at either end; steps that must be seen


@dataclass(frozen=True)
class Reading:
    """A result with the small picture that it was found in, for drawing."""

    result: ScanCurl
    grid: Grid


def measure_scan(
    path: str | Path, *, dpi: float | None = None, hollow: Hollow | None = None, axis_mm: float | None = None,
    base: str = "", progress: Progress | None = None,
) -> Reading:  # fmt: skip
    """Curl of the film that a scan shows stood on its edge.

    Parameters
    ----------
    path:
        TIFF, PNG or JPEG, the bed's width along the picture's columns.
    dpi:
        Pixels per inch where the file does not say it right.
    hollow:
        The side of the film that the arc is hollow toward; gives the sign.
    axis_mm:
        Where the middle of the bed's width is, mm from the picture's left edge; default: the middle of the picture
        where that is as wide as a bed.
    base:
        Film base, for friction under the edge; default: polyester sheet.

    Raises
    ------
    InputError
        Not a scan, no resolution, no bright line of length in it, or a line that no arc fits.
    """
    tell = progress or (lambda _what, _share: None)
    scan = open_scan(path)
    try:
        sheet = sheet_of(scan, dpi)
        tell("reading", 0.0)
        grid = coarse_of(sheet, lambda share: tell("reading", 0.6 * share))
        tell("finding the film", 0.6)
        rough = rough_foot(grid, trace(grid, str(path)))
        tell("measuring the foot", 0.7)
        foot = fine_foot(sheet, rough)
        tell("fitting", 0.9)
        notes = scan.info.warnings if scan.info.lossy else ()
        result = _judge(str(path), sheet, foot, axis_mm, base, notes)
    finally:
        scan.close()
    tell("done", 1.0)
    return Reading(_signed(result, hollow), grid)


def _signed(result: ScanCurl, hollow: Hollow | None) -> ScanCurl:
    sign = -1.0 if hollow == "base" else 1.0
    return replace(result, curl_per_m=sign * abs(result.curl_per_m), signed=hollow is not None)


def _judge(
    name: str, sheet: Sheet, foot: Foot, axis_mm: float | None, base: str, notes: Sequence[str]
) -> ScanCurl:
    seen = _seen(foot, name)
    points, normal, side = seen.points, seen.normal, seen.side
    step, step_sigma = (HALF_FILM_MM, HALF_FILM_SIGMA_MM)
    if foot.wide_mm is not None:
        step, step_sigma = foot.wide_mm / 2, SEEN_SIGMA_MM
    middle = points + (side * step)[:, None] * normal
    s = arc_length(middle)
    parts = cut(s, middle)
    part = main_part(parts)
    parts = named(parts, part)
    used = _inside(s, part, parts)
    circle = fit_circle(points[used], side[used], normal[used], step_mm=step, step_sigma_mm=step_sigma)
    if not circle.converged:
        raise InputError(
            "scan", name, "no arc fits the film's edge; stand it so that nothing presses it and scan again"
        )
    length = float(s[used][-1] - s[used][0])
    curl = 1000 * abs(circle.kappa)
    pitch = max(sheet.pitch_x, sheet.pitch_y)
    shares = _shares(circle, points[used], side[used], normal[used], length, pitch)
    shares["friction"] = friction_bound_per_m(length, base) * UNIFORM
    whole = part.length_mm
    whole += seen.before_mm if part is parts[0] else 0.0
    whole += seen.after_mm if part is parts[-1] else 0.0
    chord, rise = chord_rise(curl, whole)
    return ScanCurl(
        file=name, curl_per_m=curl, sigma=math.sqrt(sum(v * v for v in shares.values())), chord_mm=chord, rise_mm=rise,
        length_mm=float(s[-1]) + seen.before_mm + seen.after_mm, dpi=25.4 / sheet.pitch_x, parts=tuple(parts),
        arc=_pairs(circle.foot_of(points[used])), line=_pairs(middle), shares=shares,
        warnings=(*notes, *_warnings(sheet, points[used], curl, parts, part, axis_mm, length)),
    )  # fmt: skip


def _pairs(points: F64) -> tuple[tuple[float, float], ...]:
    some = points[np.unique(np.linspace(0, len(points) - 1, 400).round().astype(int))]
    return tuple((round(float(x), 4), round(float(y), 4)) for x, y in some)


@dataclass(frozen=True)
class _Seen:
    """The foot where it is seen surely: points, normals, sides, and how far the film goes on beyond either end, mm."""

    points: F64
    normal: F64
    side: F64
    before_mm: float
    after_mm: float


def _seen(foot: Foot, name: str) -> _Seen:
    """Without the ends, where the line fades or rounds its own corner.

    The film ends where its line is half as bright as it usually is.
    """
    bright = foot.strength > 0.5 * float(np.median(foot.strength))
    good = np.nonzero(bright)[0]
    if len(good) < LEAST_POINTS:
        raise InputError(
            "scan", name, "too little of the film's edge can be seen; clean the glass and scan again"
        )
    first, last = int(good[0]), int(good[-1])
    part = slice(first + TRIM, last + 1 - TRIM)
    s = arc_length(foot.points[part])
    step = float(s[-1]) / max(1, len(s) - 1)
    ends = [_half(foot.strength, k, way) for k, way in ((first, -1), (last, 1))]
    return _Seen(foot.points[part], foot.normal[part], foot.side[part], *((TRIM + e) * step for e in ends))


def _half(strength: F64, k: int, way: int) -> float:
    """How many steps beyond index ``k`` the strength falls to half its median, between 0 and 1."""
    if not 0 <= k + way < len(strength):
        return 0.0
    half = 0.5 * float(np.median(strength))
    drop = strength[k] - strength[k + way]
    return float(np.clip((strength[k] - half) / drop, 0.0, 1.0)) if drop > 0 else 0.0


def _inside(s: F64, part: Part, parts: Sequence[Part]) -> NDArray[np.bool_]:
    a = part.start_mm + (JOINT_MM if part is not parts[0] else 0.0)
    b = part.end_mm - (JOINT_MM if part is not parts[-1] else 0.0)
    inside = (s >= a) & (s <= b)
    return inside if inside.sum() >= 16 else (s >= part.start_mm) & (s <= part.end_mm)


def _shares(c: Circle, points: F64, side: F64, normal: F64, length: float, pitch: float) -> dict[str, float]:
    """What the uncertainty of the curl is made of, per metre, as standard deviations."""
    lever = 8000.0 / length**2  # curl per mm of rise
    return {
        "scatter": 1000 * _by_blocks(c, points, side, normal),
        "edge": lever * math.hypot(EDGE_MM, EDGE_PIXEL * pitch),
        "scale": SCALE_SHARE * 1000 * abs(c.kappa),
        "uneven": 1000 * _uneven(c, points, side, normal, length),
    }


def _uneven(c: Circle, points: F64, side: F64, normal: F64, length: float) -> float:
    """How much the two halves' curvatures differ beyond what their edges' errors give, as a standard deviation."""
    half = len(points) // 2
    both = [
        fit_circle(points[k], side[k], normal[k], step_mm=c.step_mm, step_sigma_mm=0.01, like=c).kappa
        for k in (slice(None, half), slice(half, None))
    ]
    noise = 3 * 8 * 2 * EDGE_MM / (0.5 * length) ** 2
    return max(0.0, 0.5 * abs(both[0] - both[1]) - noise) * UNIFORM


def _by_blocks(c: Circle, points: F64, side: F64, normal: F64) -> float:
    """Standard deviation of the curvature, per mm, from the scatter of blocks: the jackknife, so that neighbours that
    err alike are not counted as many (B. Efron, The Jackknife, 1982, from memory).
    """
    index = np.arange(len(points)) * BLOCKS // len(points)
    found = []
    for k in range(BLOCKS):
        keep = index != k
        found.append(
            fit_circle(
                points[keep], side[keep], normal[keep], step_mm=c.step_mm, step_sigma_mm=0.02, like=c
            ).kappa
        )
    spread = math.sqrt((BLOCKS - 1) / BLOCKS * float(((np.array(found) - np.mean(found)) ** 2).sum()))
    return max(spread, math.sqrt(max(0.0, float(c.covariance[0, 0]))) * c.scale_mm)


def _warnings(
    sheet: Sheet, points: F64, curl: float, parts: Sequence[Part], part: Part, axis_mm: float | None, length: float
) -> list[str]:  # fmt: skip
    said = []
    if 25.4 / max(sheet.pitch_x, sheet.pitch_y) < LEAST_DPI:
        said.append(f"{25.4 / sheet.pitch_x:.0f} dpi is coarse for this; scan at 300 to 600 dpi")
    if sheet.width_mm >= NARROW_MM or axis_mm is not None:
        middle = sheet.width_mm / 2 if axis_mm is None else axis_mm
        far = float(np.abs(points[:, 0] - middle).min())
        if far > FAR_MM:
            said.append(
                f"the film stands {far:.0f} mm from the middle of the bed's width, where its wall leans over the "
                "picture; stand it near the middle"
            )
    if curl < WEAK_PER_M:
        said.append(
            f"film of so little curl hardly stands by itself: if something held it, was it free? A card stand that "
            f"does not press it helps below {WEAK_PER_M:g} per m"
        )
    total = sum(p.length_mm for p in parts)
    for other in parts:
        if other is not part and other.length_mm > 2.5:
            said.append(_aside(other, total))
    if part.kind == "curled" and part.length_mm < 0.6 * total:
        said.append(
            f"the curl is that of {part.length_mm:.0f} mm of {total:.0f} mm; the rest bends otherwise, so one number "
            "does not describe this film"
        )
    if length < 20:
        said.append(f"only {length:.0f} mm of arc to measure: a longer piece of film is surer")
    return said


def _aside(part: Part, total: float) -> str:
    where = f"{part.start_mm:.0f} to {part.end_mm:.0f} mm of {total:.0f} mm along the edge"
    if part.kind == "bent":
        return f"a bend at {where} is not counted"
    if part.kind == "straight":
        return f"straight at {where}: not counted as curl"
    return f"curled {abs(part.curl_per_m):.1f} per m at {where}: not counted"


def measure_film(readings: Sequence[Reading], names: Sequence[str] | None = None) -> FilmCurl:
    """One film from one or two scans: which is along is said by ``names`` ("along", "across"), or by length.

    Film stood on its long side draws an arc as long as that side: it shows the curl along the film. Without names the
    longer line is taken for it.

    Raises
    ------
    InputError
        No scan or more than two, or two of about the same length without names.
    """
    results = [r.result for r in readings]
    if len(results) == 1:
        return FilmCurl(None, None, results[0])
    if len(results) != 2:
        raise InputError(
            "SCAN",
            f"{len(results)} scans",
            "give one scan, or two: film stood on its long and on its short side",
        )
    if names is not None:
        chosen = dict(zip(names, results, strict=True))
        return FilmCurl(chosen["along"], chosen["across"])
    one, two = sorted(results, key=lambda r: -r.length_mm)
    warnings = ()
    if one.length_mm < 1.05 * two.length_mm:
        raise InputError(
            "SCAN", f"edges of {one.length_mm:.0f} and {two.length_mm:.0f} mm", "too alike to say which is the long "
            "side: add --order along,across (or across,along), in the order of the scans",
        )  # fmt: skip
    return FilmCurl(one, two, warnings=warnings)
