"""Two or three scans of one film, moved between them, through a line-scan lens that sees across the bed in perspective.

Places on the glass: X mm across the bed from the lens axis, Y mm along the bed from the scans' first row. All scans
of a case have the same frame on the glass. Film places are mm from the window's centre. A point at X and height z is
seen at X D / (D + z), then moved by the lens's distortion, which depends on the place across only.
"""

from __future__ import annotations

import dataclasses
import functools
from collections.abc import Iterator
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import scipy.ndimage
import tifffile
from numpy.typing import NDArray

from tests.simulators import pictures
from tests.simulators.film_surface import FilmSurface, draw_rim, draw_surface
from tests.simulators.optics import Image, Lens, blur_by_defocus
from tests.simulators.sensor import Pixels, Sensor, bin_pixels, develop

Array = NDArray[np.floating]
CLASSES = ("plain", "moving", "distorted", "flat_content", "dusty", "mixed", "contact_sensor", "along")
# window across and along the bed, mm: common practice, no source
WINDOWS = {
    "35mm": (36.0, 24.0),
    "6x6": (56.0, 56.0),
    "6x9": (56.0, 84.0),
    "4x5": (93.0, 118.0),
    "8x10": (193.0, 243.0),
}
BAND_ROWS = 512
NODE_MM = 0.25
HALF_BED_MM = 108.0  # an A4-class bed is about 216 mm wide


@dataclass(frozen=True)
class Pose:
    """Where holder and film are in one scan.

    Parameters
    ----------
    shift_mm, along_mm : moved across and along the bed from the first scan's place.
    turn_rad : turned about the window's centre.
    film_moved_mm : the film's middle is this much higher than in the first scan.
    rise_mm : the holder stands higher by this much.
    tilt_x, tilt_y : the holder leans, mm of height per mm across and along from its centre.
    exposure : factor on the light.
    wobble_mm : standard deviation of the carriage's wobble that is not the same in every scan.
    rings : contrast of interference rings about one spot, 0 for none.
    """

    shift_mm: float = 0.0
    along_mm: float = 0.0
    turn_rad: float = 0.0
    film_moved_mm: float = 0.0
    rise_mm: float = 0.0
    tilt_x: float = 0.0
    tilt_y: float = 0.0
    exposure: float = 1.0
    wobble_mm: float = 0.0
    rings: float = 0.0


