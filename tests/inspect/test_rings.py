"""Newton's rings: the model against textbook values, the detector on composites."""

from __future__ import annotations

from functools import partial

import numpy as np
import pytest
from scipy import signal

from holders.inspect.rings import RingsResult, find_rings
from tests.inspect.composites import Composite, composite
from tests.inspect.ringlight import Rings, gap_um, ring_light, visibility

SODIUM = 589.3


def rings_of(contrast: float, radius_px: float, width_nm: float = 10.0, aspect: float = 1.0) -> Rings:
    return Rings(contrast, (620.0, 538.0, 460.0), width_nm, radius_px, aspect, 0.3, (240.0, 240.0), 0.0, 0.0)


def looked_at(c: Composite) -> RingsResult:
    return find_rings((c.pixels / float(np.iinfo(c.pixels.dtype).max)).astype(np.float32), 0.1)


# -- the physics the composites are made of


def bright_rings_mm(curvature_mm: float, wavelength_nm: float, orders: int) -> np.ndarray:
    """Radii of greatest light of the generator's own picture of a sphere on a flat, from a fine profile."""
    reach = np.sqrt(curvature_mm * wavelength_nm * 1e-6 * (orders + 0.9))
    r = np.linspace(0, reach, 200_001)
    gap = (r**2 / (2 * curvature_mm) * 1e3)[None, :]
    light = ring_light(np.repeat(gap, 2, 0), Rings(0.5, (wavelength_nm,) * 3, 1e-9, 1, 1, 0, (0, 0), 0, 0))[
        0, :, 0
    ]
    return r[signal.argrelmax(light)[0]]


def test_reference_radii() -> None:
    """R 300 mm, 400 nm: r_2, r_5, r_10, r_20, r_30 (read: general-physics-lab, newton-rings-reference.json)."""
    r = bright_rings_mm(300.0, 400.0, 31)
    told = {2: 0.4898979, 5: 0.7745967, 10: 1.0954451, 20: 1.5491933, 30: 1.8973666}
    for order, radius in told.items():
        assert r[order - 1] == pytest.approx(radius, rel=2e-5)


def test_worked_example_a() -> None:
    """12th ring r 1.56 cm at 648 nm: R 31.3 m (Walker, Physics, ch. 28; numbers read)."""
    assert bright_rings_mm(31300.0, 648.0, 12)[11] == pytest.approx(15.6, rel=1e-3)


def test_worked_example_b() -> None:
    """R 95.2 cm, 580 nm: 2nd bright ring in reflection 1.82 mm across, where transmitted light is least."""
    r = bright_rings_mm(952.0, 580.0, 3)
    dark = np.sqrt((r[0] ** 2 + r[1] ** 2) / 2)  # half an order between the first and the second
    assert 2 * dark == pytest.approx(1.82, abs=0.005)


def test_worked_example_c() -> None:
    """Convex 4 m in concave 12 m: R 6 m; 500 nm, m = 99 and a half: 1.73 cm (read, arithmetic checked)."""
    curvature = 1 / (1 / 4000.0 - 1 / 12000.0)
    r = bright_rings_mm(curvature, 500.0, 100)
    assert np.sqrt((r[98] ** 2 + r[99] ** 2) / 2) == pytest.approx(17.3, abs=0.05)


def test_measured_data_set() -> None:
    """Sodium light, m 5..30, measured diameters (read: general-physics-lab, newton-rings report)."""
    m = np.array([5, 10, 15, 20, 25, 30])
    d = np.array([3.065, 4.365, 5.333, 6.169, 6.879, 7.553])
    slope, offset = np.polyfit(m, d**2, 1)
    curvature = slope / (4 * SODIUM * 1e-6)
    assert curvature == pytest.approx(806.5, abs=0.5)
    ours = 2 * bright_rings_mm(curvature, SODIUM, 31)[m - 1]
    assert ours == pytest.approx(np.sqrt(d**2 - offset), abs=0.02)


@pytest.mark.parametrize(
    ("wavelength", "width", "length"), [(550, 300, 1.01), (550, 100, 3.02), (450, 20, 10.1)]
)
def test_coherence(wavelength: float, width: float, length: float) -> None:
    """L = w²/dw and V = 0.5 at 0.4413 L, 0.02 at 1.048 L (computed table of the reference values)."""
    true = wavelength**2 / width * 1e-3
    assert true == pytest.approx(length, rel=0.005)
    assert visibility(np.array(0.4413 * true), wavelength, width) == pytest.approx(0.5, abs=1e-3)
    assert visibility(np.array(1.048 * true), wavelength, width) == pytest.approx(0.02, abs=1e-3)


