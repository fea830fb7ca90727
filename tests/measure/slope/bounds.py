"""Cramer-Rao bounds of simulated scans: how well the best possible reader, told everything but the height, could do.

Grain: a Gaussian texture of known spectrum, Whittle's information 1/2 sum (d log P / dz)^2 over pixels and frequencies
(P. Whittle, Ark. Mat. 2, 423 (1953), from memory). Ruling: a known drawing in white noise (Slepian-Bangs formula, from
memory); the contrast and the mean width of the ticks are unknown, each tick's own width is random with its known
spread, and is marginalised. Nothing here is shared with the analysis.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np


def simulator():
    """The simulator beside this file, loaded once."""
    name = "focus_simulator"
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, Path(__file__).with_name("simulator.py"))
        assert spec is not None
        assert spec.loader is not None
        sys.modules[name] = module = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(module)
    return sys.modules[name]


def noise_variance(case, light):
    """Relative variance of one pixel at a light level: shot, read, rounding (before the tone curve)."""
    step = 1.0 / (2**case.bits - 1)
    level = light ** (1.0 / case.gamma)
    rounding = (step * case.gamma * light / level) ** 2 / 12.0
    return (light / case.full_well + case.read_noise**2 + rounding) / light**2


def _slopes(case, z, f):
    """Optics at height z and its derivative with respect to the sharp height."""
    sim, d = simulator(), 1e-3
    return (
        sim.transfer(case, f, z - case.z0_mm),
        (sim.transfer(case, f, z - case.z0_mm - d) - sim.transfer(case, f, z - case.z0_mm + d)) / (2 * d),
    )


def _heights(case, n):
    return case.height(np.linspace(0, case.columns - 1, n))


def grain_bound(case, n=240):
    """Smallest standard deviation of the height from grain, mm."""
    sim = simulator()
    fine = case.pixel_mm / sim.FINE
    u = np.fft.fftfreq(96)
    fx, fy = u[None, :] / case.pixel_mm, u[:, None] / case.pixel_mm
    radial = np.hypot(fx, fy)
    g = np.fft.fftfreq(256)
    own = np.exp(-4 * np.pi**2 * (case.grain_mm / fine) ** 2 * (g[:, None] ** 2 + g[None, :] ** 2)).mean()
    shape = np.exp(-4 * np.pi**2 * case.grain_mm**2 * radial**2) / own
    aperture = (np.sinc(fx * case.pixel_mm) * np.sinc(fy * case.pixel_mm)) ** 2
    grain = case.grain_contrast**2 * shape * aperture / sim.FINE**2
    noise = noise_variance(case, 0.85 * np.exp(-0.7))
    total = 0.0
    grid = np.linspace(0, radial.max(), 400)
    for z in _heights(case, n):
        h, dh = (np.interp(radial, grid, a) for a in _slopes(case, float(z), grid))
        total += 0.5 * float(((2 * h * dh * grain / (h * h * grain + noise)) ** 2).mean())
    return (total * case.rows * case.columns / n) ** -0.5


def ruler_bound(case):
    """Smallest standard deviation of the height from a ruling, mm."""
    f = np.linspace(0.02, 0.5 / case.pixel_mm, 500)
    df = f[1] - f[0]
    w = case.tick_mm
    aperture = np.sinc(f * case.pixel_mm)
    noise = noise_variance(case, 0.85)
    deep = case.rows * case.pixel_mm
    first = int(0.0 / case.pitch_mm)
    matrix = np.zeros((3, 3))
    for i in range(first, int(case.length_mm / case.pitch_mm)):
        z = case.start_mm + case.rise_mm * i * case.pitch_mm / case.length_mm
        h, dh = _slopes(case, float(z), f)
        line = 0.92 * np.sinc(f * w) * w * aperture
        by = np.stack([line * dh, line * h, 0.92 * np.cos(np.pi * f * w) * aperture * h])
        long = 0.4 + (0.45 if i % 10 == 0 else 0.3 if i % 5 == 0 else 0.1)
        rows = min(long, 0.9) * deep / case.pixel_mm
        one = 2.0 * (by @ by.T) * df / case.pixel_mm / noise * rows
        spread = max(case.jitter * w, 1e-9) ** -2
        matrix += one - np.outer(one[:, 2], one[2]) / (one[2, 2] + spread)
    return float(np.linalg.inv(matrix)[0, 0] ** 0.5)


def bound(case):
    """Of either kind."""
    return grain_bound(case) if case.kind == "grain" else ruler_bound(case)