@dataclass(frozen=True)
class ShiftedPair:
    """All settings of one case.

    Parameters
    ----------
    surface : the film in the first scan; its window is what the holder's opaque lip leaves open.
    centre_x, centre_y : the window's centre on the glass in the first scan.
    left, width_mm, height_mm : the scans' frame: X of its left side, and its size; its first row is at Y = 0.
    dpi : scan resolution.
    poses : one per scan, the first usually Pose().
    lens_distance_mm : D; inf for a contact sensor.
    distortion : coefficients c1, c2, c3 of mm of displacement: c1 x + c2 x^2 + c3 x^3, x = X / 100 mm.
    lip_mm : thickness of the opaque lip under the film: its lower edge stands that much under the ledge.
    focus_mm, lens, sensor : height of sharpest focus, and see their classes.
    wobble_mm : standard deviation of the carriage's wobble that every scan repeats.
    content : "picture" or "sky" (grain and a gentle gradient in most of it).
    grain : standard deviation of density in a square of 10 um.
    dust_per_cm2 : specks on the film; a third as many on the glass.
    seed : of everything that is drawn.
    """

    surface: FilmSurface
    centre_x: float
    centre_y: float
    left: float
    width_mm: float
    height_mm: float
    dpi: int = 1200
    poses: tuple[Pose, ...] = (Pose(), Pose(shift_mm=20.0))
    lens_distance_mm: float = 300.0
    distortion: tuple[float, float, float] = (0.0, 0.0, 0.0)
    lip_mm: float = 0.8
    focus_mm: float = 2.5
    lens: Lens = dataclasses.field(default_factory=Lens)
    sensor: Sensor = dataclasses.field(default_factory=Sensor)
    wobble_mm: float = 0.0
    content: str = "picture"
    grain: float = 0.05
    dust_per_cm2: float = 0.0
    seed: int = 0

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns of each scan."""
        return round(self.height_mm / 25.4 * self.dpi), round(self.width_mm / 25.4 * self.dpi)

    @property
    def oversampling(self) -> int:
        """Working pixels per pixel along one side: 2 below 1200 dpi, else 1."""
        return 2 if self.dpi < 1200 else 1

    def height(self, pose: Pose, x_mm: Array, y_mm: Array) -> Array:
        """Height above the glass at film places in a pose."""
        z = self.surface.height(x_mm, y_mm)
        if pose.film_moved_mm:
            u = np.clip(x_mm * (2 / self.surface.width_mm), -1, 1)
            v = np.clip(y_mm * (2 / self.surface.height_mm), -1, 1)
            z = z + pose.film_moved_mm * (1 - u * u) * (1 - v * v)
        return np.asarray(z + pose.rise_mm + pose.tilt_x * x_mm + pose.tilt_y * y_mm)

    def film_place(self, pose: Pose, x_glass: Array, y_glass: Array) -> tuple[Array, Array]:
        """Film places above places of the bed, in a pose."""
        x, y = x_glass - self.centre_x - pose.shift_mm, y_glass - self.centre_y - pose.along_mm
        cos, sin = float(np.cos(pose.turn_rad)), float(np.sin(pose.turn_rad))
        return x * cos + y * sin, y * cos - x * sin

    def bed_place(self, pose: Pose, x_film: Array, y_film: Array) -> tuple[Array, Array]:
        """Bed places under film places; film_place backward."""
        cos, sin = float(np.cos(pose.turn_rad)), float(np.sin(pose.turn_rad))
        x = x_film * cos - y_film * sin + self.centre_x + pose.shift_mm
        return x, x_film * sin + y_film * cos + self.centre_y + pose.along_mm

    def distorted(self, x_mm: Array) -> Array:
        """Displacement by the lens's distortion at X, mm."""
        x = x_mm * 0.01
        c1, c2, c3 = self.distortion
        return np.asarray(x * (c1 + x * (c2 + x * c3)))

    def seen_at(self, pose: Pose, x_film: Array, y_film: Array) -> tuple[Array, Array]:
        """Where film places appear in the scan, mm from its top left corner, wobble aside."""
        x, y = self.bed_place(pose, x_film, y_film)
        x = x / (1 + self.height(pose, x_film, y_film) / self.lens_distance_mm)
        return x + self.distorted(x) - self.left, y

    def looks_at(self, pose: Pose, x_scan: Array, y_scan: Array) -> tuple[Array, Array, Array, Array]:
        """Film places, height, and undistorted X on the glass, of places in the scan; seen_at backward."""
        glass = x_scan + self.left
        x = glass - self.distorted(glass)
        x = glass - self.distorted(x)
        z: Any = self.surface.ledge_mm
        for _ in range(3):
            fx, fy = self.film_place(pose, x * (1 + z / self.lens_distance_mm), y_scan)
            z = self.height(pose, fx, fy)
        return fx, fy, np.asarray(z), x


def wobble(case: ShiftedPair, index: int) -> tuple[Array, Array]:
    """Carriage wobble of each working row of one scan: mm across and along.

    A belt's tooth (every 2 to 5 mm, the same in every scan) and slow wandering, part repeated, part not.
    """
    rows = case.shape[0] * case.oversampling
    y = np.arange(rows) * 25.4 / case.dpi / case.oversampling
    total = np.zeros((2, rows))
    for part, size in ((0, case.wobble_mm), (index + 1, case.poses[index].wobble_mm)):
        if not size:
            continue
        random = np.random.default_rng([case.seed, 77, part])
        smooth = max(3.0 / (y[1] - y[0]), 1.0)
        for axis in range(2):
            wander = scipy.ndimage.gaussian_filter1d(random.standard_normal(rows), smooth)
            tooth = np.sin(2 * np.pi * (y / random.uniform(2, 5) + random.random()))
            total[axis] += size * (0.8 * wander / max(wander.std(), 1e-9) + 0.6 * np.sqrt(2) * tooth)
    return total[0], total[1]