# -- the detector


def test_radius_of_curvature_contrast_and_place_are_measured() -> None:
    """A film of known curvature over even grey: r² = m w R at the pixel pitch gives R back."""
    rng = np.random.default_rng(1)
    rings = rings_of(0.04, 200.0)
    gap = gap_um((480, 480), rings, rng)
    light = 0.4 * ring_light(gap, rings) * (1 + rng.normal(0, 0.003, (480, 480, 3)))
    found = find_rings(light.astype(np.float32), 0.1)
    assert found.found
    assert found.evidence == "colour"
    curvature_m = (200 * 0.1) ** 2 / (2 * (gap[240, 440] - gap[240, 240]) * 1e-3) * 1e-3
    told = [w.radius_of_curvature_m for w in found.where[:3] if w.radius_of_curvature_m is not None]
    assert np.median(told) == pytest.approx(curvature_m, rel=0.3)
    assert 0.004 < found.where[0].contrast < 0.05


def test_rings_in_one_corner_are_placed_there() -> None:
    rng = np.random.default_rng(2)
    rings = Rings(0.05, (620.0, 538.0, 460.0), 30.0, 110.0, 1.0, 0.0, (600.0, 150.0), 0.0, 0.0)
    light = 0.4 * ring_light(gap_um((800, 800), rings, rng), rings) * (1 + rng.normal(0, 0.01, (800, 800, 1)))
    found = find_rings(light.astype(np.float32), 0.1)
    assert found.found
    best = found.where[0]
    assert np.hypot(best.x_mm + best.width_mm / 2 - 60.0, best.y_mm + best.height_mm / 2 - 15.0) < 11.0


def test_strong_rings_show_in_a_grey_scan() -> None:
    rng = np.random.default_rng(3)
    rings = rings_of(0.08, 260.0, 8.0)
    light = 0.4 * ring_light(gap_um((480, 480), rings, rng), rings)[:, :, 1:2]
    found = find_rings((light * (1 + rng.normal(0, 0.02, light.shape))).astype(np.float32), 0.1)
    assert found.evidence == "grey"
    assert found.found


RIPPLES = pytest.param(
    "ripples",
    marks=pytest.mark.xfail(
        reason="water ripples chirp as rings do and still raise false alarms", strict=True
    ),
)


@pytest.mark.parametrize("what", ["wood", RIPPLES, "tiles", "grain", "gradient"])
def test_what_looks_like_rings_is_not_taken_for_them(what: str) -> None:
    from tests.inspect.pictures import MADE

    for number in range(2):
        rng = np.random.default_rng([number, 77])
        code = MADE[what](rng, (360, 360)).astype(np.float32)
        assert not find_rings(code, 0.1).found


def tally(
    numbers: range, *, held_out: bool, colour: bool, side: int, contrast: float = 0.02
) -> tuple[float, float]:
    make = partial(composite, held_out=held_out, colour=colour, side=side, contrast=contrast)
    hits = [looked_at(make(n, with_rings=True)).found for n in numbers]
    alarms = [looked_at(make(n, with_rings=False)).found for n in numbers]
    return float(np.mean(hits)), float(np.mean(alarms))


def test_detection_short_form() -> None:
    hits, alarms = tally(range(500, 520), held_out=False, colour=True, side=360)
    assert hits >= 0.9  # twenty composites: one miss is 0.05
    assert alarms == 0.0


@pytest.mark.xfail(
    reason="pictures that were not tuned on: 0.85 of twenty found on 2026-11-25, the aim is 0.95",
    strict=False,
)
def test_detection_on_pictures_held_out() -> None:
    hits, alarms = tally(range(300, 320), held_out=True, colour=True, side=400)
    assert hits >= 0.9
    assert alarms == 0.0


@pytest.mark.slow
@pytest.mark.parametrize("held_out", [True, False])
def test_detection_long_form(held_out: bool) -> None:
    """300 composites a set at 2 % contrast as the file records it: at least 95 % found, at most 2 % false alarms."""
    hits, alarms = tally(range(150), held_out=held_out, colour=True, side=480)
    assert hits >= 0.95
    assert alarms <= 0.02


@pytest.mark.slow
def test_grey_scans_raise_few_false_alarms() -> None:
    _, alarms = tally(range(100), held_out=True, colour=False, side=480, contrast=0.08)
    assert alarms <= 0.02
