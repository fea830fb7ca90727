"""A scan of a transparent target on a slope, with its true focus height.

The picture is the scan cropped to the target: its rise is over the whole long side. The carriage moves along the
rows' index (down the picture); the line sensor lies across it, so perspective acts along columns only.
"""

from __future__ import annotations

import dataclasses
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray

from tests.simulators import pictures, targets
from tests.simulators.optics import Image, Lens, blur_by_defocus
from tests.simulators.sensor import Pixels, Sensor, bin_pixels, develop, write_tiff

Array = NDArray[np.floating]
CLASSES = (
    "clean",
    "asymmetric",
    "curved_field",
    "content",
    "sagging",
    "processed",
    "narrow",
    "grain",
    "text",
    "beyond",
)
LUMA = (0.299, 0.587, 0.114)  # ITU-R BT.601: weights of red, green, blue in grey


@dataclass(frozen=True)
class Field:
    """Focus height over the bed: height + tilt * X + curvature * X**2 / 2, X mm from the lens axis across the bed."""

    height: float = 2.5
    tilt: float = 0.0
    curvature: float = 0.0

    def at(self, x_mm: Array | float) -> Array:
        """Height of sharpest focus at X."""
        return np.asarray(self.height + x_mm * (self.tilt + 0.5 * self.curvature * x_mm))


@dataclass(frozen=True)
class SlopeScan:
    """One scan of one target on a slope.

    Parameters
    ----------
    target : a kind from targets.KINDS.
    dpi : scan resolution.
    length_mm, width_mm : size of the picture along the slope and beside it.
    across : the slope runs across the bed (picture is wide), else along it (picture is tall).
    reverse : the low end is at the right or bottom.
    skew_deg : how the target lies turned in the picture.
    start, rise : true height at the low end of the centre line, and by how much the other end is higher.
    sag_mm : the middle of the target lies this much lower than the straight slope (a sagging ruler); negative for
        a bow upward. The shape is that of a uniformly loaded beam on two ends (sag) or a parabola (bow).
    trough_mm : the film's long edges lie this much higher than its middle (curl across).
    x_mm : place of the picture's middle across the bed, from the lens axis.
    lens_distance_mm : lens to glass along the folded path.
    lens, field, sensor : see their classes.
    channel_offsets : focus of red, green, blue above the field's height; None for a grey scan.
    dust_per_cm2 : specks on the target; a third as many on the glass, out of focus.
    vignetting : fall of light at 100 mm from the axis, as a share.
    seed : of everything that is drawn.
    """

    target: str = "ruler"
    dpi: int = 1200
    length_mm: float = 80.0
    width_mm: float = 8.0
    across: bool = False
    reverse: bool = False
    skew_deg: float = 0.0
    start: float = 0.0
    rise: float = 6.0
    sag_mm: float = 0.0
    trough_mm: float = 0.0
    x_mm: float = 0.0
    lens_distance_mm: float = 300.0
    lens: Lens = dataclasses.field(default_factory=Lens)
    field: Field = dataclasses.field(default_factory=Field)
    sensor: Sensor = dataclasses.field(default_factory=Sensor)
    channel_offsets: tuple[float, float, float] | None = None
    dust_per_cm2: float = 0.0
    vignetting: float = 0.05
    seed: int = 0

    @property
    def oversampling(self) -> int:
        """Working pixels per sensor pixel along one side; the working pitch is 2400 dpi or finer."""
        return _working_dpi(self.dpi) // self.dpi

    @property
    def pixel_mm(self) -> float:
        """Working pixel pitch."""
        return 25.4 / self.dpi / self.oversampling

    def shape_at(self, share: Array, beside_mm: Array) -> Array:
        """True height at a share (0 low end, 1 high end) of the slope and a place beside its centre line."""
        height = self.start + self.rise * share
        if self.sag_mm > 0:  # beam on two ends, uniform load: 16/5 (x - 2 x^3 + x^4)
            height = height - self.sag_mm * 3.2 * share * (1 + share * share * (share - 2))
        elif self.sag_mm < 0:
            height = height - self.sag_mm * 4 * share * (1 - share)
        if self.trough_mm:
            height = height + self.trough_mm * np.square(beside_mm * (2 / self.width_mm))
        return np.asarray(height)


