"""Two scans of one film in, the second with the holder moved across the bed; the film's heights out."""

from __future__ import annotations

import datetime as dt
import math
from collections.abc import Callable, Sequence
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
from numpy.typing import NDArray

from holders.core.errors import InputError
from holders.facts import habits, tables
from holders.measure.bed.distortion import MeasuredDistortion, fit, for_width
from holders.measure.surface.estimate import Estimate, Priors, Viewing, estimate
from holders.measure.surface.match import coarse_moves, fine_moves
from holders.measure.surface.opening import CELL_MM, Opening, find_opening
from holders.measure.surface.outcome import SurfaceResult
from holders.measure.surface.predicted import Predicted
from holders.measure.surface.raised import LensDistance, check_raised, lens_from_moves
from holders.measure.surface.reading import Picture, read_pictures, shrunk
from holders.measure.surface.search import Moves2D, trend
from holders.measure.surface.shapes import Shapes, shapes_over
from holders.measure.surface.warming import measured_change

F64 = NDArray[np.float64]
Progress = Callable[[str, float], None]

LEAST_SHIFT_MM = 4.0
MOST_SHIFT_MM = 150.0
REACH_MM = 6.0  # how far a given shift, or the lip's own move, may be from the film's
BACK_MM = 6.0  # how far from its first place the holder may lie for the third scan
GRID = 49  # points along the film's long side
LEAST_AXIS_MM = 3.0
USEFUL = 0.35  # mm: heights less sure than this are not shown
SAGS_MM = 80.0  # a film whose short side is longer than this must sag by more than what is not seen
FLAT_MM = 0.05
# times its uncertainty must a relief be: to stand out, and to show by itself that the scanner has a lens
STANDS_OUT, SHOWS_A_LENS = 2.5, 3.0
# where heights are left out the scatter grows by more: 0.98 to 1.10 on 49 contact sensors, more with most lenses
PARALLAX_GAIN = 1.15
AFTER_THIRD_MM = 0.005  # what a third scan leaves open of the film's usual movement
THIRD_GAINS, THIRD_FROM_MM = (
    0.7,
    0.06,
)  # proposed where it leaves less than this share of more than this uncertainty


@dataclass(frozen=True)
class Known:
    """What is known beside the scans (mm): ``shift`` roughly, ``ledge`` the film's height on it, the lens's distance.

    ``least_gap_mm`` is how near to the glass film may come, ``predicted`` the surface that the plate model expects.
    ``lens_measured`` says that the lens's distance is this scanner's own, not a table's. ``band`` is the pair of
    heights that are sharp; ``distortion`` rows of the bed's record, of which that for the scan's width counts; ``bed``
    the row of the trade table whose lens stands in where no distance is given.
    """

    shift_mm: float | None = None
    ledge_mm: float | None = None
    lens_distance_mm: float | None = None
    lens_sigma_mm: float | None = None
    lens_measured: bool = True
    band_mm: tuple[float, float] | None = None
    least_gap_mm: float = 0.0
    predicted: Predicted | None = None
    distortion: tuple[MeasuredDistortion, ...] = ()
    bed: str = "a4-wide"

    def __post_init__(self) -> None:
        for name, value, low, high in (
            ("--shift", None if self.shift_mm is None else abs(self.shift_mm), LEAST_SHIFT_MM, MOST_SHIFT_MM),
            ("--ledge", self.ledge_mm, -5.0, 60.0),
            ("--lens-distance", self.lens_distance_mm, 50.0, 3000.0),
        ):
            if value is not None and not (math.isfinite(value) and low <= value <= high):
                raise InputError(name, value, f"give mm between {low:g} and {high:g}")

    @staticmethod
    def usual_lens_sigma(lens_distance_mm: float) -> float:
        """How well a lens distance from a trade table is known, mm."""
        return habits.habit("lens-distance-spread") * lens_distance_mm


def _quiet(_what: str, _share: float) -> None:
    """No progress wanted."""


