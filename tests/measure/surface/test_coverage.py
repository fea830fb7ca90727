"""The stated uncertainty holds over many simulated pairs, their windows moving exactly as the simulator says."""

from __future__ import annotations

import dataclasses

import numpy as np
import pytest

from holders.measure.surface.measure import Known, surface_of
from scripts import judge_surface_moves
from scripts.judge_surface import compared, drawn, pulled
from scripts.judge_surface_moves import KINDS, gathered, measured
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


def test_film_that_moved_far_from_the_axis_is_covered_where_no_height_is_seen() -> None:
    # 35 mm film slid 9 mm that rose by 0.05 mm in between, 62 mm from the lens's axis: reads as 0.4 mm of height
    case = drawn("plain", 900, "35mm", 600)
    found, truth = measured(case, 0)
    row = compared(found, truth)
    assert row["rms"] > 0.15
    assert any(w.startswith("No height stands out") for w in found.warnings)
    assert row["within_two"] > 0.95
    assert abs(row["mean_off"]) < 2
    assert any("with a third scan" in w for w in found.warnings)


@pytest.mark.parametrize(
    ("kind", "number", "seen"),
    [("plain", 12004, True), ("flat_content", 12011, True), ("contact_sensor", 12001, False)],
)
def test_parallax_is_recognised_by_its_pattern_where_no_lens_is_known(
    kind: str, number: int, seen: bool
) -> None:
    # film that lies within 0.08 and 0.14 mm of its ledge under a lens; film off it by 0.78 mm over a contact sensor
    case = simulator.draw_case(number, kind)
    found = surface_of(gathered(case, 4), Known(ledge_mm=case.surface.ledge_mm))
    assert found.parallax is seen
    assert bool(found.known.any()) is seen
    assert any("contact sensor" in w for w in found.warnings) is not seen


def test_a_third_scan_is_not_proposed_where_it_was_made() -> None:
    found, _ = measured(drawn("moving", 900, "35mm", 600), 0)
    assert not any("third scan" in w for w in found.warnings)


@pytest.mark.parametrize(("number", "kind"), [(7006, "plain"), (7000, "flat_content")])
def test_the_plates_prior_does_not_decide(number: int, kind: str) -> None:
    # its sag halved, and five times as large: small films slid 9 and 13 mm, where it once decided 0.4 sigma
    case = simulator.draw_case(number, kind)
    assert max(pulled(case, gathered(case, 36))) < 0.3


@pytest.mark.parametrize("noise_px", [0.004, 0.02])
def test_film_bent_up_to_its_ledge_does_not_pass_for_distortion(
    noise_px: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    # the better the scan, the smaller the error: with too few shapes it once grew to 0.07 mm
    case = simulator.draw_case(7008, "moving")
    still = dataclasses.replace(
        case, surface=dataclasses.replace(case.surface, rim=()), distortion=(0.0, 0.0, 0.0), wobble_mm=0.0,
        poses=(simulator.Pose(), simulator.Pose(shift_mm=case.poses[1].shift_mm)),
    )  # fmt: skip
    monkeypatch.setattr(judge_surface_moves, "NOISE_PX", noise_px)
    assert compared(*measured(still, 49))["rms"] < 0.02
