"""Scans of plain rulings, each light by light as its own harmonics say: sines and square lines on a slope.

Every row is alike but for its noise. A harmonic of frequency f has, at each place, the contrast that the optics leave
it at that place's height (``simulator.transfer``, or ``kink``: a Gaussian blur whose width grows straight with the
distance from the sharp height) and the pixel's own (sinc). Square lines of width ``share`` of the period: Fourier
series 2/(pi k) sin(pi k share), any textbook.
"""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import dataclass
from pathlib import Path

import numpy as np

_spec = importlib.util.spec_from_file_location("focus_bounds", Path(__file__).with_name("bounds.py"))
bounds = sys.modules.setdefault("focus_bounds", importlib.util.module_from_spec(_spec))
_spec.loader.exec_module(bounds)
sim = bounds.simulator()


@dataclass(frozen=True)
class Ruling:
    rise_mm: float = 6.0
    run_mm: float = 41.0
    sharp_mm: float = 2.7
    period_mm: float = 0.5
    shape: str = "sine"  # or square
    share: float = 0.5
    blur: str = "kink"  # or disc, gauss, wave
    na: float = 0.035
    dpi: float = 2400.0
    phase: float = 0.0
    turn: float = 0.0  # tangent
    noise: float = 0.004
    rows: int = 128
    drop: float = 0.0  # by which the ruling's own contrast is lower at both ends
    number: int = 1


def draw(r: Ruling) -> np.ndarray:
    """The scan, 16 bit."""
    pixel = 25.4 / r.dpi
    n = round(r.run_mm / pixel)
    x = (np.arange(n) + 0.5) * pixel
    height = r.rise_mm * x / r.run_mm
    top = min(0.9 / pixel, 2.0 * r.na / 550e-6)
    f = np.arange(1, int(top * r.period_mm) + 1) / r.period_mm
    f = f[:1] if r.shape == "sine" else f
    k = np.arange(1, len(f) + 1)
    size = np.full(1, 0.3) if r.shape == "sine" else 0.7 / (np.pi * k) * np.sin(np.pi * k * r.share)
    grid = np.linspace(height.min(), height.max(), 400)
    case = sim.Case(blur=r.blur, na=r.na)
    if r.blur == "kink":
        width = 0.02 + 0.07 * np.abs(grid - r.sharp_mm)
        left = np.exp(-2.0 * (np.pi * width[:, None] * f) ** 2)
    else:
        left = np.array([sim.transfer(case, f, z - r.sharp_mm) for z in grid])
    own = 1.0 - r.drop * np.linspace(-1.0, 1.0, n) ** 2
    slide = r.turn * (np.arange(r.rows) - r.rows / 2) * pixel
    light = np.full((r.rows if r.turn else 1, n), 0.5)
    for i, frequency in enumerate(f):
        contrast = own * size[i] * np.interp(height, grid, left[:, i]) * np.sinc(frequency * pixel)
        where = x[None, :] - (slide[:, None] if r.turn else 0.0)
        light += contrast * np.cos(2.0 * np.pi * frequency * where + k[i] * r.phase)
    noise = r.noise * np.random.default_rng(r.number).standard_normal((r.rows, n))
    return np.rint(np.clip(light + noise, 0.0, 1.0) * 65535).astype(np.uint16)