@functools.lru_cache(maxsize=2)
def _grain_tile(seed: int) -> Image:
    """Smooth noise of standard deviation 1; a tile of 1536 cells that repeats."""
    random = np.random.default_rng([seed, 5])
    tile = scipy.ndimage.gaussian_filter(random.standard_normal((1536, 1536), np.float32), 0.8, mode="wrap")
    return np.asarray(tile / tile.std(), np.float32)


@functools.lru_cache(maxsize=2)
def _view(seed: int, content: str) -> Image:
    """The picture as density 0 to 1, enlarged smoothly."""
    random = np.random.default_rng([seed, 6])
    if content == "sky":
        rows = np.linspace(0, 1, 400, dtype=np.float32)[:, None]
        view = 0.75 + 0.1 * rows + 0.01 * pictures.fractal(random, (400, 400), 2.0)
        ground = pictures.landscape(random, (400, 400))
        view = np.where(rows > 0.85, ground, view)
    else:
        view = pictures.picture(random)
    return np.asarray(scipy.ndimage.zoom(1 - view.astype(np.float32), 3, order=3, mode="mirror"), np.float32)


def _density(case: ShiftedPair, x: Array, y: Array) -> Image:
    """Density of the film at film places: picture and grain. Grain is fixed to the film."""
    view, tile = _view(case.seed, case.content), _grain_tile(case.seed)
    w, h = case.surface.width_mm, case.surface.height_mm
    place = [
        np.clip(y / h + 0.5, 0, 1) * (view.shape[0] - 1),
        np.clip(x / w + 0.5, 0, 1) * (view.shape[1] - 1),
    ]
    density: Image = np.float32(1.3) * scipy.ndimage.map_coordinates(
        view, place, order=1, mode="mirror", output=np.float32
    )
    cell = (
        0.9 * 25.4 / case.dpi / case.oversampling
    )  # smooth over about a pixel, turned so that no row repeats
    place = [(y * 0.951 + x * 0.309) / cell, (x * 0.951 - y * 0.309) / cell]
    noise = scipy.ndimage.map_coordinates(tile, place, order=1, mode="grid-wrap", output=np.float32)
    spread = case.grain * min(0.0106 / cell, 2.0) * np.sqrt(np.clip(density, 0.1, 2.0))
    return np.asarray(0.15 + density + spread * noise, np.float32)


def _window(case: ShiftedPair, pose: Pose, x: Array, y: Array) -> Image:
    """Light past the lip's upper and lower edge, at places of the glass without distortion."""
    shape = np.broadcast_shapes(np.shape(x), np.shape(y))
    x, y = np.broadcast_to(x, shape), np.broadcast_to(y, shape)
    light = np.ones(shape, np.float32)
    # film places go straight with places of the glass but for wobble: far inside at both ends is inside in between
    rows, columns = (np.full(n, min(shape) == 1) for n in shape)  # that may be dark
    w, h = case.surface.width_mm / 2 - 1.0, case.surface.height_mm / 2 - 1.0
    for level in (case.surface.ledge_mm, case.surface.ledge_mm - case.lip_mm):
        grown = 1 + level / case.lens_distance_mm
        rows |= np.abs(case.film_place(pose, x[:, [0, -1]] * grown, y[:, [0, -1]])[1]).max(axis=1) > h
        columns |= np.abs(case.film_place(pose, x[[0, -1]] * grown, y[[0, -1]])[0]).max(axis=0) > w
    light[rows] = _past_lip(case, pose, x[rows], y[rows])
    rest = np.ix_(~rows, columns)
    light[rest] = _past_lip(case, pose, x[rest], y[rest])
    return light


def _past_lip(case: ShiftedPair, pose: Pose, x: Array, y: Array) -> Image:
    pixel = 25.4 / case.dpi / case.oversampling
    light = np.ones(np.shape(x), np.float32)
    for level in (case.surface.ledge_mm, case.surface.ledge_mm - case.lip_mm):
        fx, fy = case.film_place(pose, x * (1 + level / case.lens_distance_mm), y)
        inside = np.minimum(case.surface.width_mm / 2 - np.abs(fx), case.surface.height_mm / 2 - np.abs(fy))
        light = np.minimum(light, np.clip(inside / pixel + 0.5, 0, 1).astype(np.float32))
    return light