def geometry(scan: SlopeScan) -> tuple[Array, Array, Array, Array]:
    """Target places s and t (mm along and beside the slope), true height and bed X of each working pixel.

    A ray from picture column x (mm from the axis on the glass) meets height z at X = x (1 + z / D).
    """
    long_px = round(scan.length_mm / 25.4 * scan.dpi) * scan.oversampling
    wide_px = round(scan.width_mm / 25.4 * scan.dpi) * scan.oversampling
    along = ((np.arange(long_px) + 0.5) * scan.pixel_mm).astype(np.float32)
    beside = ((np.arange(wide_px) + 0.5) * scan.pixel_mm - scan.width_mm / 2).astype(np.float32)
    cos, sin = float(np.cos(np.radians(scan.skew_deg))), float(np.sin(np.radians(scan.skew_deg)))

    def place(u: Array, v: Array) -> tuple[Array, Array]:
        low = scan.length_mm / 2 - u if scan.reverse else u - scan.length_mm / 2
        return low * cos + v * sin, v * cos - low * sin

    def height(u: Array, v: Array) -> tuple[Array, Array, Array]:
        s, t = place(u, v)
        return scan.shape_at(s / scan.length_mm + 0.5, t), s, t

    glass_x = (along - scan.length_mm / 2 if scan.across else beside) + scan.x_mm
    u, v = (along[None, :], beside[:, None]) if scan.across else (along[:, None], beside[None, :])
    column = glass_x[None, :]
    z, s, t = height(u, v)
    for _ in range(2):
        shift = z * (column / scan.lens_distance_mm)  # X - x
        # the centre line keeps its heights at the picture's ends: see rise
        z, s, t = height(u + shift - _mean_shift(scan, u), v) if scan.across else height(u, v + shift)
    return s, t, z, column + shift


def _mean_shift(scan: SlopeScan, u: Array) -> Array:
    """What is taken off so that the low and high end of a slope across keep their heights at the picture's ends."""
    ends = np.array([0.0, scan.length_mm])
    high = scan.start + scan.rise * (1 - ends / scan.length_mm if scan.reverse else ends / scan.length_mm)
    shift = (ends - scan.length_mm / 2 + scan.x_mm) * high / scan.lens_distance_mm
    return np.asarray(np.interp(u, ends, shift), np.float32)


def _light_at_lens(scan: SlopeScan, s: Array, t: Array, random: np.random.Generator) -> Image:
    """Sharp transmittance of the target with its dust."""
    target = targets.make(scan.target, random, scan.width_mm)
    light = target(s, t, scan.pixel_mm)
    if scan.dust_per_cm2:
        light = light * pictures.dust(random, light.shape, scan.pixel_mm, scan.dust_per_cm2)
    return light


def render(scan: SlopeScan) -> Pixels:
    """The scan's pixel values, (rows, columns) or (rows, columns, 3)."""
    random = np.random.default_rng(scan.seed)
    s, t, z, bed_x = geometry(scan)
    light = _light_at_lens(scan, s, t, random)
    defocus = z - scan.field.at(bed_x) + scan.lens.sharpest_dz()
    glass = np.ones((1, 1), np.float32)
    if scan.dust_per_cm2:
        soft = float(np.sqrt(scan.lens.variance_mm2(-float(scan.field.height))))
        glass = pictures.dust(random, light.shape, scan.pixel_mm, scan.dust_per_cm2 / 3, soft)
    fall = (1 - scan.vignetting * np.square(bed_x / 100.0)).astype(np.float32)
    sensor = scan.sensor
    if scan.target in (
        "grain",
        "content",
    ):  # scanned as film: the level is set to the brightest of the picture
        sensor = dataclasses.replace(sensor, white=float(np.percentile(light[::7, ::7], 99.5)) / 0.92)
    planes = []
    for offset in scan.channel_offsets or (0.0,):
        soft_light = blur_by_defocus(light, defocus - offset, scan.lens, scan.pixel_mm)
        planes.append(develop(bin_pixels(soft_light * glass * fall, scan.oversampling), sensor, random))
    image: Pixels = planes[0] if len(planes) == 1 else np.stack(planes, axis=-1)  # type: ignore[assignment]
    return image


