"""The face of the package for Python programs: few names, loaded late, and the examples of docs/python.md run."""

from __future__ import annotations

import dataclasses
import re
import subprocess
import sys
from pathlib import Path

import pytest

import holders
from tests.simulators.slope_scan import Field, draw_case, render, truth
from tests.simulators.slope_scan import write_tiff as write_scan

ROOT = Path(__file__).resolve().parent.parent
PAGE = (ROOT / "docs" / "python.md").read_text(encoding="utf-8")
EXAMPLES = re.findall(r"```python\n(.*?)```", PAGE, re.DOTALL)


def test_at_most_ten_names_and_each_is_there_and_on_the_page() -> None:
    assert len(holders.__all__) <= 10
    for name in holders.__all__:
        assert getattr(holders, name).__doc__
        assert re.search(rf"`{name}\b", PAGE), name
        assert f"``{name}``" in (holders.__doc__ or "")
    with pytest.raises(AttributeError, match="no attribute 'nothing'"):
        holders.nothing  # noqa: B018


def test_no_name_is_that_of_a_room() -> None:
    """A room's module would take the name's place as soon as it is imported."""
    rooms = {path.stem for path in (ROOT / "holders").iterdir()}
    assert not set(holders.__all__) & rooms


def test_importing_the_package_loads_nothing_else() -> None:
    code = "import sys, holders; print(*sorted(m for m in sys.modules if m.startswith('holders') or m == 'numpy'))"
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.split() == ["holders", "holders.core", "holders.core.version"]


def test_the_version_is_that_of_the_project() -> None:
    assert f'version = "{holders.__version__}"' in (ROOT / "pyproject.toml").read_text(encoding="utf-8")


def test_the_examples_run(
    tmp_path: Path, monkeypatch: pytest.MonkeyPatch, capsys: pytest.CaptureFixture[str]
) -> None:
    monkeypatch.chdir(tmp_path)
    scan = dataclasses.replace(
        draw_case(11, "clean"), length_mm=60.0, width_mm=8.0, start=0.0, rise=3.0, field=Field(1.2, 0.0, 0.0)
    )
    write_scan(tmp_path / "slope.tif", render(scan), scan.dpi)
    room: dict[str, object] = {}
    for example in EXAMPLES:
        exec(compile(example, "docs/python.md", "exec"), room)
    said = capsys.readouterr().out
    study, measured, records = room["found"], room["measured"], list((tmp_path / "out").rglob("*"))
    assert isinstance(study, holders.Study)
    assert f"{study.design.heights.sharp_plane:.2f} mm above the glass" in said
    assert {".dxf", ".pdf", ".step", ".toml"} <= {path.suffix for path in records}
    assert abs(measured.height - truth(scan)["height"]) < 4 * measured.height_sigma + 0.01  # type: ignore[attr-defined]
    assert len(re.findall(r"sag \d", said)) == 2
    assert "no-such-holder" in said