def _specks(case: ShiftedPair, pose: Pose, corner: tuple[float, float], light: Image, on_film: bool) -> None:
    """Darken the light by dust, on the film (sharp, moves with it) or on the glass (soft, stays)."""
    pixel = 25.4 / case.dpi / case.oversampling
    random = np.random.default_rng([case.seed, 8, int(on_film)])
    w, h = (case.surface.width_mm, case.surface.height_mm) if on_film else (case.width_mm, case.height_mm)
    count = int(random.poisson(case.dust_per_cm2 * w * h / 100 / (1 if on_film else 3)))
    x: Array = random.uniform(0, w, count)
    y: Array = random.uniform(0, h, count)
    size, depth = (
        np.clip(random.lognormal(np.log(0.03), 0.6, count), 0.01, 0.3),
        random.uniform(0.4, 0.95, count),
    )
    if on_film:
        x, y = case.seen_at(pose, x - w / 2, y - h / 2)
    soft = 0.0 if on_film else float(np.sqrt(case.lens.variance_mm2(-case.focus_mm)))
    for k in range(count):
        centre = np.array([(y[k] - corner[1]) / pixel, (x[k] - corner[0]) / pixel])
        pictures.stamp(light, centre, np.zeros((1, 2)), float(size[k]), soft, pixel, float(depth[k]))


def _rings(case: ShiftedPair, index: int, x: Array, y: Array) -> Image:
    """Interference rings about a spot of the glass: 1 + contrast * cos(phase), phase growing with distance squared."""
    random = np.random.default_rng([case.seed, 9, index])
    cx, cy = random.uniform(0.2, 0.8) * case.width_mm, random.uniform(0.2, 0.8) * case.height_mm
    first, reach = random.uniform(1.0, 3.0), random.uniform(5.0, 15.0)
    square = (x - cx) ** 2 + (y - cy) ** 2
    return np.asarray(
        1 + case.poses[index].rings * np.exp(-square / reach**2) * np.cos(2 * np.pi * square / first**2),
        np.float32,
    )


def _looked_at(
    case: ShiftedPair, pose: Pose, x: Array, y: Array, across: Array
) -> tuple[Image, Image, Image, Image]:
    """``looks_at`` for rows of a scan at ``y`` moved by ``across``, columns at ``x``.

    Height and distortion are smooth: they are computed every ``NODE_MM`` and straight in between, which is off by
    some 1e-4 mm of height (a test holds it against ``looks_at``), some thirty times quicker.
    """
    nodes_x = np.arange(float(x[0]) - NODE_MM, float(x[-1]) + 2 * NODE_MM, NODE_MM)
    nodes_y = np.arange(float(y.min()) - NODE_MM, float(y.max()) + 2 * NODE_MM, NODE_MM)
    _, _, known, glass = case.looks_at(pose, nodes_x[None, :], nodes_y[:, None])
    known = np.broadcast_to(known, (len(nodes_y), len(nodes_x)))
    z = _between(known, (y - nodes_y[0]) / NODE_MM)
    z = z + across[:, None] * np.gradient(z, NODE_MM, axis=1)
    z = _between(z.T.astype(np.float32), (x - nodes_x[0]) / NODE_MM).T
    seen = np.interp(x, nodes_x, np.broadcast_to(glass, (1, len(nodes_x)))[0]).astype(np.float32)
    glass_x = seen[None, :] + across[:, None].astype(np.float32)
    fx, fy = case.film_place(pose, glass_x * (1 + z / np.float32(case.lens_distance_mm)), y[:, None])
    return fx, fy, z, glass_x


def _between(a: Array, place: Array) -> Array:
    """Rows of ``a`` at places that are not whole numbers, straight between its rows."""
    low = np.clip(np.floor(place).astype(int), 0, len(a) - 2)
    share = (place - low)[:, None].astype(a.dtype)
    return np.asarray(a[low] * (1 - share) + a[low + 1] * share)


