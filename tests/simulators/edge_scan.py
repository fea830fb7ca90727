"""A flatbed's picture of a film that stands on its edge on the glass, lid open, lit from below.

The lens is under the glass and sees across the bed's width in perspective: a point at height z over the glass
appears at x / (1 + z / distance) from the lens axis, so the film's wall smears from its foot toward the axis. Along
the carriage's way (picture y) there is no perspective. Higher parts of the wall are dimmer and out of focus.

Picture coordinates: x right (across the bed's width), y down (the carriage's way), mm from the upper left corner; a
pixel's centre is at (column + 0.5) * 25.4 / dpi. Angles turn clockwise in the picture, from right toward down.
Numbers for brightness and noise are invented, in the range of common desktop scanners (common practice, no source).

Run `python -m tests.simulators.edge_scan FOLDER` for example pictures.
"""

from __future__ import annotations

import itertools
import sys
from dataclasses import dataclass, replace
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from scipy.ndimage import gaussian_filter
from scipy.spatial import cKDTree

Array = NDArray[np.float64]
Picture = NDArray[np.uint8] | NDArray[np.uint16]
TINT = np.array([0.94, 1.0, 1.03])
"""Red, green, blue of film base and gelatin against gray; invented."""


@dataclass(frozen=True)
class EdgeScene:
    """What stands on the glass and how it is scanned.

    Fields
    ------
    curl_per_m : curvature of the foot's arc in 1/m, >= 0
    length_mm, height_mm, thickness_mm : of the film: along its foot, up from the glass, through it
    side : +1 the hollow faces down in the picture for a film at angle 0, -1 up
    angle_deg : direction of the foot's chord, clockwise from picture right
    off_axis_mm : distance of the film's middle from the lens axis across the bed; positive is right of it
    distance_mm : lens to glass along the folded light path
    straight_start_mm, straight_end_mm : uncurled length at either end (a film held flat there for years)
    bent_mm, bent_per_m : length and curvature of a bent corner at the end, either sign
    kink_deg, kink_at : a fold: its angle, and where along the length (0 to 1)
    lean_deg : lean of the wall toward the hollow
    margin_mm : glass around the film in the picture
    frame_mm : size (across, along) of a whole bed's picture instead, its middle on the lens axis; None: margin_mm
    stands : number of card stands beside the film, 1 mm off its foot, on alternate sides
    dpi, bits, rgb, gamma : sampling, 8 or 16 bits, colour, encoding exponent (1 is linear)
    background, light, wall : brightness 0 to 1 of the dark room, of the film's cut edge, of the wall at its foot
    gradient : light from one side of the room, added across the picture
    falloff_mm : height over which the wall's brightness falls to 1/e
    blur_px, defocus : lens blur at the glass in pixels; blur disc's diameter at height z is defocus * z
    noise : standard deviation of the noise at mid brightness; half as much in the dark
    dust, fibres, fingerprints : number of each on the glass
    seed : of everything random
    """

    curl_per_m: float = 5.0
    length_mm: float = 90.0
    height_mm: float = 61.5
    thickness_mm: float = 0.13
    side: int = 1
    angle_deg: float = 0.0
    off_axis_mm: float = 0.0
    distance_mm: float = 300.0
    straight_start_mm: float = 0.0
    straight_end_mm: float = 0.0
    bent_mm: float = 0.0
    bent_per_m: float = 60.0
    kink_deg: float = 0.0
    kink_at: float = 0.5
    lean_deg: float = 0.0
    margin_mm: float = 8.0
    frame_mm: tuple[float, float] | None = None
    stands: int = 0
    dpi: float = 300.0
    bits: int = 8
    rgb: bool = False
    gamma: float = 2.2
    background: float = 0.015
    light: float = 0.5
    wall: float = 0.12
    gradient: float = 0.01
    falloff_mm: float = 15.0
    blur_px: float = 0.7
    defocus: float = 0.012
    noise: float = 0.006
    dust: int = 30
    fibres: int = 4
    fingerprints: int = 0
    seed: int = 0