def truth(scan: SlopeScan) -> dict[str, Any]:
    """What is true of this scan.

    height is the height above the glass that is sharpest where the target crosses the focus, averaged over the
    picture's width; for colour, of grey (BT.601). Sharpest means: highest mean transfer from 4 to 20 lp/mm. Where
    the target never crosses it, the field's height at the picture's nearer end. `spread` says how far the sharpest
    height moves between 5 and 25 lp/mm (spherical aberration): no measure can be surer than that.
    """
    grey = float(np.dot(LUMA, scan.channel_offsets)) if scan.channel_offsets else 0.0
    share = np.linspace(0, 1, 4001)
    x_low = scan.x_mm + (scan.length_mm / 2 * (1 if scan.reverse else -1) if scan.across else 0.0)
    x_high = 2 * scan.x_mm - x_low
    beside = np.linspace(-0.5, 0.5, 41) * scan.width_mm
    if scan.across:
        focus = scan.field.at(x_low + (x_high - x_low) * share) + grey
        lift = float(scan.shape_at(share[:1], beside).mean() - scan.start)
    else:
        focus = np.full(share.shape, float(scan.field.at(scan.x_mm + beside).mean()) + grey)
        lift = float(scan.shape_at(np.zeros(41), beside).mean() - scan.start)
    off = scan.shape_at(share, np.zeros(share.shape)) + lift - focus
    nearest = int(np.argmin(np.abs(off)))
    height, nominal = float(focus[nearest]), scan.start + scan.rise * float(share[nearest])
    inside = bool(off.min() < 0 < off.max())
    if not inside:
        nominal = height
    spread = abs(scan.lens.sharpest_dz(np.array([25.0])) - scan.lens.sharpest_dz(np.array([5.0])))
    best = scan.lens.sharpest_dz()
    offsets = scan.channel_offsets or (0.0, 0.0, 0.0)
    return {
        "height": height,
        "inside": inside,
        "start_height": scan.start,
        "rise": scan.rise,
        "run": scan.length_mm,
        "reverse": scan.reverse,
        "dpi": scan.dpi,
        "nominal_height_at_focus": nominal,
        "shape_bias": nominal - height if inside else 0.0,
        "heights_at_sides": tuple(float(v) + grey for v in scan.field.at(scan.x_mm + beside[[0, -1]]))
        if not scan.across
        else (height, height),
        "channel_heights": tuple(height - grey + v for v in offsets),
        "spread": spread,
        "lens_mtf50_lp_mm": scan.lens.mtf50_lp_mm(best),
        "sharpened": scan.sensor.sharpen > 0,
        "lens_distance": scan.lens_distance_mm,
        "x": scan.x_mm,
        "target": scan.target,
        "across": scan.across,
    }


def _working_dpi(dpi: int) -> int:
    return dpi * max(1, int(np.ceil(2400 / dpi)))


def _plain(random: np.random.Generator) -> SlopeScan:
    """A draw of what every class has: some slope, some place, mild faults."""
    dpi = int(random.choice([1200, 1200, 1600, 2400, 2400, 3200, 4800]))
    most = 5.0e6 * (25.4 / _working_dpi(dpi)) ** 2  # working pixels are bounded: area in mm^2
    width = float(random.uniform(5.0, 14.0)) if dpi < 3200 else float(random.uniform(3.5, 6.0))
    length = float(np.clip(random.uniform(45, 150), 15, most / width))
    low = float(random.choice([0.0, 0.0, random.uniform(0.2, 1.5)]))
    rise = float(random.uniform(2.5, 8.0))
    across = bool(random.random() < 0.4)
    height = low + rise * float(random.uniform(0.2, 0.8))
    return SlopeScan(
        target=str(random.choice(["ruler", "ruler", "ruler", "ruling", "chart"])),
        dpi=dpi,
        length_mm=round(length, 1),
        width_mm=round(width, 1),
        across=across,
        reverse=bool(random.random() < 0.3),
        skew_deg=float(random.normal(0, 0.5)),
        start=low,
        rise=rise,
        x_mm=float(random.uniform(-85, 85)) if not across else float(random.uniform(-25, 25)),
        lens_distance_mm=float(random.uniform(260, 340)),
        lens=Lens(
            blur_per_mm=float(random.uniform(0.014, 0.035)),
            core_sigma_mm=float(random.uniform(0.006, 0.014)),
            asymmetry=float(random.uniform(-0.02, 0.02)),
            spherical_mm=float(random.uniform(-0.01, 0.01)),
        ),
        field=Field(height, float(random.normal(0, 2e-4)), float(random.normal(0, 3e-6))),
        sensor=Sensor(
            noise=float(random.uniform(0.001, 0.006)),
            gamma=float(random.choice([1.0, 1.0, 1.8, 2.2])),
            bits=int(random.choice([8, 16])),
        ),
        channel_offsets=(float(random.uniform(-0.1, 0.15)), 0.0, float(random.uniform(-0.1, 0.15)))
        if random.random() < 0.2 and length * width < 0.5 * most
        else None,
        dust_per_cm2=float(random.choice([0.0, 1.0, 4.0])),
        seed=int(random.integers(2**31)),
    )


