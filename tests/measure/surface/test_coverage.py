"""The stated uncertainty holds over many simulated pairs, their windows moving exactly as the simulator says."""

from __future__ import annotations

import numpy as np
import pytest

from scripts.judge_surface import compared
from scripts.judge_surface_moves import KINDS, measured
from tests.simulators import shifted_pair as simulator


@pytest.mark.parametrize(
    ("pairs", "least", "most"), [(24, 0.8, 1.0), pytest.param(200, 0.92, 0.98, marks=pytest.mark.slow)]
)
def test_two_deviations_hold_as_often_as_they_should(pairs: int, least: float, most: float) -> None:
    rows = []
    for k in range(pairs):
        case = simulator.draw_case(k // len(KINDS), KINDS[k % len(KINDS)])
        rows.append((abs(case.poses[1].shift_mm), compared(*measured(case, k))))
    for name in ("mean_off", "lowest_off"):
        held = float(np.mean([abs(row[name]) < 2 for _, row in rows]))
        assert least <= held <= most, name
    assert least <= float(np.mean([row["within_two"] for _, row in rows])) <= most
    # neither too wide: what is off is more than half of what is stated
    assert float(np.mean([row["mean_off"] ** 2 for _, row in rows])) > 0.25
    far = [row["rms"] for shift, row in rows if shift >= 20]
    assert float(np.sqrt(np.mean(np.square(far)))) < 0.06
