"""The lens's distance from a raised film: closed form, whole scans, and the bed's record that keeps it."""

from __future__ import annotations

import datetime
from pathlib import Path
from types import SimpleNamespace

import numpy as np
import pytest

from holders.core.errors import InputError
from holders.face.cli.commands.focusing import _keep
from holders.measure.bed.lens import MeasuredLens, lens_distance
from holders.measure.bed.record import append_lens, load_record
from holders.measure.surface.projection import seen_at
from holders.measure.surface.raised import lens_from_moves
from holders.measure.surface.search import Moves2D


def moves(lens: float, raised: float, *, shift: float = 1.0, wrong: int = 0) -> Moves2D:
    """Exact moves of film at 3 mm that sags by 0.4 mm, raised and by the way shifted and turned, with noise."""
    random = np.random.default_rng(4)
    x, y = (v.ravel() for v in np.meshgrid(np.linspace(20, 110, 30), np.linspace(10, 120, 36)))
    z = 3.0 - 0.4 * np.sin(np.pi * (x - 20) / 90) * np.sin(np.pi * (y - 10) / 110)
    away = (x - 75.0) * (lens + z) / lens
    u = seen_at(away + shift, z + raised, lens) - (x - 75.0) + 0.003 * y
    u += 0.001 * random.standard_normal(len(u))
    u[random.choice(len(u), wrong, replace=False)] += 0.3
    sigma = np.full(len(u), 0.001)
    return Moves2D(x, y, u, np.zeros(len(u)), sigma, sigma)


@pytest.mark.parametrize("lens", [250.0, 300.0, 420.0])
def test_the_distance_comes_back_within_its_sigma(lens: float) -> None:
    # a film raised by H is seen smaller by (D + z) / (D + z + H): similar triangles
    found = lens_from_moves(moves(lens, 4.0, wrong=20), 4.0, 3.0, 0.0)
    assert abs(found.distance_mm - lens) < 2 * found.sigma_mm
    assert found.sigma_mm < 0.02 * lens


def test_no_smaller_picture_is_a_contact_sensor() -> None:
    with pytest.raises(InputError, match="contact sensor"):
        lens_from_moves(moves(1e9, 4.0), 4.0, 3.0, 0.0)
    with pytest.raises(InputError, match="between 1 and 20"):
        lens_from_moves(moves(300.0, 4.0), 0.2, 3.0, 0.0)


def test_the_record_keeps_it_beside_the_heights(tmp_path: Path) -> None:
    record = tmp_path / "bed.toml"
    day = datetime.date(2026, 11, 28)
    append_lens(record, MeasuredLens(distance_mm=300.0, sigma_mm=3.0, date=day))
    append_lens(record, MeasuredLens(distance_mm=310.0, sigma_mm=3.0, date=day, note='a "second" time'))
    rows = load_record(record).lens
    assert [r.distance_mm for r in rows] == [300.0, 310.0]
    # two equal weights: the mean, and its sigma widened by the scatter, chi square 50 / 9 = 5.56
    mean, sigma = lens_distance(rows) or (0.0, 0.0)
    assert mean == pytest.approx(305.0)
    assert sigma == pytest.approx(3.0 / 2**0.5 * (50 / 9) ** 0.5)
    record.write_text(record.read_text() + "[[lens]]\ndistance_mm = 3\nsigma_mm = 1\ndate = 2026-01-01\n")
    with pytest.raises(InputError, match="distance_mm"):
        load_record(record)


def test_no_measurement_no_distance() -> None:
    assert lens_distance(()) is None


def test_a_ramps_marks_put_the_distance_into_the_record(tmp_path: Path) -> None:
    record = tmp_path / "bed.toml"
    one = SimpleNamespace(height=3.1, height_sigma=0.02, half_band=0.5, dpi=2400.0, doubts=(), channels=())
    ramp = SimpleNamespace(**vars(one), places=(), lens=SimpleNamespace(distance_mm=312.34, sigma_mm=4.0))
    assert _keep(record, (100.0, 120.0), "", ramp) == 1
    kept = load_record(record)
    assert lens_distance(kept.lens) == pytest.approx((312.3, 4.0))
    assert len(kept.measured) == 1
    _keep(record, (100.0, 120.0), "", SimpleNamespace(**{**vars(ramp), "lens": None}))
    assert len(load_record(record).lens) == 1
