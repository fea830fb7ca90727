"""A finished scan of a film in its holder, with what is true of it: heights, sharpness, rings, edges."""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
import scipy.ndimage
from numpy.typing import NDArray

from tests.simulators import pictures
from tests.simulators.film_surface import FilmSurface, draw_surface
from tests.simulators.optics import Image, Lens, blur_by_defocus
from tests.simulators.sensor import Pixels, Sensor, bin_pixels, develop, write_tiff

Array = NDArray[np.floating]
CLASSES = (
    "sharp",
    "soft",
    "sagging",
    "leaning",
    "noisy",
    "rings_spot",
    "rings_contour",
    "plain_content",
    "bordered",
)


@dataclass(frozen=True)
class Rings:
    """Interference between film and a glass face.

    Parameters
    ----------
    kind : "spot" (rings about a contact) or "contour" (a wandering gap).
    x_mm, y_mm : the spot, from the window's top left corner.
    radius_mm : to where the contrast has fallen to 1 / e; for contours the size of their features.
    fringes : how many fringes lie within radius_mm (spot) or over the gap's range (contour).
    contrast : amplitude of the light's swing at the contact, as a share.
    """

    kind: str
    x_mm: float = 0.0
    y_mm: float = 0.0
    radius_mm: float = 3.0
    fringes: float = 5.0
    contrast: float = 0.06


@dataclass(frozen=True)
class FinishedScan:
    """All settings of one finished scan.

    Parameters
    ----------
    surface : film heights above the glass over the holder's window.
    focus_mm, lens : height of sharpest focus, and the lens.
    band_lp_mm, band_share : a height is in the band where the lens passes at this frequency at least this share
        of what it passes at its best height.
    lean_x, lean_y : the film leans, mm per mm, about the window's centre.
    dpi : scan resolution.
    border_mm : opaque holder seen around the window.
    rebate_mm : clear film between the window's edge and the picture, 0 for none.
    skew_deg : how holder and film lie turned.
    content : "picture" (open test pictures and landscapes) or "sky".
    view : a picture to be on the film instead, 0 to 1, or None.
    detail : standard deviation of density of fine texture in the picture; what can show sharpness.
    contrast : density range of the picture.
    grain : standard deviation of density in a square of 10 um.
    rings : interference, or none.
    glare : share of the mean light that is spread over all.
    flare : share of the light that falls back around bright places, 1.5 mm wide.
    mirrored : scanned from the other side.
    dust_per_cm2, sensor, seed : as they say; sensor.white under 1 clips.
    """

    surface: FilmSurface
    focus_mm: float = 2.5
    lens: Lens = dataclasses.field(default_factory=Lens)
    band_lp_mm: float = 10.0
    band_share: float = 0.7
    lean_x: float = 0.0
    lean_y: float = 0.0
    dpi: int = 1200
    border_mm: float = 3.0
    rebate_mm: float = 0.0
    skew_deg: float = 0.0
    content: str = "picture"
    detail: float = 0.06
    contrast: float = 1.4
    grain: float = 0.05
    rings: Rings | None = None
    glare: float = 0.0
    flare: float = 0.0
    mirrored: bool = False
    dust_per_cm2: float = 0.3
    sensor: Sensor = dataclasses.field(default_factory=Sensor)
    seed: int = 0
    view: Image | None = dataclasses.field(default=None, compare=False, repr=False)

    @property
    def size_mm(self) -> tuple[float, float]:
        """Width and height of the picture file."""
        return self.surface.width_mm + 2 * self.border_mm, self.surface.height_mm + 2 * self.border_mm

    @property
    def shape(self) -> tuple[int, int]:
        """Rows and columns."""
        width, height = self.size_mm
        return round(height / 25.4 * self.dpi), round(width / 25.4 * self.dpi)

    @property
    def oversampling(self) -> int:
        """Working pixels per pixel along one side: 2 where that stays quick and the pixel is coarse."""
        return 2 if self.dpi < 2400 and self.shape[0] * self.shape[1] < 2.6e6 else 1

    def places(self, x_mm: Array, y_mm: Array) -> tuple[Array, Array]:
        """Film places from the window's centre, of places in the file before mirroring."""
        width, height = self.size_mm
        cos, sin = float(np.cos(np.radians(self.skew_deg))), float(np.sin(np.radians(self.skew_deg)))
        x, y = x_mm - width / 2, y_mm - height / 2
        return x * cos + y * sin, y * cos - x * sin

    def height(self, x_film: Array, y_film: Array) -> Array:
        """Height of the film above the glass at film places."""
        return np.asarray(self.surface.height(x_film, y_film) + self.lean_x * x_film + self.lean_y * y_film)

    def band(self) -> tuple[float, float]:
        """Lowest and highest height that is sharp by band_lp_mm and band_share."""
        dz = np.linspace(-4, 4, 1601)
        best = self.lens.sharpest_dz()
        at = np.array([self.band_lp_mm])
        share = np.array([float(self.lens.otf(at, float(v + best))[0]) for v in dz])
        good = share >= self.band_share * share[800]
        low = 800 - int(np.argmin(good[800::-1])) + 1
        high = 800 + int(np.argmin(good[800:])) - 1
        return self.focus_mm + float(dz[low]), self.focus_mm + float(dz[high])