def bands(case: ShiftedPair, index: int) -> Iterator[Pixels]:
    """The rows of one scan from top to bottom, 512 at a time: a whole scan never stands in memory."""
    pose, factor = case.poses[index], case.oversampling
    pixel = 25.4 / case.dpi / factor
    rows, columns = case.shape
    across, along = wobble(case, index)
    margin = (
        int(np.ceil(5 * np.sqrt(case.lens.variance_mm2(case.focus_mm)) / pixel / factor)) * factor
        + 4 * factor
    )
    lit = _lit_columns(case, pose, margin)
    x = ((np.arange(lit.start, lit.stop) + 0.5) * pixel)[None, :].astype(np.float32)
    lens = case.lens
    if factor == 1:  # the pixel's own width, which no binning gives
        lens = dataclasses.replace(
            lens, core_sigma_mm=float(np.hypot(lens.core_sigma_mm, pixel / np.sqrt(12)))
        )
    sharpest = lens.sharpest_dz()
    for number, start in enumerate(range(0, rows, BAND_ROWS)):
        stop = min(start + BAND_ROWS, rows)
        top, bottom = start * factor - margin, stop * factor + margin
        lines = np.clip(np.arange(top, bottom), 0, rows * factor - 1)
        y = ((np.arange(top, bottom) + 0.5) * pixel + along[lines])[:, None].astype(np.float32)
        fx, fy, z, glass_x = _looked_at(case, pose, x[0], y[:, 0], across[lines])
        light = np.exp(np.float32(-np.log(10.0)) * _density(case, fx, fy))
        if case.dust_per_cm2:
            _specks(case, pose, (lit.start * pixel, top * pixel), light, True)
        light = blur_by_defocus(
            light * _window(case, pose, glass_x, y),
            z - case.focus_mm + sharpest,
            lens,
            pixel,
            0.35 * factor,
        )
        if case.dust_per_cm2:
            _specks(case, pose, (lit.start * pixel, top * pixel), light, False)
        if pose.rings:
            light = light * _rings(case, index, x + across[lines][:, None].astype(np.float32), y)
        band = np.zeros((stop - start, columns), np.float32)
        band[:, lit.start // factor : lit.stop // factor] = bin_pixels(
            np.asarray(pose.exposure * light[margin : light.shape[0] - margin], np.float32), factor
        )
        yield develop(band, case.sensor, np.random.default_rng([case.seed, 10, index, number]))


def _lit_columns(case: ShiftedPair, pose: Pose, margin: int) -> slice:
    """Working columns in which light can come through the window; beyond them the scan is dark."""
    factor, columns = case.oversampling, case.shape[1]
    w, h = case.surface.width_mm / 2, case.surface.height_mm / 2
    x = [case.seen_at(pose, np.array(sx * w), np.array(sy * h))[0] for sx in (-1, 1) for sy in (-1, 1)]
    pixel, spare = 25.4 / case.dpi, margin // factor + 2 + round(1.0 / 25.4 * case.dpi)
    first = max(0, int(min(x) / pixel) - spare)
    return slice(first * factor, max(first + 1, min(columns, int(max(x) / pixel) + spare)) * factor)


def render(case: ShiftedPair, index: int) -> Pixels:
    """One scan, whole."""
    return np.concatenate(list(bands(case, index)))


def write(path: Path, case: ShiftedPair, index: int) -> Path:
    """Write one scan as uncompressed TIFF with resolution tags, a band at a time."""
    dtype = np.uint8 if case.sensor.bits == 8 else np.uint16

    def strips() -> Iterator[bytes]:
        for band in bands(case, index):
            for k in range(0, band.shape[0], 64):
                yield band[k : k + 64].tobytes()

    tifffile.imwrite(
        path,
        strips(),
        shape=case.shape,
        dtype=dtype,
        photometric="minisblack",
        resolution=(case.dpi, case.dpi),
        resolutionunit="INCH",
        rowsperstrip=64,
        metadata=None,
        bigtiff=case.shape[0] * case.shape[1] * np.dtype(dtype).itemsize > 3_900_000_000,
    )
    return path


