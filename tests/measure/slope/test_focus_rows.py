"""The focus in rows across a target's width, on scans of a simulator written apart from the estimate."""

from __future__ import annotations

from pathlib import Path

import pytest

from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.measure import measure_focus
from holders.measure.slope.target.rows import RowHeight, rows_apart, said_of_rows
from holders.measure.slope.target.shape import TargetShape
from tests.short import each_once
from tests.simulators import slope_scan
from tests.simulators.sensor import write_tiff


@pytest.mark.parametrize(("target", "tilt"), each_once(["grain", "ruler", "ruling", "text"], [0.0, 0.025]))
def test_a_focus_that_tilts_across_the_target_is_seen_in_its_rows(
    tmp_path: Path, target: str, tilt: float
) -> None:
    """A target 9 mm wide: rows so many mm apart must differ by as much times the tilt (mm per mm).

    Grain by its spectrum in thirds, rulers, rulings and print by their edges in parts of the width.
    """
    case = slope_scan.SlopeScan(
        target=target, dpi=1200, length_mm=44.0, width_mm=9.0, start=0.5, rise=3.6,
        field=slope_scan.Field(2.3, tilt, 0.0), seed=1,
    )  # fmt: skip
    path = write_tiff(tmp_path / "s.tif", slope_scan.render(case), 1200)
    slope = SlopeGeometry(rise_mm=3.6, run_mm=44.0, start_height_mm=0.5)
    found = measure_focus([path], geometry=slope, shape=TargetShape("flat"))
    apart = found.rows[-1].across - found.rows[0].across
    assert found.rows[-1].height - found.rows[0].height == pytest.approx(tilt * apart * 9.0, abs=0.04)
    assert any("from one side of the target" in words for words in found.warnings) == (tilt > 0)
    assert abs(found.height - slope_scan.truth(case)["height"]) < 2 * found.height_sigma
    assert len(found.assumed) == 1


def test_rows_differ_only_beyond_their_errors_and_what_matters() -> None:
    def rows(*heights: float, sigma: float) -> list[RowHeight]:
        return [RowHeight(0.2 + 0.3 * k, h, sigma) for k, h in enumerate(heights)]

    assert rows_apart(rows(2.0, 2.1, 2.2, sigma=0.02)) == pytest.approx(0.2)
    assert rows_apart(rows(2.0, 2.1, 2.2, sigma=0.1)) == 0.0
    assert rows_apart(rows(2.00, 2.02, 2.04, sigma=0.002)) == 0.0
    assert rows_apart([]) == 0.0
    assert "2.00, 2.10, 2.20" in said_of_rows(rows(2.0, 2.1, 2.2, sigma=0.02))[0]
    assert said_of_rows(rows(2.0, 2.1, 2.2, sigma=0.1)) == []
