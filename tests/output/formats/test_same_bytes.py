"""The same preset gives the same bytes in every process: Python orders sets by a seed of its own in each."""

from __future__ import annotations

import json
import os
import subprocess
import sys
from pathlib import Path

import pytest

from tests.presets_made import SHIPPED

ROOT = Path(__file__).resolve().parents[3]
SOLID = (".stl", ".step", ".glb", ".3mf")
CODE = f"""
import hashlib, json, sys
from pathlib import Path
from holders.study import study_file
from holders.output.bundle.plan_files import files_for
from holders.output.draw.film import film_sheet
from holders.output.sheet.content import sheet_content
from holders.output.sheet.html import html_bytes
found = study_file(Path(sys.argv[1]))
files = dict(files_for(found.design, found.job.paper, kerf_mm=found.job.material.kerf_mm, cautions=found.cautions))
if sys.argv[2] == "plain":
    files = {{name: made for name, made in files.items() if not name.endswith({SOLID})}}
if found.film.grid is not None:
    files["film.svg"] = film_sheet(found.design, found.film)
files["job-sheet.html"] = html_bytes(sheet_content(found, found.preset_text))
made = {{name: made if isinstance(made, bytes) else made() for name, made in files.items()}}
print(json.dumps({{name: hashlib.sha256(data).hexdigest() for name, data in made.items()}}))
"""


def hashes(preset: Path, which: str, seed: int) -> dict[str, str]:
    done = subprocess.run(
        [sys.executable, "-c", CODE, str(preset), which],
        env={**os.environ, "PYTHONHASHSEED": str(seed), "PYTHONPATH": str(ROOT)},
        capture_output=True,
        text=True,
        check=True,
        cwd=ROOT,
    )
    found: dict[str, str] = json.loads(done.stdout)
    return found


@pytest.mark.parametrize(
    "preset", [pytest.param("8x10-mat-board", marks=pytest.mark.slow), "8x10-acrylic-lid"]
)
def test_drawings_and_cut_files_do_not_depend_on_the_process(preset: str) -> None:
    path = ROOT / "presets" / f"{preset}.toml"
    first, second = (hashes(path, "plain", seed) for seed in (1, 4))
    assert first == second
    assert {".dxf", ".svg", ".html"} <= {Path(name).suffix for name in first}


@pytest.mark.slow
@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_no_file_of_any_shipped_preset_depends_on_the_process(path: Path) -> None:
    assert hashes(path, "all", 1) == hashes(path, "all", 4)