def measure_surface(
    first: str | Path, second: str | Path, third: str | Path | None = None, *, known: Known | None = None,
    dpi: float | None = None, progress: Progress | None = None,
) -> SurfaceResult:  # fmt: skip
    """Measure how the film lies.

    Parameters
    ----------
    first, second:
        Scans of the same film in the same holder, the second after the holder was moved across the bed.
    third:
        A scan with the holder back at its first place, which shows what the film itself did meanwhile.
    known:
        Shift, ledge and lens as far as they are known.
    dpi:
        Pixels per inch, where the files do not say it right.
    progress:
        Called with what is done and the share of it that is done, 0..1.

    Raises
    ------
    InputError
        A scan that cannot be used, films that do not match, a holder that moved too little or along the bed.
    NotConverged
        The surface did not settle.
    """
    paths = [first, second] if third is None else [first, second, third]
    return surface_of(gather(paths, dpi=dpi, progress=progress), known or Known())


@dataclass(frozen=True)
class Gathered:
    """What the scans themselves say: the film's opening in the first, its moves to the second and back to the third.

    ``size_mm``, ``pitch_mm`` of the first scan; ``warnings`` of the files.
    """

    opening: Opening
    moves: Moves2D
    back: Moves2D | None
    size_mm: tuple[float, float]
    pitch_mm: tuple[float, float]
    warnings: tuple[str, ...]


def gather(
    paths: Sequence[str | Path], *, dpi: float | None = None, progress: Progress | None = None
) -> Gathered:
    """Read two or three scans and match them; errors as ``measure_surface``."""
    tell = progress or _quiet
    pictures = read_pictures(paths, dpi, tell)
    openings = [_opening(p) for p in pictures]
    moves = _moves((pictures[0], pictures[1]), (openings[0], openings[1]), tell)
    _refuse_wrong_way(moves, pictures[1].path)
    back = None
    if len(pictures) > 2:
        back = _moves((pictures[0], pictures[2]), (openings[0], openings[2]), tell, stays=True)
    return Gathered(openings[0], moves, back, pictures[0].size_mm, pictures[0].pitch_mm, _of_files(pictures))


def surface_of(seen: Gathered, known: Known) -> SurfaceResult:
    """The film's surface from what the scans say; raises ``NotConverged`` where it does not settle."""
    viewing, priors = _viewing(known, seen.size_mm[0])
    lens = for_width(known.distortion, seen.size_mm[0])
    if lens is not None:
        seen, priors = _straightened(seen, lens), replace(priors, distortion=lens.sigma)
    shapes = shapes_over(seen.opening)
    change = None
    if seen.back is not None:
        change = measured_change(
            seen.back, shapes, middle_mm=viewing.axis_x_mm, axis_sigma_mm=viewing.axis_sigma_mm,
            lens_distance_mm=viewing.lens_distance_mm, tilt_mm=priors.tilt, distortion=priors.distortion,
        )  # fmt: skip
    found = estimate(seen.moves, shapes, viewing, priors, change, known.predicted)

    def beside(**other: float) -> Estimate:
        return estimate(seen.moves, shapes, viewing, replace(priors, **other), change, known.predicted)

    # a contact sensor sees neither heights nor their change
    bare = estimate(
        seen.moves, shapes, viewing, replace(priors, sag=1e-4, rim=1e-4, tilt=1e-4, warm=1e-5), None, None
    )
    third = () if change is not None else _third_scan(found, beside(warm=AFTER_THIRD_MM))
    seen = replace(seen, warnings=(*third, *seen.warnings))
    return _result(
        found, seen, known, parallax=bare.noise > PARALLAX_GAIN * found.noise, may_have_moved=bool(third)
    )


def _third_scan(found: Estimate, with_third: Estimate) -> tuple[str, ...]:
    """What a third scan would gain, where the film's own movement makes most of the uncertainty."""
    xx, yy = np.meshgrid(*_grid(found.shapes.seen)[:2])
    now, then = (
        float(np.sqrt(np.mean(np.square(f.heights(xx.ravel(), yy.ravel())[1])))) for f in (found, with_third)
    )
    if now < THIRD_FROM_MM or then > THIRD_GAINS * now:
        return ()
    return (
        "The film's own movement between the scans may be most of what is uncertain: with a third scan, the holder "
        f"slid back to where it was, about {then:.2f} mm of uncertainty would be left on average.",
    )


def _straightened(seen: Gathered, lens: MeasuredDistortion) -> Gathered:
    """The same with the lens's distortion taken off the moves."""

    def of(moves: Moves2D) -> Moves2D:
        bent = lens.displaced(moves.x + moves.u) - lens.displaced(moves.x)
        return replace(moves, u=moves.u - bent)

    return replace(seen, moves=of(seen.moves), back=None if seen.back is None else of(seen.back))