def truth(case: ShiftedPair, step_mm: float = 1.0) -> dict[str, Any]:
    """What is true of this case.

    Returns
    -------
    x, y : grid places in the first scan, mm from its top left corner (1D).
    z : film height above the glass in the first scan, z[j][i] at y[j], x[i]; nan where no film shows in it.
    seen : True where the same film place shows in the second scan too.
    shift, along, turn_rad, lens_distance, ledge, focus, sag {max, mean} : in mm; sag is ledge minus height.
    moved : z in the second scan's pose minus z in the first's, on the grid.
    window : left, top, right, bottom of the ledge's edge in the first scan, mm.
    """
    first, second = case.poses[0], case.poses[1]
    x = np.arange(step_mm / 2, case.width_mm, step_mm)
    y = np.arange(step_mm / 2, case.height_mm, step_mm)
    fx, fy, z, glass_x = case.looks_at(first, x[None, :], y[:, None])
    open_first = _window(case, first, glass_x, y[:, None]) > 0.99
    sx, sy = case.seen_at(second, fx, fy)
    _, _, _, second_x = case.looks_at(second, sx, sy)
    inside = (sx > 0) & (sx < case.width_mm) & (sy > 0) & (sy < case.height_mm)
    seen = open_first & inside & (_window(case, second, second_x, sy) > 0.99)
    height = np.where(open_first, z, np.nan)
    w, h = case.surface.width_mm / 2, case.surface.height_mm / 2
    left, top = case.seen_at(first, np.array(-w), np.array(-h))
    right, bottom = case.seen_at(first, np.array(w), np.array(h))
    return {
        "x": x,
        "y": y,
        "z": height,
        "seen": seen,
        "moved": np.where(open_first, case.height(second, fx, fy) - case.height(first, fx, fy), np.nan),
        "shift": second.shift_mm,
        "along": second.along_mm,
        "turn_rad": second.turn_rad,
        "lens_distance": case.lens_distance_mm,
        "ledge": case.surface.ledge_mm,
        "focus": case.focus_mm,
        "sag": {
            "max": float(np.nanmax(case.surface.ledge_mm - height)),
            "mean": float(np.nanmean(case.surface.ledge_mm - height)),
        },
        "window": (float(left), float(top), float(right), float(bottom)),
        "dpi": case.dpi,
        "parallax": bool(np.isfinite(case.lens_distance_mm)),
    }