def _film(scan: FinishedScan, x: Array, y: Array, pixel_mm: float, random: np.random.Generator) -> Image:
    """Density over the window: picture with fine texture, rebate, grain."""
    view = pictures.picture(random) if scan.view is None else scan.view
    w, h = scan.surface.width_mm - 2 * scan.rebate_mm, scan.surface.height_mm - 2 * scan.rebate_mm
    if scan.content == "sky":
        rows = np.linspace(0, 1, 300, dtype=np.float32)[:, None]
        view = np.asarray(0.7 + 0.15 * rows + np.zeros((300, 300)), np.float32)
    place = [
        np.clip(y / h + 0.5, 0, 1) * (view.shape[0] - 1),
        np.clip(x / w + 0.5, 0, 1) * (view.shape[1] - 1),
    ]
    tone = scipy.ndimage.map_coordinates(view, place, order=1, mode="mirror", output=np.float32)
    density = np.asarray(scan.contrast * (1 - tone), np.float32)
    if scan.detail:
        fine = pictures.fractal(random, (1024, 1024), 0.8)
        reps = [-(-n // 1024) for n in density.shape]
        fine = np.tile(fine, reps)[: density.shape[0], : density.shape[1]]
        # texture where the picture has some: leaves and walls, not sky
        busy = scipy.ndimage.gaussian_filter(scipy.ndimage.gaussian_gradient_magnitude(view, 1.0), 8.0)
        busy = np.clip(busy / max(float(np.percentile(busy, 70)), 1e-6), 0, 1.5)
        where = scipy.ndimage.map_coordinates(busy, place, order=1, mode="mirror", output=np.float32)
        density = density + np.float32(scan.detail) * fine * where
    if scan.rebate_mm:
        edge = np.minimum(w / 2 - np.abs(x), h / 2 - np.abs(y))
        density = density * np.clip(edge / pixel_mm + 0.5, 0, 1)
    spread = scan.grain * min(0.0106 / pixel_mm, 2.0) * np.sqrt(np.clip(density / 0.8, 0.03, 2.0))
    noise = random.standard_normal(density.shape, np.float32)
    return np.asarray(0.12 + np.maximum(density, 0) + spread * noise, np.float32)


def _swing(scan: FinishedScan, x: Array, y: Array, random: np.random.Generator) -> Image:
    """Factor on the light by interference, at film places."""
    rings = scan.rings
    if rings is None:
        return np.ones((1, 1), np.float32)
    left, top = x + scan.surface.width_mm / 2, y + scan.surface.height_mm / 2
    if rings.kind == "spot":
        square = ((left - rings.x_mm) ** 2 + (top - rings.y_mm) ** 2) / rings.radius_mm**2
        return np.asarray(
            1 - rings.contrast * np.exp(-square) * np.cos(2 * np.pi * rings.fringes * square), np.float32
        )
    cells = [max(int(v / rings.radius_mm), 2) + 4 for v in (scan.surface.height_mm, scan.surface.width_mm)]
    gap = scipy.ndimage.gaussian_filter(random.standard_normal(cells), 0.8)
    gap = (gap - gap.min()) / np.ptp(gap)
    smooth = scipy.ndimage.map_coordinates(
        gap,
        [top / rings.radius_mm + 1, left / rings.radius_mm + 1],
        order=3,
        mode="nearest",
        output=np.float32,
    )
    return np.asarray(
        1 - rings.contrast * np.exp(-((smooth / 0.7) ** 2)) * np.cos(2 * np.pi * rings.fringes * smooth),
        np.float32,
    )


def render(scan: FinishedScan) -> Pixels:
    """The scan's pixel values, (rows, columns)."""
    random = np.random.default_rng(scan.seed)
    factor = scan.oversampling
    pixel = 25.4 / scan.dpi / factor
    rows, columns = (n * factor for n in scan.shape)
    x, y = scan.places(
        ((np.arange(columns) + 0.5) * pixel).astype(np.float32)[None, :],
        ((np.arange(rows) + 0.5) * pixel).astype(np.float32)[:, None],
    )
    inside = np.minimum(scan.surface.width_mm / 2 - np.abs(x), scan.surface.height_mm / 2 - np.abs(y))
    light = np.exp(np.float32(-np.log(10.0)) * _film(scan, x, y, pixel, random)) * _swing(scan, x, y, random)
    light = np.asarray(light * np.clip(inside / pixel + 0.5, 0, 1), np.float32)
    if scan.dust_per_cm2:
        light *= pictures.dust(random, light.shape, pixel, scan.dust_per_cm2)
    lens = scan.lens
    if factor == 1:  # the pixel's own width, which no binning gives
        lens = dataclasses.replace(
            lens, core_sigma_mm=float(np.hypot(lens.core_sigma_mm, pixel / np.sqrt(12)))
        )
    defocus = scan.height(x, y) - scan.focus_mm + scan.lens.sharpest_dz()
    light = bin_pixels(blur_by_defocus(light, defocus, lens, pixel), factor)
    if scan.flare:
        small = light[::8, ::8]
        wide = scipy.ndimage.gaussian_filter(small, 1.5 / (8 * 25.4 / scan.dpi))
        spread = scipy.ndimage.zoom(wide, 8, order=1)[: light.shape[0], : light.shape[1]]
        spread = np.pad(
            spread, [(0, a - b) for a, b in zip(light.shape, spread.shape, strict=True)], mode="edge"
        )
        light = light + scan.flare * (spread - light)
    light = light + scan.glare * float(light.mean())
    image = develop(np.asarray(light, np.float32), scan.sensor, random)
    flipped: Pixels = image[:, ::-1] if scan.mirrored else image
    return flipped.copy()


def truth(scan: FinishedScan, cells: int = 12) -> dict[str, Any]:
    """What is true of this scan; the grid's cells are counted as they lie in the file, mirrored or not.

    Returns
    -------
    in_band : share of each cell's film that lies in the band, rows by columns; `cells` along the window's longer side.
    in_band_fraction : share of the window's film in the band.
    band, focus : mm above the glass.
    z : mean height of each cell; transfer : share of the best transfer at 5, 10 and 20 cycles per mm, each cell.
    best_transfer : transfer of the lens at best focus at 5, 10, 20 cycles per mm.
    window : left, top, right, bottom of the lit window in the file, mm (at its middle lines where skewed).
    picture : the same of the picture inside the rebate.
    skew_deg : as it appears in the file, positive as the settings' (a mirrored file shows the other sign).
    rings : None or the settings with x, y in mm of the file.
    """
    w, h = scan.surface.width_mm, scan.surface.height_mm
    nx, ny = (cells, max(1, round(cells * h / w))) if w >= h else (max(1, round(cells * w / h)), cells)
    fine = 8
    x = ((np.arange(nx * fine) + 0.5) / (nx * fine) - 0.5) * w
    y = ((np.arange(ny * fine) + 0.5) / (ny * fine) - 0.5) * h
    z = scan.height(x[None, :], y[:, None])
    if scan.mirrored:
        z = z[:, ::-1]
    low, high = scan.band()
    blocks = z.reshape(ny, fine, nx, fine)
    inside = (blocks >= low) & (blocks <= high)
    at = np.array([5.0, 10.0, 20.0])
    best = scan.lens.sharpest_dz()
    top = scan.lens.otf(at, best)
    middle = blocks.mean(axis=(1, 3))
    transfer = np.array(
        [[scan.lens.otf(at, float(v) - scan.focus_mm + best) / top for v in row] for row in middle]
    )
    b, r = scan.border_mm, scan.rebate_mm
    rings = None
    if scan.rings is not None:
        cx, cy = scan.rings.x_mm - w / 2, scan.rings.y_mm - h / 2
        cos, sin = np.cos(np.radians(scan.skew_deg)), np.sin(np.radians(scan.skew_deg))
        fx, fy = cx * cos - cy * sin + w / 2 + b, cx * sin + cy * cos + h / 2 + b
        fx = w + 2 * b - fx if scan.mirrored else fx
        rings = {**dataclasses.asdict(scan.rings), "x": float(fx), "y": float(fy)}
    return {
        "in_band": inside.mean(axis=(1, 3)),
        "in_band_fraction": float(inside.mean()),
        "band": (low, high),
        "focus": scan.focus_mm,
        "z": middle,
        "transfer": np.moveaxis(transfer, -1, 0),
        "best_transfer": tuple(float(v) for v in top),
        "window": (b, b, b + w, b + h),
        "picture": (b + r, b + r, b + w - r, b + h - r),
        "skew_deg": -scan.skew_deg if scan.mirrored else scan.skew_deg,
        "rings": rings,
        "dpi": scan.dpi,
        "mirrored": scan.mirrored,
    }


def draw_case(seed: int, kind: str) -> FinishedScan:
    """The settings of a random scan of one class (see CLASSES).

    All classes: noise 0.05 to 1 % of white, 600 to 2400 dpi, 24 x 18 mm to 4x5, pictures or landscapes, grain;
    the band is that of 70 % of the best transfer at 15 cycles per mm, at 600 dpi at 8.
    sharp: all in the band; soft: a flat film out of it; sagging: partly out; leaning: one side out; noisy: noise of
    0.4 to 1 %; rings_spot and rings_contour: contrast 2 to 10 %; plain_content: sky and soft pictures without fine
    texture; bordered: rebate, mirrored, clipped, glare and flare.
    """
    random = np.random.default_rng([seed, CLASSES.index(kind)])
    dpi = int(random.choice([600, 1200, 1200, 2400]))
    wide, tall = {600: [(56, 56), (93, 118)], 1200: [(36, 24), (56, 42)], 2400: [(24, 18)]}[dpi][
        int(random.integers({600: 2, 1200: 2, 2400: 1}[dpi]))
    ]
    if random.random() < 0.3:
        wide, tall = tall, wide
    lens = Lens(
        blur_per_mm=float(random.uniform(0.015, 0.03)),
        core_sigma_mm=float(random.uniform(0.007, 0.013)),
        asymmetry=float(random.uniform(-0.1, 0.1)),
        spherical_mm=float(random.uniform(-0.02, 0.02)),
    )
    ledge = float(random.uniform(2.0, 3.5))
    surface = dataclasses.replace(draw_surface(random, float(wide), float(tall), ledge), middle_mm=0.0)
    surface = dataclasses.replace(
        surface, saddle_mm=0.3 * surface.saddle_mm, ripple_mm=0.3 * surface.ripple_mm
    )
    scan = FinishedScan(
        surface=surface,
        focus_mm=ledge + float(random.normal(0, 0.08)),
        lens=lens,
        band_lp_mm=8.0 if dpi == 600 else 15.0,
        dpi=dpi,
        border_mm=float(random.uniform(1.5, 5)),
        rebate_mm=float(random.choice([0.0, 1.5])),
        skew_deg=float(random.normal(0, 0.6)),
        detail=float(random.uniform(0.02, 0.12)),
        contrast=float(random.uniform(0.8, 1.8)),
        grain=float(random.uniform(0.015, 0.1)),
        sensor=Sensor(
            noise=float(np.exp(random.uniform(np.log(5e-4), np.log(1e-2)))),
            gamma=float(random.choice([1.0, 1.0, 2.2])),
            bits=int(random.choice([8, 16])),
        ),
        dust_per_cm2=float(random.choice([0.0, 0.5, 2.0])),
        seed=int(random.integers(2**31)),
    )
    low, high = scan.band()
    reach = 0.5 * (high - low)
    side = float(random.choice([-1, 1]))
    if kind == "soft":
        return dataclasses.replace(
            scan, focus_mm=scan.focus_mm + side * reach * float(random.uniform(1.5, 3))
        )
    if kind == "sagging":
        bent = dataclasses.replace(surface, middle_mm=side * reach * float(random.uniform(1.3, 3)))
        return dataclasses.replace(scan, surface=bent)
    if kind == "leaning":
        return dataclasses.replace(scan, lean_x=side * reach * float(random.uniform(2.5, 5)) / wide)
    return _special(scan, kind, random)


def _special(scan: FinishedScan, kind: str, random: np.random.Generator) -> FinishedScan:
    """Classes that leave the heights as they are."""
    if kind == "noisy":
        return dataclasses.replace(
            scan, sensor=dataclasses.replace(scan.sensor, noise=float(random.uniform(0.004, 0.01)))
        )
    if kind.startswith("rings"):
        w, h = scan.surface.width_mm, scan.surface.height_mm
        rings = Rings(
            kind=kind.removeprefix("rings_"),
            x_mm=float(random.uniform(0.15, 0.85) * w),
            y_mm=float(random.uniform(0.15, 0.85) * h),
            radius_mm=float(np.exp(random.uniform(np.log(1.0), np.log(0.4 * min(w, h))))),
            fringes=float(random.uniform(2, 8)),
            contrast=float(random.uniform(0.02, 0.1)),
        )
        if rings.kind == "contour":
            rings = dataclasses.replace(
                rings, radius_mm=float(random.uniform(6, 20)), fringes=float(random.uniform(3, 9))
            )
        return dataclasses.replace(scan, rings=rings)
    if kind == "plain_content":
        return dataclasses.replace(scan, content=str(random.choice(["sky", "picture"])), detail=0.0)
    if kind == "bordered":
        return dataclasses.replace(
            scan,
            rebate_mm=float(random.uniform(1, 3)),
            mirrored=bool(random.random() < 0.5),
            glare=float(random.uniform(0, 0.05)),
            flare=float(random.uniform(0, 0.08)),
            sensor=dataclasses.replace(scan.sensor, white=float(random.uniform(0.45, 0.9))),
        )
    return scan


def draw(seed: int, kind: str) -> tuple[Pixels, dict[str, Any]]:
    """A random finished scan of a class: pixels and truth (see truth; also "kind", "seed", settings as "case")."""
    case = draw_case(seed, kind)
    return render(case), {**truth(case), "kind": kind, "seed": seed, "case": dataclasses.asdict(case)}


def write(path: Path, seed: int, kind: str) -> dict[str, Any]:
    """Write a random finished scan of a class as TIFF with resolution tags, and return its truth."""
    image, facts = draw(seed, kind)
    write_tiff(path, image, facts["dpi"])
    return facts