def measure_distortion(
    first: str | Path, second: str | Path, *, known: Known | None = None, dpi: float | None = None,
    progress: Progress | None = None,
) -> MeasuredDistortion:  # fmt: skip
    """The lens's distortion across the bed, from two scans of a flat target slid sideways; errors as for a film."""
    seen = gather([first, second], dpi=dpi, progress=progress)
    m, (viewing, _) = seen.moves, _viewing(known or Known(), seen.size_mm[0])
    return fit(
        m.x, m.y, m.u, m.sigma_u, width_mm=seen.size_mm[0], lens_mm=viewing.lens_distance_mm,
        today=dt.date.today(),
    )  # fmt: skip


def measure_lens(
    first: str | Path, raised: str | Path, raised_mm: float, *, known: Known | None = None, dpi: float | None = None,
    progress: Progress | None = None,
) -> LensDistance:  # fmt: skip
    """Distance from glass to lens, from a scan of a film and a second with its holder raised.

    Parameters
    ----------
    first, raised:
        Scans of the same film in the same holder; for the second it stood ``raised_mm`` higher.
    known, dpi, progress:
        As for ``measure_surface``; only the ledge counts.

    Raises
    ------
    InputError
        A scan that cannot be used, films that do not match, or no smaller picture in the second.
    """
    check_raised(raised_mm)
    facts, tell = known or Known(), progress or _quiet
    pictures = read_pictures([first, raised], dpi, tell)
    openings = [_opening(p) for p in pictures]
    moves = _moves((pictures[0], pictures[1]), (openings[0], openings[1]), tell, stays=True)
    viewing, priors = _viewing(facts, pictures[0].size_mm[0])
    return lens_from_moves(moves, raised_mm, viewing.ledge_mm, priors.ledge)


def _opening(picture: Picture) -> Opening:
    factor = max(1, int(CELL_MM / picture.pitch_mm[0]))
    return find_opening(
        shrunk(picture.light, factor), (picture.pitch_mm[0] * factor, picture.pitch_mm[1] * factor)
    )


def _moves(
    pictures: tuple[Picture, Picture],
    openings: tuple[Opening, Opening],
    tell: Progress,
    *,
    stays: bool = False,
) -> Moves2D:
    tell("finding the film", 0.0)
    expected, reach = ((0.0, 0.0), BACK_MM) if stays else _expected(openings)
    coarse = coarse_moves(*pictures, openings, expected, reach)
    fine, _ = fine_moves(
        *pictures, openings, trend(coarse, openings[0], 1), lambda share: tell("matching", share)
    )
    return fine


def _expected(openings: tuple[Opening, Opening]) -> tuple[tuple[float, float] | None, float]:
    """Where to look for the move: as the lip moved, if the same side is seen twice."""
    a, b = openings
    ways: list[list[float]] = [[], []]
    for axis, names in enumerate((("left", "right"), ("top", "bottom"))):
        for name in names:
            one, other = getattr(a, name), getattr(b, name)
            if one.seen and other.seen:
                middle = (a.box[2] + a.box[3]) / 2 if axis == 0 else (a.box[0] + a.box[1]) / 2
                ways[axis].append(float(other.place(middle) - one.place(middle)))
    if all(ways):
        across, along = (float(np.mean(w)) for w in ways)
        if all(np.ptp(w) < REACH_MM / 2 for w in ways) and math.hypot(across, along) > LEAST_SHIFT_MM / 2:
            return (across, along), REACH_MM
    return None, 0.0


def _refuse_wrong_way(moves: Moves2D, path: str) -> None:
    u, v = float(np.median(moves.u)), float(np.median(moves.v))
    if abs(v) > max(abs(u), LEAST_SHIFT_MM):
        raise InputError(
            "SCAN", path, f"the film moved {abs(v):.1f} mm along the bed and {abs(u):.1f} mm across it; only a move "
            "across shows heights: slide the holder sideways, at right angles to the way the lamp travels"
        )  # fmt: skip
    if abs(u) < LEAST_SHIFT_MM:
        raise InputError(
            "SCAN", path, f"the film moved {abs(u):.1f} mm across the bed, too little to see heights; slide the holder "
            "sideways by 10 to 40 mm"
        )  # fmt: skip