@dataclass(frozen=True)
class EdgePicture:
    """A simulated scan.

    Fields
    ------
    pixels : (rows, columns) or (rows, columns, 3), uint8 or uint16
    dpi : pixels per inch, both ways
    truth : see `render`
    """

    pixels: Picture
    dpi: float
    truth: dict[str, Any]


def foot_line(scene: EdgeScene, step_mm: float = 0.02) -> tuple[Array, Array]:
    """The foot's middle line as points (n, 2) in mm, centred on its chord's middle, and a mask of its curled part."""
    count = int(np.ceil(scene.length_mm / step_mm)) + 1
    s = np.linspace(0, scene.length_mm, count)
    ds = s[1] - s[0]
    mid = (s[1:] + s[:-1]) / 2
    straight = (mid < scene.straight_start_mm) | (mid > scene.length_mm - scene.straight_end_mm)
    bent = mid > scene.length_mm - scene.bent_mm
    bends = np.where(straight, 0.0, scene.curl_per_m * 1e-3)
    bends = np.where(bent, scene.bent_per_m * 1e-3, bends)
    turn = np.cumsum(bends * ds) - bends * ds / 2
    turn += np.where(mid > scene.kink_at * scene.length_mm, np.radians(scene.kink_deg), 0.0)
    steps = np.stack([np.cos(turn), np.sin(turn)], axis=1) * ds
    points = np.concatenate([np.zeros((1, 2)), np.cumsum(steps, axis=0)])
    chord = points[-1]
    level = -np.arctan2(chord[1], chord[0])
    points = points @ rotation(level).T
    points[:, 1] *= scene.side
    points -= points[-1] / 2
    curled = np.concatenate([[True], ~(straight | bent)]) & np.concatenate([~(straight | bent), [True]])
    return points @ rotation(np.radians(scene.angle_deg)).T, curled


def rotation(angle: float) -> Array:
    return np.array([[np.cos(angle), -np.sin(angle)], [np.sin(angle), np.cos(angle)]])


def chord_and_rise(points: Array) -> tuple[float, float]:
    """Length of the chord of a line of points, and its greatest distance from the chord (mm)."""
    along = points[-1] - points[0]
    length = float(np.hypot(*along))
    across = (points - points[0]) @ np.array([-along[1], along[0]]) / length
    return length, float(np.abs(across).max())


def hollow_direction(scene: EdgeScene) -> Array:
    """Unit vector in the picture (x right, y down) from the arc's middle toward its hollow side."""
    return np.asarray(rotation(np.radians(scene.angle_deg)) @ np.array([0.0, float(scene.side)]))


def wall_points(scene: EdgeScene, foot: Array, heights: Array) -> Array:
    """Where the wall's points appear on the glass, shape (heights, n, 2), mm from the film's middle."""
    lean = np.tan(np.radians(scene.lean_deg)) * hollow_direction(scene)
    points = foot[None] + heights[:, None, None] * lean
    scale = 1 / (1 + heights / scene.distance_mm)
    points[:, :, 0] = (points[:, :, 0] + scene.off_axis_mm) * scale[:, None] - scene.off_axis_mm
    return np.asarray(points)


def _frame(scene: EdgeScene, foot: Array) -> tuple[Array, tuple[int, int]]:
    """Offset from the film's middle to picture mm, and the picture's (rows, columns)."""
    if scene.frame_mm is not None:
        across, along = scene.frame_mm
        shape = (round(along * scene.dpi / 25.4), round(across * scene.dpi / 25.4))
        return np.array([across / 2 + scene.off_axis_mm, along / 2]), shape
    both = wall_points(scene, foot[::20], np.array([0.0, scene.height_mm])).reshape(-1, 2)
    low, high = both.min(axis=0) - scene.margin_mm, both.max(axis=0) + scene.margin_mm
    size = np.ceil((high - low) * scene.dpi / 25.4).astype(int)
    return -low, (int(size[1]), int(size[0]))


