"""Makes scans of sloping targets with a known sharp height. Shares no code with what it judges.

Optics, as transfer functions of spatial frequency in the object plane (lp/mm):

* ``disc``: geometric defocus, 2 J1(x)/x with x = pi f d, d = 2 NA |dz| (Hopkins, Proc. R. Soc. A 231, 91 (1955);
  Goodman, *Introduction to Fourier Optics*, section 6.4; both from memory), times diffraction of a round pupil,
  2/pi (acos s - s sqrt(1 - s^2)), s = f/fc, fc = 2 NA/lambda (Goodman, same section, from memory).
* ``gauss``: exp(-2 pi^2 s^2 f^2), s^2 = s0^2 + (k dz)^2.
* ``wave``: modulus and sign of the transfer function of a real pupil with defocus W = NA^2 dz rho^2/2, by Fourier
  transform of the pupil (autocorrelation), mean of three wavelengths.

Times the sensor's aperture, sinc(fx p) sinc(fy p). Then light falls off over the bed, shot noise (variance = signal
/ full well) and read noise are added, the tone curve (signal to the power 1/gamma) and rounding follow.
"""

from __future__ import annotations

from dataclasses import dataclass, replace
from functools import lru_cache

import numpy as np
from scipy import fft
from scipy.special import j1


@dataclass(frozen=True)
class Case:
    kind: str = "ruler"  # ruler, grain
    number: int = 0
    dpi: float = 2400.0
    length_mm: float = 80.0
    rows: int = 192
    deep_mm: float = 0.0  # of the ruler; 0: the whole scan
    rise_mm: float = 6.0
    start_mm: float = 0.0
    z0_mm: float = 3.0
    na: float = 0.035
    wavelength_mm: float = 550e-6
    blur: str = "disc"
    pitch_mm: float = 0.5
    tick_mm: float = 0.12
    jitter: float = 0.02  # of width (share) and place (share of the width)
    turn_deg: float = 0.0
    whole_turn: bool = False  # the ruler's edges turn too (needs a tall scan), not its ticks only
    grain_contrast: float = 0.25  # rms of log transmission at the grain's own scale
    grain_mm: float = 0.006
    full_well: float = 20000.0
    read_noise: float = 0.002
    gamma: float = 1.0
    falloff: float = 0.1
    slope_light: float = 0.1
    dust: int = 20
    scratches: int = 2
    bits: int = 16
    channel_shift_mm: tuple[float, ...] = (0.0,)

    @property
    def pixel_mm(self) -> float:
        return 25.4 / self.dpi

    @property
    def columns(self) -> int:
        return round(self.length_mm / self.pixel_mm)

    def height(self, column: np.ndarray) -> np.ndarray:
        return self.start_mm + self.rise_mm * (column + 0.5) * self.pixel_mm / self.length_mm


def diffraction(f: np.ndarray, cutoff: float) -> np.ndarray:
    s = np.clip(f / cutoff, 0.0, 1.0)
    return 2.0 / np.pi * (np.arccos(s) - s * np.sqrt(1.0 - s * s))


def disc(f: np.ndarray, d: float) -> np.ndarray:
    x = np.pi * f * d
    return np.where(x > 1e-6, 2.0 * j1(np.maximum(x, 1e-9)) / np.maximum(x, 1e-9), 1.0)