def _viewing(known: Known, wide: float) -> tuple[Viewing, Priors]:
    row = tables.bed(known.bed)
    lens, sigma = known.lens_distance_mm, known.lens_sigma_mm
    if lens is None:
        lens, sigma = row.lens_distance_mm, habits.habit("lens-distance-spread") * row.lens_distance_mm
    priors = Priors(
        rim=habits.habit("film-on-ledge"), distortion=habits.habit("lens-distortion"),
        tilt=habits.habit("holder-tilt"), warm=habits.habit("film-warming"),
        ledge=0.0 if known.ledge_mm is not None else row.focus_sigma_mm * 2,
    )  # fmt: skip
    ledge = known.ledge_mm if known.ledge_mm is not None else row.focus_height_mm
    # the scan may be any part of the glass: its middle lies as far from the axis as the glass leaves room for
    axis = max(LEAST_AXIS_MM, 0.5 * (row.glass_width_mm - wide) / np.sqrt(3))
    return Viewing(lens, sigma if sigma is not None else 0.01 * lens, wide / 2, float(axis), ledge), priors


def _result(
    found: Estimate, seen: Gathered, known: Known, *, parallax: bool, may_have_moved: bool
) -> SurfaceResult:
    moves, opening = seen.moves, seen.opening
    x, y, inside = _grid(opening)
    xx, yy = np.meshgrid(x, y)
    z, sigma = found.heights(xx.ravel(), yy.ravel())
    shape_sigma = np.sqrt(np.maximum(sigma**2 - found.priors.ledge**2, 0))
    parallax, may_be_error, words = _relief(
        found, opening, z[inside.ravel()], shape_sigma[inside.ravel()], parallax=parallax,
        lens_known=known.lens_distance_mm is not None and known.lens_measured, may_have_moved=may_have_moved,
    )  # fmt: skip
    root = found.root(xx.ravel(), yy.ravel())
    if may_be_error:
        # what does not stand out of its uncertainty may all be the film's movement: as much is stated
        relief = z - found.viewing.ledge_mm
        root = np.hstack([root, relief[:, None]])
        sigma, shape_sigma = np.hypot(sigma, relief), np.hypot(shape_sigma, relief)
    sure = (
        inside.ravel()
        & (shape_sigma < USEFUL)
        & _covered(xx.ravel(), yy.ravel(), moves, found.shapes)
        & parallax
    )
    z, sigma = np.where(sure, z, np.nan), np.where(sure, sigma, np.nan)
    return SurfaceResult(
        x_mm=x, y_mm=y, z_mm=z.reshape(xx.shape), sigma_mm=sigma.reshape(xx.shape), ledge_mm=found.viewing.ledge_mm,
        ledge_known=known.ledge_mm is not None, shift_mm=found.shift_mm, shift_sigma_mm=found.shift_sigma_mm,
        lens_distance_mm=found.viewing.lens_distance_mm, lens_sigma_mm=found.viewing.lens_sigma_mm, parallax=parallax,
        band_mm=known.band_mm, least_gap_mm=known.least_gap_mm, predicted_mm=_predicted(found, known, xx, yy),
        noise_px=float(np.median(moves.sigma_u)) * found.noise / seen.pitch_mm[0],
        windows=len(moves.x), kept=found.kept,
        wobble_mm=found.wobble_mm * abs(found.shift_mm) / found.viewing.lens_distance_mm,
        root_mm=root,
        warnings=(*words, *_warnings(found, opening, known, sure, inside), *seen.warnings),
    )  # fmt: skip


def _predicted(found: Estimate, known: Known, x: F64, y: F64) -> F64 | None:
    """The predicted heights above the glass at the grid's places, if there is a prediction."""
    if known.predicted is None:
        return None
    above = known.predicted.at(found.shapes, x.ravel(), y.ravel())
    return np.asarray(found.viewing.ledge_mm + above.reshape(x.shape))


def _grid(opening: Opening) -> tuple[F64, F64, NDArray[np.bool_]]:
    left, right, top, bottom = opening.box
    step = max(right - left, bottom - top) / (GRID - 1)
    nx, ny = (max(5, round(v / step) + 1) for v in (right - left, bottom - top))
    x, y = np.linspace(left, right, nx), np.linspace(top, bottom, ny)
    xx, yy = np.meshgrid(x, y)
    return x, y, opening.inside(xx, yy, -1e-6)