def _wall(scene: EdgeScene, foot: Array, offset: Array, shape: tuple[int, int], base: Array) -> Array:
    """The wall painted over a picture, far parts first, each bin of heights with its own blur."""
    rng = np.random.default_rng(scene.seed + 1)
    pixel = 25.4 / scene.dpi
    reach = np.abs(wall_points(scene, foot[::50], np.array([0.0, scene.height_mm])))
    travel = float(np.abs(np.diff(reach, axis=0)).max()) / pixel
    layers = int(min(max(32, 2 * travel), 2000))
    texture = gaussian_filter(rng.normal(size=(64, 256)), (2, 6))
    texture = 1 + 0.25 * texture / texture.std()
    every = max(1, int(0.4 * pixel / 0.02))
    line = foot[::every]
    edges = scene.height_mm * np.linspace(0, 1, 11) ** 1.5
    picture = base
    for low, high in reversed(list(itertools.pairwise(edges))):
        count = max(3, int(np.ceil(layers * (high - low) / scene.height_mm)))
        z = np.linspace(low, high, count)[::-1]
        points = (wall_points(scene, line, z) + offset) / pixel
        column, row = (np.clip(points[..., k].astype(int), 0, shape[1 - k] - 1) for k in (0, 1))
        u = np.minimum((z / scene.height_mm * 63).astype(int), 63)
        v = np.linspace(0, 255, len(line)).astype(int)
        bright = scene.wall * np.exp(-z / scene.falloff_mm)[:, None] * texture[u][:, v]
        value, cover = np.zeros(shape), np.zeros(shape)
        value[row.ravel(), column.ravel()] = bright.ravel()
        cover[row.ravel(), column.ravel()] = 1.0
        sigma = np.hypot(scene.blur_px, scene.defocus * (low + high) / 2 / pixel / 2.5)
        value, cover = gaussian_filter(value, sigma), np.minimum(gaussian_filter(cover, sigma), 1.0)
        picture = picture * (1 - 0.9 * cover) + value
    return np.asarray(picture)


def _stands(scene: EdgeScene, foot: Array, offset: Array, picture: Array) -> Array:
    """Blocks of card beside the foot, 12 by 5 mm, painted over a picture."""
    pixel = 25.4 / scene.dpi
    y, x = np.mgrid[0 : picture.shape[0], 0 : picture.shape[1]]
    for k in range(scene.stands):
        n = int(len(foot) * (k + 0.5) / scene.stands)
        along = foot[min(n + 1, len(foot) - 1)] - foot[n - 1]
        along /= np.hypot(*along)
        across = np.array([-along[1], along[0]]) * (1 if k % 2 else -1)
        middle = foot[n] + offset + across * (1.0 + 2.5)
        dx, dy = (x + 0.5) * pixel - middle[0], (y + 0.5) * pixel - middle[1]
        inside = (np.abs(dx * along[0] + dy * along[1]) < 6) & (np.abs(dx * across[0] + dy * across[1]) < 2.5)
        picture = np.where(inside, 0.3, picture)
    return gaussian_filter(picture, scene.blur_px) if scene.stands else picture


def _foot(scene: EdgeScene, foot: Array, offset: Array, shape: tuple[int, int], picture: Array) -> Array:
    """The film's cut edge on the glass, painted over a picture with exact coverage of each pixel."""
    pixel = 25.4 / scene.dpi
    near = np.zeros(shape)
    index = ((foot + offset) / pixel).astype(int)
    near[np.clip(index[:, 1], 0, shape[0] - 1), np.clip(index[:, 0], 0, shape[1] - 1)] = 1.0
    reach = 3 + scene.thickness_mm / pixel
    rows, columns = np.nonzero(gaussian_filter(near, reach / 2, truncate=3.0) > 1e-9)
    centres = (np.stack([columns, rows], axis=1) + 0.5) * pixel
    apart, nearest = cKDTree(foot + offset).query(centres)
    cover = np.clip((scene.thickness_mm / 2 - apart) / pixel + 0.5, 0.0, 1.0)
    cover *= min(1.0, scene.thickness_mm / pixel)
    rng = np.random.default_rng(scene.seed + 2)
    rough = gaussian_filter(rng.normal(size=len(foot)), 0.4 / 0.02, mode="nearest")
    shine = np.clip(1 + 0.3 * rough / rough.std(), 0.1, 2.0)[nearest]
    edge, bright = np.zeros(shape), np.zeros(shape)
    edge[rows, columns], bright[rows, columns] = cover, cover * shine * scene.light
    edge, bright = gaussian_filter(edge, scene.blur_px), gaussian_filter(bright, scene.blur_px)
    return np.asarray(picture * (1 - edge) + bright)


