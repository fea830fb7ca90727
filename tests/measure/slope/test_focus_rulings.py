"""Plain rulings, sines and square lines, on gentle and steep slopes: the height is right within what is stated, or
refused with a way out.
"""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile

from holders.core.errors import InputError
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.measure import measure_focus
from holders.measure.slope.target.shape import TargetShape

FLAT = TargetShape("flat")
_spec = importlib.util.spec_from_file_location("focus_rulings", Path(__file__).with_name("rulings.py"))
rulings = sys.modules.setdefault("focus_rulings", importlib.util.module_from_spec(_spec))
_spec.loader.exec_module(rulings)
Ruling = rulings.Ruling


def measured(folder, ruling):
    path = folder / "s.tif"
    tifffile.imwrite(
        path,
        rulings.draw(ruling),
        photometric="minisblack",
        resolution=(ruling.dpi,) * 2,
        resolutionunit="INCH",
    )
    return measure_focus(
        [path], geometry=SlopeGeometry(rise_mm=ruling.rise_mm, run_mm=ruling.run_mm), shape=FLAT
    )


@pytest.mark.parametrize("sharp_mm", [2.3, 2.7, 3.4])
def test_a_sine_on_a_steep_slope_is_measured_in_step_with_its_ticks(tmp_path, sharp_mm):
    found = measured(tmp_path, Ruling(sharp_mm=sharp_mm, phase=sharp_mm))
    assert found.height == pytest.approx(sharp_mm, abs=0.003)
    assert abs(found.height - sharp_mm) <= 2 * found.height_sigma
    assert found.target == "ruling"
    assert found.tick_mm == pytest.approx(0.5, abs=0.001)
    # one frequency cannot tell a contrast that drifts from blur: stated, and said
    assert 0.01 < found.height_sigma < 0.1
    assert any("smooth wave" in w for w in found.warnings)
    assert found.frequency_lp_mm == pytest.approx(2.0, rel=0.15)


@pytest.mark.parametrize("drop", [0.3, 0.6])
@pytest.mark.parametrize("turned", ["at the low end", "at the high end"])
def test_a_contrast_that_drifts_moves_a_sine_by_no_more_than_stated(tmp_path, drop, turned):
    """Away from the middle of the run a contrast that falls to both ends pulls at the height."""
    sharp = 1.8 if turned == "at the low end" else 4.2
    found = measured(tmp_path, Ruling(sharp_mm=sharp, drop=0.5 * drop))
    assert abs(found.height - sharp) <= 2 * found.height_sigma


def test_a_sine_lying_flat_is_refused_even_if_its_contrast_falls_to_the_ends(tmp_path):
    # hardly any blur within the run: the fall is the ruling's own
    with pytest.raises(InputError, match="smooth wave") as told:
        measured(tmp_path, Ruling(drop=0.4, na=0.002, blur="gauss"))
    assert "sharp lines" in told.value.way_out


def test_ticks_too_far_apart_for_their_spectrum_are_measured_by_their_edges(tmp_path):
    steep = Ruling(shape="square", period_mm=1.0, run_mm=30.0, blur="disc", share=0.4)
    found = measured(tmp_path, steep)
    assert found.judged_by == "edges"
    assert abs(found.height - 2.7) <= min(0.06, 2.0 * found.height_sigma)
    gentle = measured(tmp_path, replace(steep, run_mm=41.0))
    assert gentle.height == pytest.approx(2.7, abs=0.01)


@pytest.mark.parametrize("turn", [-0.15, 0.1])
def test_the_turn_of_a_sine_is_seen_by_its_phase_over_the_rows(tmp_path, turn):
    found = measured(tmp_path, Ruling(turn=turn, period_mm=0.4))
    assert np.tan(np.radians(found.turn_deg)) == pytest.approx(turn, abs=0.01)
    # the rows of one strip see one tick at different heights, evenly to both sides
    assert abs(found.height - 2.7) <= 2 * found.height_sigma


def random_ruling(number):
    r = np.random.default_rng([number, 77])
    rise = float(r.uniform(4, 8))
    return Ruling(
        rise_mm=rise, run_mm=float(r.uniform(30, 60)), sharp_mm=rise * float(r.uniform(0.25, 0.75)),
        period_mm=float(r.choice([0.2, 0.25, 0.4, 0.5, 0.8, 1.0])), shape=str(r.choice(["sine", "square"])),
        share=float(r.uniform(0.3, 0.5)), blur=str(r.choice(["gauss", "disc", "wave", "kink"])),
        na=float(r.uniform(0.02, 0.05)), dpi=float(r.choice([1200.0, 2400.0, 2400.0, 3200.0])),
        phase=float(r.uniform(0, 6.28)), noise=float(r.choice([0.002, 0.004, 0.01])), rows=96,
        number=number,
    )  # fmt: skip


def sweep(folder, numbers):
    """Share within two sigma, the greatest error, and what was refused."""
    pulls, errors, refused = [], [], []
    for number in numbers:
        case = random_ruling(number)
        try:
            found = measured(folder, case)
        except InputError as error:
            refused.append((case, error))
            continue
        assert not found.at_edge
        errors.append(abs(found.height - case.sharp_mm))
        pulls.append(errors[-1] / found.height_sigma)
    inside = float((np.array(pulls) <= 2.0).mean())
    print(f"\n{len(pulls)} measured, within 2 sigma {100 * inside:.1f} %, greatest error {max(errors):.4f} mm, "
          f"greatest pull {max(pulls):.1f}; {len(refused)} refused")  # fmt: skip
    for case, error in refused:
        assert error.exit_code == 2
        # square lines hold enough for any slope that they are fine enough for
        if case.shape == "square":
            assert "mm apart" in error.way_out
        else:
            assert "smooth wave" in error.way_out or "mm apart" in error.way_out
    return inside, max(errors), len(pulls)


def test_random_rulings_are_as_sure_as_they_say(tmp_path):
    inside, worst, measured_ones = sweep(tmp_path, range(600, 609))
    assert inside >= 0.9
    assert worst < 0.05
    assert measured_ones >= 5


@pytest.mark.slow
def test_many_random_rulings_are_as_sure_as_they_say(tmp_path):
    inside, worst, measured_ones = sweep(tmp_path, range(1000, 1100))
    assert inside >= 0.9
    assert worst < 0.05
    assert measured_ones >= 50
