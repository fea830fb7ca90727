"""A lens's distortion from a flat target slid sideways: closed form, and what it saves a measured film."""

from __future__ import annotations

import datetime
from pathlib import Path

import numpy as np
import pytest

from holders.core.errors import InputError
from holders.measure.bed.distortion import MeasuredDistortion, fit, for_width
from holders.measure.bed.record import append_distortion, load_record
from holders.measure.surface.projection import seen_at

WIDE, LENS, DAY = 200.0, 300.0, datetime.date(2026, 11, 29)


def bent(x: np.ndarray) -> np.ndarray:
    """A third-degree distortion of 0.15 % slope at the ends of the bed, mm: d = a x^3, d' = 3 a x^2."""
    away = x - WIDE / 2
    return np.asarray(0.0015 / (3 * 100.0**2) * away**3)


def target(lean: float = 0.0, seed: int = 1) -> tuple[np.ndarray, ...]:
    """Places and moves of a flat target 150 mm wide at 3 mm, slid by 25 mm, its rows wobbling by 0.01 mm."""
    random = np.random.default_rng(seed)
    x, y = np.meshgrid(np.linspace(12, 162, 40), np.linspace(10, 120, 30))
    wobble = np.repeat(0.01 * random.standard_normal(30), 40).reshape(30, 40)
    z = 3.0 + lean * (x - 87) / 75
    true = (x - WIDE / 2) * (LENS + z) / LENS
    after = seen_at(true + 25.0, z, LENS) + WIDE / 2
    u = after + bent(after) - x - bent(x) + wobble + 0.0008 * random.standard_normal(x.shape)
    return x.ravel(), y.ravel(), u.ravel(), np.full(x.size, 0.0008)


def test_the_distortion_comes_back_up_to_a_constant_slope() -> None:
    found = fit(*target(), width_mm=WIDE, lens_mm=LENS, today=DAY)
    x = np.linspace(20, 180, 60)
    rest = found.displaced(x) - bent(x)
    rest -= np.polyval(np.polyfit(x, rest, 1), x)  # a constant slope is a longer slide
    assert float(np.abs(rest).max()) < 0.012  # of 0.05 mm
    slope = np.gradient(rest, x)
    assert float(np.sqrt(np.mean(slope**2))) < 3 * found.sigma
    assert found.sigma < 0.0008


def test_a_target_that_leans_is_in_the_uncertainty() -> None:
    found = fit(*target(lean=0.03), width_mm=WIDE, lens_mm=LENS, today=DAY)
    x = np.linspace(20, 180, 60)
    rest = found.displaced(x) - bent(x)
    slope = np.gradient(rest - np.polyval(np.polyfit(x, rest, 1), x), x)
    assert float(np.sqrt(np.mean(slope**2))) < 3 * found.sigma


def test_too_few_places_are_refused() -> None:
    x, y, u, s = (v[:40] for v in target())
    with pytest.raises(InputError, match="40 places"):
        fit(x, y, u, s, width_mm=WIDE, lens_mm=LENS, today=DAY)


def test_the_record_keeps_it_for_scans_of_its_width(tmp_path: Path) -> None:
    record = tmp_path / "bed.toml"
    old = MeasuredDistortion(width_mm=200.0, slopes=(0.001,), sigma=0.0002, date=datetime.date(2026, 1, 1))
    append_distortion(record, old)
    new = fit(*target(), width_mm=WIDE, lens_mm=LENS, today=DAY)
    rows = append_distortion(record, new).distortion
    assert load_record(record).distortion == rows == (old, new)
    assert for_width(rows, 200.4) == new
    assert for_width(rows, 150.0) is None
    record.write_text(record.read_text().replace("slopes = [0.001]", "slopes = [3.0]"))
    with pytest.raises(InputError, match="slopes"):
        load_record(record)