def _dirt(scene: EdgeScene, picture: Array) -> Array:
    """Dust, fibres and fingerprints on the glass, added to a picture."""
    rng = np.random.default_rng(scene.seed + 3)
    rows, columns = picture.shape
    pixel = 25.4 / scene.dpi
    marks = np.zeros_like(picture)
    for _ in range(scene.dust):
        size = max(1, int(rng.lognormal(np.log(0.08), 0.5) / pixel))
        r, c = rng.integers(0, max(1, rows - size)), rng.integers(0, max(1, columns - size))
        marks[r : r + size, c : c + size] += rng.uniform(0.05, 0.5)
    for _ in range(scene.fibres):
        way = rng.uniform(0, 2 * np.pi) + np.cumsum(rng.normal(0, 0.02, int(4 / pixel)))
        r = rng.uniform(0, rows) + np.cumsum(np.sin(way) * 0.5)
        c = rng.uniform(0, columns) + np.cumsum(np.cos(way) * 0.5)
        marks[np.clip(r, 0, rows - 1).astype(int), np.clip(c, 0, columns - 1).astype(int)] = rng.uniform(
            0.1, 0.4
        )
    marks = gaussian_filter(marks, scene.blur_px)
    y, x = np.mgrid[0:rows, 0:columns] * pixel
    for _ in range(scene.fingerprints):
        cx, cy = rng.uniform(0, columns * pixel), rng.uniform(0, rows * pixel)
        dx, dy = x - cx, (y - cy) * 0.8
        far = np.hypot(dx, dy)
        ridges = 0.5 + 0.5 * np.sin(2 * np.pi * (np.hypot(dx + 3, dy) + 0.4 * np.sin(dy)) / 0.5)
        marks += 0.03 * ridges**2 * np.exp(-((far / 7) ** 4))
    return picture + marks


def _encode(scene: EdgeScene, picture: Array) -> Picture:
    """Noise, colour, exponent and rounding."""
    rng = np.random.default_rng(scene.seed + 4)
    planes = np.stack([picture * tint for tint in TINT], axis=2) if scene.rgb else picture[..., None]
    spread = scene.noise * np.sqrt(0.25 + 1.5 * np.clip(planes, 0, 1))
    planes = np.clip(planes + rng.normal(size=planes.shape) * spread, 0.0, 1.0) ** (1 / scene.gamma)
    top = 2**scene.bits - 1
    kind = np.uint8 if scene.bits == 8 else np.uint16
    whole: Picture = np.round(planes * top).astype(kind)
    return whole if scene.rgb else whole[..., 0]