def _covered(x: F64, y: F64, moves: Moves2D, shapes: Shapes) -> NDArray[np.bool_]:
    """Which places have a measured window near: beyond, the film left the lamp or shows nothing."""
    from scipy.spatial import cKDTree  # noqa: PLC0415 - only here

    left, right, top, bottom = shapes.opening.box
    near = 0.12 * math.hypot(right - left, bottom - top)
    distance, _ = cKDTree(np.stack([moves.x, moves.y], axis=1)).query(np.stack([x, y], axis=1))
    return np.asarray(distance < near)


def _relief(
    found: Estimate,
    opening: Opening,
    z: F64,
    sigma: F64,
    *,
    parallax: bool,
    lens_known: bool,
    may_have_moved: bool,
) -> tuple[bool, bool, tuple[str, ...]]:
    """Whether the scanner sees heights, whether these may all be error, and what is to be said of it.

    A scanner whose sensor touches the glass sees none, and film that is as flat as glass and does not move looks the
    same. Who measured a lens's distance has a lens; else nothing is then shown as heights. Film that moved between two
    scans, at an unknown distance from the axis, may be far off: the product of two unknown sizes has long tails.
    """
    left, right, top, bottom = opening.box
    clear = sigma < USEFUL
    if np.mean(clear) < 0.5:
        return True, False, ()  # too little is known to say anything of the scanner
    relief = float(np.sqrt(np.mean((z[clear] - found.viewing.ledge_mm) ** 2)))
    unsure = float(np.sqrt(np.mean(sigma[clear] ** 2)))
    may_be_error = may_have_moved and relief < STANDS_OUT * unsure
    if parallax or relief > max(FLAT_MM, SHOWS_A_LENS * unsure):
        words = (
            f"No height stands out: the film lies {relief:.2f} mm from its ledge on average, which its own movement "
            "may explain. The uncertainty leaves room for flat film.",
        )
        return True, may_be_error, words if may_be_error else ()
    flat = f"No height is seen: none differs from the ledge by more than {max(2 * unsure, relief):.2f} mm on average."
    sags = " Film of this size usually sags by more, which speaks for the sensor, or a glass plate." if (
        min(right - left, bottom - top) > SAGS_MM and unsure < 2 * FLAT_MM
    ) else ""  # fmt: skip
    if lens_known:
        words = (f"{flat} The film is flat, or the scanner has a contact sensor and no parallax.{sags}",)
        return True, may_be_error, words
    return False, False, (
        f"{flat} Either the scanner has a contact sensor, which has no parallax and measures no heights, or the "
        f"film is flat.{sags} If the scanner has a lens, set bed.lens_distance_mm in the preset or give "
        "--lens-distance to see the heights.",
    )  # fmt: skip


def _warnings(
    found: Estimate, opening: Opening, known: Known, sure: NDArray[np.bool_], inside: NDArray[np.bool_]
) -> list[str]:
    words = []
    if known.ledge_mm is None:
        words.append(
            f"The ledge's height is not known: heights assume {found.viewing.ledge_mm:.2f} ± {found.priors.ledge:.2f} "
            "mm. The film's shape does not depend on it. Give --ledge or --preset."
        )
    if known.lens_distance_mm is None or not known.lens_measured:
        share = 100 * found.viewing.lens_sigma_mm / found.viewing.lens_distance_mm
        words.append(
            f"The lens's distance is not measured: {found.viewing.lens_distance_mm:.0f} mm is usual, so every sag may "
            f"be {share:.0f} % off. Set bed.lens_distance_mm in the preset, or give --lens-distance."
        )
    if known.shift_mm is not None and abs(abs(known.shift_mm) - abs(found.shift_mm)) > 1.5:
        words.append(
            f"The film moved {abs(found.shift_mm):.2f} mm, not {abs(known.shift_mm):g} mm as --shift says: were both "
            "scans cropped alike?"
        )
    hidden = [n for n in ("left", "right", "top", "bottom") if not getattr(opening, n).seen]
    if hidden:
        words.append(
            f"The lip is not seen at the {', '.join(hidden)} of the first scan: nothing holds the heights there."
        )
    share = 1 - float(np.sum(sure)) / max(1, int(np.sum(inside)))
    if 0.02 < share < 1.0:
        words.append(
            f"{100 * share:.0f} % of the film shows too little, or only in one scan, to know its height."
        )
    return words


def _of_files(pictures: list[Picture]) -> tuple[str, ...]:
    return tuple(dict.fromkeys(w for p in pictures for w in p.warnings))