@lru_cache(maxsize=4000)
def _wave(na: float, wavelength: float, dz: float, n: int = 192) -> np.ndarray:
    """Transfer function at f = 0 .. cutoff in n/2 steps, from the pupil's autocorrelation by FFT."""
    # a quarter of the plane holds the pupil; its upper half is as its lower one
    x = np.arange(-n // 2, n // 2)[None, :] / (n / 4)
    y = np.arange(0, n // 4 + 2)[:, None] / (n / 4)
    rho2 = x * x + y * y
    # softened rim: a hard one on a coarse grid would ring
    inside = np.clip((1.0 - np.sqrt(rho2)) * n / 4 + 0.5, 0.0, 1.0)
    pupil = inside * np.exp(2j * np.pi / wavelength * 0.5 * na**2 * dz * rho2)
    # along one axis the autocorrelation of a plane is the sum of its lines' own
    lines = np.abs(fft.fft(pupil, axis=1)) ** 2
    otf = fft.ifft(lines[0] + 2.0 * lines[1:].sum(axis=0)).real
    return otf[: n // 2] / otf[0]


def transfer(case: Case, f: np.ndarray, dz: float) -> np.ndarray:
    """Optics only; f in lp/mm."""
    if case.blur == "gauss":
        s2 = (0.2 * case.wavelength_mm / case.na) ** 2 + (case.na * 0.8 * dz) ** 2
        return np.exp(-2.0 * np.pi**2 * s2 * f * f)
    if case.blur == "wave":
        total = np.zeros_like(f)
        for share in (0.9, 1.0, 1.1):
            table = _wave(case.na, case.wavelength_mm * share, round(dz, 3))
            fc = 2.0 * case.na / (case.wavelength_mm * share)
            total += np.interp(f, np.linspace(0.0, fc, len(table), endpoint=False), table, right=0.0)
        return total / 3.0
    return disc(f, 2.0 * case.na * abs(dz)) * diffraction(f, 2.0 * case.na / case.wavelength_mm)


FINE = 2
SLAB = 64  # scan pixels between changes of blur, cross-faded


def _ruler(case: Case, rng: np.random.Generator, x: np.ndarray, y: np.ndarray) -> np.ndarray:
    """Transmission of a ruler at fine pixels; x (1, n), y (m, 1) in mm, y from the scan's middle."""
    a = np.deg2rad(case.turn_deg)
    x0 = case.length_mm / 2
    u, v = x * np.cos(a) + y * np.sin(a), (x0 - x) * np.sin(a) * case.whole_turn + y * np.cos(a)
    first = int(np.floor(u.min() / case.pitch_mm)) - 1
    count = int(np.ceil(u.max() / case.pitch_mm)) + 2 - first
    width = case.tick_mm * (1.0 + case.jitter * rng.standard_normal(count))
    place = np.arange(
        first, first + count
    ) * case.pitch_mm + case.tick_mm * case.jitter * rng.standard_normal(count)
    deep = case.deep_mm or case.rows * case.pixel_mm
    order = np.arange(first, first + count)
    reach = np.where(order % 10 == 0, 0.45, np.where(order % 5 == 0, 0.3, 0.1)) * deep
    i = np.clip(np.rint(u / case.pitch_mm).astype(int) - first, 0, count - 1)
    step = case.pixel_mm / FINE
    across = np.clip(0.5 + (width[i] / 2 - np.abs(u - place[i])) / step, 0.0, 1.0)
    along = np.clip(0.5 + (reach[i] - v) / step, 0.0, 1.0) * np.clip(0.5 + (v + 0.4 * deep) / step, 0.0, 1.0)
    light = 1.0 - 0.92 * across * along
    _numerals(case, rng, light, u, v, deep)
    return light


def _numerals(
    case: Case, rng: np.random.Generator, light: np.ndarray, u: np.ndarray, v: np.ndarray, deep: float
) -> None:
    """Blocky strokes beside every tenth tick, above the short ticks."""
    tall = 0.12 * deep
    low, high = np.minimum(v[:, 0], v[:, -1]), np.maximum(v[:, 0], v[:, -1])
    for k in range(int(u.min() / (10 * case.pitch_mm)), int(u.max() / (10 * case.pitch_mm)) + 1):
        for _ in range(3):
            cu, cv = k * 10 * case.pitch_mm + rng.uniform(0.3, 1.2) * tall, rng.uniform(0.2, 0.4) * deep
            wu, wv = (0.05, tall / 2) if rng.random() < 0.5 else (tall / 3, 0.05)
            # the part of the picture that the stroke may touch: u rises along each row, v changes along it evenly
            rows = np.nonzero((low < cv + wv) & (high > cv - wv))[0]
            if not len(rows):
                continue
            m = slice(rows[0], rows[-1] + 1)
            ends = u[[rows[0], rows[-1]]]
            n = slice(
                min(int(np.searchsorted(e, cu - wu)) for e in ends),
                max(int(np.searchsorted(e, cu + wu)) for e in ends),
            )
            part = light[m, n]
            part[
                (np.abs(u[m, n] - cu) < wu) & (np.abs(v[m, n if v.shape[1] > 1 else slice(None)] - cv) < wv)
            ] *= 0.1


def _grain(case: Case, rng: np.random.Generator, shape: tuple[int, int]) -> np.ndarray:
    g = rng.standard_normal(shape, dtype=np.float32)
    step = case.pixel_mm / FINE
    s = case.grain_mm / step
    fy, fx = fft.fftfreq(shape[0])[:, None], fft.rfftfreq(shape[1])[None, :]
    shape_f = np.exp(-2.0 * np.pi**2 * s * s * (fx * fx + fy * fy)).astype(np.float32)
    g = fft.irfft2(fft.rfft2(g) * shape_f, s=shape)
    return np.exp(-0.7 - case.grain_contrast * g / g.std()).astype(np.float32)


def _dirt(case: Case, rng: np.random.Generator, light: np.ndarray) -> None:
    m, n = light.shape
    step = case.pixel_mm / FINE
    for _ in range(case.dust):
        r = rng.uniform(0.015, 0.12) / step
        cy, cx = rng.uniform(0, m), rng.uniform(0, n)
        y0, y1, x0, x1 = (int(max(0, t)) for t in (cy - r - 1, cy + r + 2, cx - r - 1, cx + r + 2))
        yy, xx = np.mgrid[y0 : min(y1, m), x0 : min(x1, n)]
        light[y0:y1, x0:x1] *= 1.0 - rng.uniform(0.4, 0.95) * (
            np.hypot((yy - cy) * rng.uniform(0.5, 1.5), xx - cx) < r
        )
    for _ in range(case.scratches):
        y0, x0, lean = rng.uniform(0, m), rng.uniform(0, n), rng.uniform(-1.0, 1.0)
        xs = np.arange(int(x0), min(n, int(x0 + rng.uniform(200, 3000))))
        ys = np.rint(y0 + lean * (xs - x0)).astype(int)
        ok = (ys >= 0) & (ys < m - 1)
        for extra in (0, 1):
            light[ys[ok] + extra, xs[ok]] *= 1.0 + rng.uniform(-0.5, 0.6)


def _blur(case: Case, light: np.ndarray, shift: float) -> np.ndarray:
    """Blur with the height, sample; light is on the fine grid, with a slab's margin all round."""
    margin = SLAB
    wide = (2 * SLAB + 2 * margin) * FINE
    m = light.shape[0]
    step = case.pixel_mm / FINE
    fy, fx = fft.fftfreq(m, step)[:, None], fft.rfftfreq(wide, step)[None, :]
    radial = np.hypot(fx, fy)
    # the sensor's pixel is centred between two fine ones
    centre = np.exp(1j * np.pi * (FINE - 1) * step * fx)
    aperture = np.sinc(fx * case.pixel_mm) * np.sinc(fy * case.pixel_mm) * centre
    table_f = np.linspace(0.0, float(radial.max()), 600)
    out = np.zeros((m // FINE, case.columns + 2 * SLAB), np.float32)
    fade = 1.0 - np.abs((np.arange(2 * SLAB) + 0.5) / SLAB - 1.0)
    for k in range(-(-case.columns // SLAB) + 1):
        centre = k * SLAB  # the slab's middle, scan pixels
        start = (centre - SLAB - margin) * FINE + 2 * margin * FINE
        piece = light[:, start : start + wide]
        if piece.shape[1] < wide:
            piece = np.pad(piece, ((0, 0), (0, wide - piece.shape[1])), mode="edge")
        z = float(case.height(np.array(centre - 0.5)))
        otf = np.interp(radial, table_f, transfer(case, table_f, z - case.z0_mm - shift)) * aperture
        done = fft.irfft2(fft.rfft2(piece) * otf.astype(np.complex64), s=piece.shape)
        middle = done[::FINE, margin * FINE : (margin + 2 * SLAB) * FINE : FINE]
        out[:, centre : centre + 2 * SLAB] += (middle * fade)[:, : out.shape[1] - centre]
    edge = margin * 1
    return out[edge : edge + case.rows, SLAB : SLAB + case.columns]


def scan(case: Case) -> np.ndarray:
    """The scan, (rows, columns) or (rows, columns, channels), 8 or 16 bit."""
    rng = np.random.default_rng(case.number)
    pad = SLAB * FINE
    m, n = case.rows * FINE + 2 * pad, case.columns * FINE + 4 * pad
    m = fft.next_fast_len(m, real=True)
    m += m % 2
    step = case.pixel_mm / FINE
    if case.kind == "ruler":
        x = ((np.arange(n) - 2 * pad + 0.5) * step)[None, :]
        y = ((np.arange(m) - pad + 0.5) * step - case.rows * case.pixel_mm / 2)[:, None]
        light = _ruler(case, rng, x, y).astype(np.float32)
    else:
        light = _grain(case, rng, (m, n))
    _dirt(case, rng, light)
    planes = []
    for shift in case.channel_shift_mm:
        image = _blur(case, light, shift)
        xx = np.linspace(-1, 1, case.columns)[None, :]
        yy = np.linspace(-1, 1, case.rows)[:, None]
        image = 0.85 * image * (1.0 - case.falloff * xx**2 + case.slope_light * xx * 0.5 + 0.05 * yy)
        image = image + np.sqrt(
            np.maximum(image, 0) / case.full_well + case.read_noise**2
        ) * rng.standard_normal(image.shape)
        planes.append(np.clip(image, 0.0, 1.0) ** (1.0 / case.gamma))
    top = 2**case.bits - 1
    data = np.rint(np.stack(planes, axis=2) * top).astype(np.uint8 if case.bits == 8 else np.uint16)
    return data[:, :, 0] if data.shape[2] == 1 else data


def ramp_scan(
    case: Case, boxes: dict[str, tuple[float, float, float, float]], slots: list[tuple[float, ...]]
) -> np.ndarray:
    """A scan of a ramp lying straight: ramp coordinates 0 .. length by 0 .. width, a margin of bare glass round it.

    ``boxes`` has ``outer``, ``window`` (x0, y0, x1, y1 in mm); ``slots`` likewise. The window holds grain whose height
    climbs as ``case`` says (``start_mm`` at x = 0, ``rise_mm`` over ``length_mm``). Margin: ``RAMP_MARGIN_MM``.
    """
    rng = np.random.default_rng(case.number)
    px = case.pixel_mm
    strip = replace(case, rows=int((boxes["window"][3] - boxes["window"][1]) / px) + 2)
    target = scan(replace(strip, kind="grain")).astype(np.float32) / (2**case.bits - 1)
    margin = int(RAMP_MARGIN_MM / px)
    wide, tall = int(boxes["outer"][2] / px) + 2 * margin, int(boxes["outer"][3] / px) + 2 * margin
    image = np.full((tall, wide), 0.85, np.float32)

    def span(box: tuple[float, ...]) -> tuple[slice, slice]:
        x0, y0, x1, y1 = (round(v / px) + margin for v in box)
        return slice(y0, y1), slice(x0, x1)

    image[span(boxes["outer"])] = 0.01
    for box in slots:
        image[span(box)] = 0.8
    rows, cols = span(boxes["window"])
    part = target[: rows.stop - rows.start, cols.start - margin : cols.stop - margin]
    image[rows, cols.start : cols.start + part.shape[1]] = part
    image += 0.003 * rng.standard_normal(image.shape, dtype=np.float32)
    return np.clip(image, 0.0, 1.0)


RAMP_MARGIN_MM = 4.0
