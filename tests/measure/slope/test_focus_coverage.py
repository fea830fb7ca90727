"""Over many random scans: is the stated sigma honest, how large are the errors, how near the best possible.

The long sweep runs with --slow (a quarter of an hour on one idle core); it prints what it found. Its scans are
others than those that the estimate was written with.

Found by the whole of it on 2026-11-26, before sigma counted what no model explains (numbers 2000 to 2199 of each kind,
none refused, none told to be at an end): within two sigma 98.0 % of the rulers and 96.0 % of the grain; median error
0.0011 and 0.0009 mm, greatest 0.012 and 0.007 mm; median sigma 0.0026 and 0.0016 mm, which is 23.5 and 3.3 times the
bound. A ruling's sigma lies far above its bound, and so do its errors (median 11 times the bound): four scans made
without any noise had errors as large, so it is not the pixels' noise that limits them.
"""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile

from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.measure import measure_focus
from holders.measure.slope.target.shape import TargetShape

FLAT = TargetShape("flat")
_spec = importlib.util.spec_from_file_location("focus_bounds", Path(__file__).with_name("bounds.py"))
bounds = sys.modules.setdefault("focus_bounds", importlib.util.module_from_spec(_spec))
_spec.loader.exec_module(bounds)
sim = bounds.simulator()


def random_case(kind, number):
    r = np.random.default_rng([number, kind == "grain"])
    pitch = float(r.choice([0.2, 0.25, 0.5, 1.0]))
    rise, start = float(r.uniform(4, 8)), float(r.uniform(0, 1))
    return sim.Case(
        kind=kind, number=number, blur=str(r.choice(["disc", "gauss", "wave"])), length_mm=float(r.uniform(50, 80)),
        rows=int(r.choice([128, 192, 256])), rise_mm=rise, start_mm=start, z0_mm=start + rise * float(r.uniform(0.25, 0.75)),  # noqa: E501
        na=float(r.uniform(0.02, 0.05)), pitch_mm=pitch, tick_mm=float(r.uniform(0.2, 0.4) * min(pitch, 0.5)),
        jitter=float(r.uniform(0.005, 0.05)), turn_deg=float(r.uniform(-10, 10)), grain_contrast=float(r.uniform(0.08, 0.3)),  # noqa: E501
        grain_mm=float(r.uniform(0.004, 0.01)), full_well=float(r.uniform(3000, 40000)),
        read_noise=float(r.uniform(0.0005, 0.003)), gamma=float(r.choice([1.0, 1.8, 2.2])), falloff=float(r.uniform(0, 0.3)),  # noqa: E501
        slope_light=float(r.uniform(-0.3, 0.3)), dust=int(r.integers(0, 60)), scratches=int(r.integers(0, 5)),
        bits=int(r.choice([8, 16])),
    )  # fmt: skip


def sweep(kind, numbers, folder):
    errors, sigmas, best = [], [], []
    for number in numbers:
        case = random_case(kind, number)
        path = folder / f"{kind}.tif"
        tifffile.imwrite(
            path, sim.scan(case), photometric="minisblack", resolution=(case.dpi,) * 2, resolutionunit="INCH"
        )
        slope = SlopeGeometry(rise_mm=case.rise_mm, run_mm=case.length_mm, start_height_mm=case.start_mm)
        result = measure_focus([path], geometry=slope, shape=FLAT)
        assert not result.at_edge
        errors.append(result.height - case.z0_mm)
        sigmas.append(result.height_sigma)
        best.append(bounds.bound(case))
    return np.array(errors), np.array(sigmas), np.array(best)


def tell(kind, errors, sigmas, best):
    pull = np.abs(errors) / sigmas
    inside = float((pull <= 2.0).mean())
    print(
        f"\n{kind}: {len(errors)} scans, within 2 sigma {100 * inside:.1f} %; error: median "
        f"{np.median(np.abs(errors)):.5f}, greatest {np.abs(errors).max():.5f} mm; sigma: median "
        f"{np.median(sigmas):.5f} mm, over the Cramer-Rao bound {np.median(sigmas / best):.2f} (median); "
        f"pull: rms {np.sqrt((pull**2).mean()):.2f}, greatest {pull.max():.1f}"
    )
    return inside


@pytest.mark.parametrize(("kind", "target"), [("ruler", 0.03), ("grain", 0.02)])
def test_short_sweep(tmp_path, kind, target):
    errors, sigmas, best = sweep(kind, range(900, 903), tmp_path)
    tell(kind, errors, sigmas, best)
    assert np.median(np.abs(errors)) <= target / 4
    assert (np.abs(errors) <= 3.5 * sigmas).all()
    # nobody beats the bound: a smaller sigma would be a lie
    assert (sigmas > best).all()


@pytest.mark.slow
@pytest.mark.parametrize(("kind", "target"), [("ruler", 0.03), ("grain", 0.02)])
def test_long_sweep(tmp_path, kind, target):
    errors, sigmas, best = sweep(kind, range(2000, 2200), tmp_path)
    inside = tell(kind, errors, sigmas, best)
    # sigma also counts what these scans do not have (a floor of 0.008 mm, 3 % of half the band): no upper bound
    assert inside >= 0.90
    assert np.median(np.abs(errors)) <= target
    assert (sigmas > best).all()