def render(scene: EdgeScene) -> EdgePicture:
    """The scan of a scene, and the truth about it.

    The truth's keys: `curl_per_m` (of the arc, without its bent or straight ends), `chord_mm` and `rise_mm` (of the
    whole foot line: between its ends, and its greatest distance from that line), `arc_chord_mm` and `arc_rise_mm`
    (of the curled part alone), `side` ("up", "down", "left" or "right": where the hollow faces in the picture),
    `hollow_xy` (the same as a unit vector), `angle_deg`, `ends_px` (column, row of both ends, pixel-centre
    coordinates: a pixel's own centre has whole numbers), `foot_px` (points of the foot line, the same way).
    """
    if scene.bits not in {8, 16} or scene.side not in {-1, 1}:
        raise ValueError("bits must be 8 or 16, side +1 or -1")
    foot, curled = foot_line(scene)
    offset, shape = _frame(scene, foot)
    across = np.linspace(-1, 1, shape[1])[None, :] * scene.gradient
    base = np.full(shape, scene.background) + across * 0.5 + abs(scene.gradient) / 2
    base = _stands(scene, foot, offset, base)
    picture = _wall(scene, foot, offset, shape, base)
    picture = _foot(scene, foot, offset, shape, picture)
    pixels = _encode(scene, _dirt(scene, picture))
    chord, rise = chord_and_rise(foot)
    arc_chord, arc_rise = chord_and_rise(foot[curled])
    hollow = hollow_direction(scene)
    names = ("right", "left") if abs(hollow[0]) > abs(hollow[1]) else ("down", "up")
    main = hollow[0] if abs(hollow[0]) > abs(hollow[1]) else hollow[1]
    line = (foot + offset) * scene.dpi / 25.4 - 0.5
    truth = {
        "curl_per_m": scene.curl_per_m, "chord_mm": chord, "rise_mm": rise, "arc_chord_mm": arc_chord,
        "arc_rise_mm": arc_rise, "side": names[0] if main > 0 else names[1], "hollow_xy": hollow,
        "angle_deg": scene.angle_deg, "ends_px": line[[0, -1]], "foot_px": line[::10],
    }  # fmt: skip
    return EdgePicture(pixels, scene.dpi, truth)


def write_tiff(path: Path, scan: EdgePicture, *, compressed: bool = False, resolution: bool = True) -> None:
    """Write a scan as a TIFF; without `resolution` the file does not say its dpi."""
    import tifffile

    colour = "rgb" if scan.pixels.ndim == 3 else "minisblack"
    more: dict[str, Any] = (
        {"resolution": (scan.dpi, scan.dpi), "resolutionunit": "INCH"} if resolution else {}
    )
    if compressed:
        more["compression"] = "zlib"
    tifffile.imwrite(path, scan.pixels, photometric=colour, rowsperstrip=64, metadata=None, **more)


PLAIN = EdgeScene()
EXAMPLES: dict[str, EdgeScene] = {
    "across": PLAIN,
    "along_off_axis": replace(PLAIN, angle_deg=87.0, off_axis_mm=60.0, side=-1),
    "bent_corner": replace(PLAIN, curl_per_m=3.0, bent_mm=8.0, bent_per_m=-40.0, angle_deg=-4.0, seed=1),
    "straight_ends": replace(PLAIN, curl_per_m=8.0, straight_start_mm=15.0, straight_end_mm=20.0, lean_deg=4.0, seed=2),
    "kinked_dirty_rgb": replace(
        PLAIN, curl_per_m=4.0, kink_deg=5.0, kink_at=0.7, dust=200, fibres=15, fingerprints=3, rgb=True, bits=16,
        gradient=0.04, noise=0.012, angle_deg=8.0, off_axis_mm=-40.0, seed=3,
    ),
    "fine_sheet": replace(
        PLAIN, curl_per_m=1.5, length_mm=126.0, height_mm=100.0, thickness_mm=0.18, dpi=600.0, seed=4
    ),
    "whole_bed_with_stands": replace(
        PLAIN, curl_per_m=1.2, angle_deg=2.0, stands=3, frame_mm=(216.0, 120.0), off_axis_mm=-30.0, dpi=200.0, seed=5
    ),
}  # fmt: skip
"""Scenes that the script renders, by name."""


def main(folder: Path) -> None:
    from PIL import Image

    folder.mkdir(parents=True, exist_ok=True)
    for name, scene in EXAMPLES.items():
        scan = render(scene)
        write_tiff(folder / f"{name}.tiff", scan)
        eight = scan.pixels if scene.bits == 8 else (scan.pixels >> 8).astype(np.uint8)
        Image.fromarray(eight).save(folder / f"{name}.png")
        shown = {key: scan.truth[key] for key in ("curl_per_m", "chord_mm", "rise_mm", "side")}
        print(name, scan.pixels.shape, scan.pixels.dtype, shown)


if __name__ == "__main__":
    main(Path(sys.argv[1]))