def draw_case(seed: int, kind: str, *, window: str | None = None, dpi: int | None = None) -> ShiftedPair:
    """The settings of a random case of one class (see CLASSES).

    Every class has turn by hand, wobble, noise, exposure change, an unknown D (250 to 350 mm), a small distortion
    (0.02 % slope), little dust, film off its ledge at the rim by 0.025 mm, and a holder that stands otherwise after it
    was moved (0.015 mm higher, its ends 0.03 mm). The film itself rises by 0.02 mm (all standard deviations); moving:
    by 0.02 to 0.1 mm, and a third scan at the first place is made; distorted: slopes to 0.15 %; flat_content: sky;
    dusty: much dust, rings; mixed: all of these; contact_sensor: no perspective; along: moved along the bed.
    How large rim, rise and lean really are nobody has measured: invented.

    Parameters
    ----------
    seed, kind : what to draw.
    window : a key of WINDOWS to hold to; None draws one of the smaller, as whole frame or as a crop of a larger.
    dpi : resolution to hold to.
    """
    random = np.random.default_rng([seed, CLASSES.index(kind)])
    name = window or str(random.choice(["35mm", "6x6", "6x9", "4x5"], p=[0.35, 0.3, 0.2, 0.15]))
    wide, tall = WINDOWS[name]
    dpi = dpi or int(
        random.choice({"35mm": [1200, 2400], "6x6": [1200], "6x9": [600, 1200]}.get(name, [600]))
    )
    shift = float(random.choice([-1, 1]) * np.exp(random.uniform(np.log(8), np.log(60))))
    if dpi >= 2400 and not window:
        shift = float(np.clip(shift, -15, 15))
    most = 2 * HALF_BED_MM - wide + 8.0  # up to 8 mm of the window may leave the bed
    shift = float(np.clip(shift, -most, most))
    rim = 3.0
    room = max(0.0, 107.0 - wide / 2 - abs(shift) / 2 - rim)
    middle = float(random.uniform(-room, room))
    surface = draw_surface(random, wide, tall, round(float(random.uniform(1.5, 4.0)), 2))
    strong = kind == "mixed"
    along_bed = kind == "along"
    pose = Pose(
        shift_mm=float(random.normal(0, 0.3)) if along_bed else shift,
        along_mm=shift if along_bed else float(random.normal(0, 0.4)),
        turn_rad=float(random.normal(0, 0.002)),
        exposure=float(random.uniform(0.93, 1.07)),
        wobble_mm=float(random.uniform(0.0, 0.004)),
    )
    third: tuple[Pose, ...] = ()
    other = np.random.default_rng([seed, CLASSES.index(kind), 1])
    surface = dataclasses.replace(surface, rim=draw_rim(other, 0.025))
    rise, lean_x, lean_y = (float(v) for v in other.normal(0, (0.015, 0.03, 0.03)))
    pose = dataclasses.replace(
        pose,
        film_moved_mm=float(other.normal(0, 0.02)),
        rise_mm=rise,
        tilt_x=2 * lean_x / wide,
        tilt_y=2 * lean_y / tall,
    )
    if kind == "moving" or strong:
        moved = float(random.choice([-1, 1]) * random.uniform(0.02, 0.1))
        pose = dataclasses.replace(pose, film_moved_mm=moved)
        third = (
            Pose(
                shift_mm=float(random.normal(0, 0.1)),
                along_mm=float(random.normal(0, 0.1)),
                turn_rad=float(random.normal(0, 0.0005)),
                film_moved_mm=moved * float(random.uniform(1.2, 1.9)),
                wobble_mm=pose.wobble_mm,
            ),
        )
    if kind == "dusty" or strong:
        pose = dataclasses.replace(pose, rings=float(random.uniform(0.0, 0.06)))
    slope = 0.0015 if kind == "distorted" or strong else 0.0002
    focus = surface.ledge_mm + float(random.normal(-0.1, 0.3))
    left = middle - wide / 2 - rim - (0.0 if along_bed else abs(shift) / 2)
    right = min(left + wide + 2 * rim + (0.0 if along_bed else abs(shift)), HALF_BED_MM)
    left = max(left, -HALF_BED_MM)
    start = middle - (0.0 if along_bed else shift / 2)
    spare = abs(shift) if along_bed else 0.0
    return ShiftedPair(
        surface=surface,
        centre_x=start,
        centre_y=tall / 2 + rim + (spare if along_bed and shift < 0 else 0.0),
        left=left,
        width_mm=right - left,
        height_mm=tall + 2 * rim + spare,
        dpi=dpi,
        poses=(Pose(wobble_mm=pose.wobble_mm), pose, *third),
        lens_distance_mm=float("inf") if kind == "contact_sensor" else float(random.uniform(250, 350)),
        distortion=tuple(100 * slope * random.uniform(-1, 1) * v for v in (0.4, 0.3, 0.3)),  # type: ignore[arg-type]
        focus_mm=focus,
        lens=Lens(
            blur_per_mm=float(random.uniform(0.014, 0.03)),
            core_sigma_mm=float(random.uniform(0.007, 0.014)),
            asymmetry=float(random.uniform(-0.1, 0.1)),
        ),
        sensor=Sensor(noise=float(random.uniform(0.001, 0.008)), gamma=float(random.choice([1.0, 2.2]))),
        wobble_mm=float(random.uniform(0.0, 0.006)),
        content="sky" if kind == "flat_content" or (strong and random.random() < 0.3) else "picture",
        grain=float(random.uniform(0.02, 0.1)),
        dust_per_cm2=3.0 if kind == "dusty" or strong else 0.2,
        seed=int(random.integers(2**31)),
    )


def draw(seed: int, kind: str) -> tuple[list[Pixels], dict[str, Any]]:
    """The scans of a random case of a class, and its truth (see truth; also "kind", "seed", settings as "case")."""
    case = draw_case(seed, kind)
    scans = [render(case, k) for k in range(len(case.poses))]
    return scans, {**truth(case), "kind": kind, "seed": seed, "case": dataclasses.asdict(case)}