def draw_case(seed: int, kind: str) -> SlopeScan:  # noqa: PLR0911  (one return a class)
    """The settings of a random scan of one class (see CLASSES).

    Every class has a mild measure of everything (asymmetry within 2 %, little field, noise, dust, skew); a class
    adds its own: asymmetric 5 to 20 % and spherical aberration of 15 to 45 um; curved_field up to 0.6 mm over
    the bed; content and grain a film; sagging 0.1 to 0.5 mm (ruler) or a bow to 0.6 mm and curl across (film);
    processed sharpening, JPEG and gamma; narrow crops of 2 to 4 mm with skew; text a page; beyond a focus that lies
    0.15 to 1.2 mm outside the slope.
    """
    random = np.random.default_rng([seed, CLASSES.index(kind)])
    scan = _plain(random)
    side = float(random.choice([-1, 1]))
    if kind == "asymmetric":
        lens = dataclasses.replace(
            scan.lens,
            asymmetry=side * float(random.uniform(0.05, 0.2)),
            spherical_mm=float(random.choice([-1, 1]) * random.uniform(0.015, 0.045)),
        )
        return dataclasses.replace(scan, lens=lens)
    if kind == "curved_field":
        field = Field(
            scan.field.height, float(random.normal(0, 1.5e-3)), side * float(random.uniform(2e-5, 1e-4))
        )
        at = float(field.at(scan.x_mm)) - scan.field.height
        return dataclasses.replace(scan, field=dataclasses.replace(field, height=field.height - at))
    if kind in ("content", "grain", "text"):
        width = float(np.clip(scan.width_mm * 1.4, 5, 16)) if scan.dpi < 3200 else scan.width_mm
        length = min(scan.length_mm, 5.0e6 * (25.4 / _working_dpi(scan.dpi)) ** 2 / width)
        return dataclasses.replace(scan, target=kind, width_mm=round(width, 1), length_mm=round(length, 1))
    if kind == "sagging":
        return _sagging(scan, random)
    if kind == "processed":
        sensor = dataclasses.replace(
            scan.sensor,
            gamma=float(random.uniform(1.8, 2.4)),
            sharpen=float(random.choice([0.0, 1.0]) * random.uniform(0.4, 2.0)),
            sharpen_radius_px=float(random.uniform(0.7, 2.0)),
            jpeg_quality=int(random.integers(60, 96)) if random.random() < 0.7 else None,
            bits=8,
        )
        if not sensor.sharpen and sensor.jpeg_quality is None:
            sensor = dataclasses.replace(sensor, sharpen=1.0)
        return dataclasses.replace(scan, sensor=sensor)
    if kind == "narrow":
        return dataclasses.replace(
            scan,
            target=str(random.choice(["ruler", "ruler", "chart", "ruling"])),
            width_mm=round(float(random.uniform(2.0, 4.0)), 1),
            skew_deg=side * float(random.uniform(0.3, 2.0)),
        )
    if kind == "beyond":
        off = float(random.uniform(0.15, 1.2))
        at = float(scan.field.at(scan.x_mm)) - scan.field.height
        height = scan.start + scan.rise + off if side > 0 else scan.start - off
        if height < 0.1:  # a focus inside the glass cannot be: lift the target
            scan = dataclasses.replace(scan, start=off + 0.2 + scan.start)
            height = scan.start - off
        return dataclasses.replace(scan, field=dataclasses.replace(scan.field, height=height - at))
    return scan


def _sagging(scan: SlopeScan, random: np.random.Generator) -> SlopeScan:
    """A ruler that sags between its ends or a film that bows up."""
    if random.random() < 0.5:
        return dataclasses.replace(scan, target="ruler", sag_mm=float(random.uniform(0.1, 0.5)))
    target = str(random.choice(["grain", "content", "ruling"]))
    bow, trough = float(random.uniform(0.1, 0.6)), float(random.uniform(-0.15, 0.15))
    return dataclasses.replace(scan, target=target, sag_mm=-bow, trough_mm=trough)


def draw(seed: int, kind: str) -> tuple[Pixels, dict[str, Any]]:
    """A random scan of a class: pixels and truth (see truth; also "kind", "seed", and all settings as "case")."""
    case = draw_case(seed, kind)
    return render(case), {**truth(case), "kind": kind, "seed": seed, "case": dataclasses.asdict(case)}


def write(path: Path, seed: int, kind: str) -> dict[str, Any]:
    """Write a random scan of one class as TIFF with resolution tags, and return its truth."""
    image, facts = draw(seed, kind)
    write_tiff(path, image, facts["dpi"])
    return facts
