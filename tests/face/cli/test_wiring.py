"""What the commands hand from room to room arrives: the preset's kerf, the ramp's kerf, which way up a scan is."""

from __future__ import annotations

from pathlib import Path

import ezdxf
import numpy as np
import pytest
from typer.testing import CliRunner

from holders.face.cli.main import app
from holders.face.shared.expected import expected_of
from holders.face.shared.ramp_steps import KERF_MM
from holders.study import study
from tests.presets_made import SHIPPED, changed


def width_of(path: Path, layer: str) -> float:
    """Width of the largest closed path on a layer of a DXF."""
    spans = []
    for path_ in ezdxf.readfile(path).modelspace().query(f'LWPOLYLINE[layer=="{layer}"]'):
        xs = [x for x, *_ in path_.get_points()]
        spans.append(max(xs) - min(xs))
    return max(spans)


@pytest.mark.parametrize("kerf", [0.11, 0.37])
def test_the_presets_own_kerf_reaches_the_cut_line(tmp_path: Path, kerf: float) -> None:
    source = next(p for p in SHIPPED if p.stem == "8x10-acrylic-lid").read_text()
    assert "kerf_mm = 0.18" in source
    path = tmp_path / "p.toml"
    path.write_text(source.replace("kerf_mm = 0.18", f"kerf_mm = {kerf}"))
    done = CliRunner().invoke(app, ["make", str(path), "--out", str(tmp_path), "--no-steps"])
    assert done.exit_code == 0, done.output
    sheet = next((tmp_path / "8x10-acrylic-with-lid").glob("sheet-1-*.dxf"))
    assert width_of(sheet, "CUT_OUTER") == pytest.approx(215.0 + kerf, abs=0.005)


def test_the_ramps_strip_is_cut_with_its_kerf(tmp_path: Path) -> None:
    done = CliRunner().invoke(app, ["ramp", "--sheet", "3", "--out", str(tmp_path)])
    assert done.exit_code == 0, done.output
    assert width_of(tmp_path / "focus-ramp" / "base.dxf", "CUT_OUTER") == pytest.approx(
        166.0 + KERF_MM, abs=0.005
    )


@pytest.mark.parametrize(("edge", "shown"), [("head", "foot"), ("foot", "head"), ("left", "left")])
def test_a_scan_shows_the_home_end_on_top(edge: str, shown: str) -> None:
    from holders.preset.schema import Preset

    preset = Preset.model_validate(
        changed(film={"format": "8x10"}, lip={"rebate_edge": edge, "rebate_mm": 1.5})
    )
    found = study(preset)
    expected = expected_of(found)
    assert expected.rebate_edge == shown
    window = found.design.windows[0]
    assert expected.picture is not None
    # y down from the opening's home end, as the first row of a scan is the home end
    assert expected.picture.y == pytest.approx(window.picture.y - window.opening.y)
    assert expected.heights_y_mm is not None
    assert (np.diff(expected.heights_y_mm) > 0).all()
    # the film's foot edge comes first: its grid counts from the head
    assert found.film.grid is not None
    assert expected.heights_mm is not None
    assert expected.heights_mm[0] == pytest.approx(found.film.grid.z[-1])
    assert expected.heights_y_mm[0] == pytest.approx(window.film.y - window.opening.y)
