"""Generated files in the repository are what their scripts would write today."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).parent.parent


@pytest.mark.parametrize("script", ["list_checks.py", "list_limits.py", "preset_schema.py"])
def test_nothing_has_drifted(script: str) -> None:
    done = subprocess.run(
        [sys.executable, str(ROOT / "scripts" / script), "--check"],
        capture_output=True,
        text=True,
        check=False,
        cwd=ROOT,
    )
    assert done.returncode == 0, done.stdout + done.stderr


def test_the_gallery_shows_every_preset() -> None:
    page = (ROOT / "docs" / "gallery.md").read_text()
    for path in (ROOT / "presets").glob("*.toml"):
        assert f"gallery/{path.stem}-sheet.svg" in page
        assert f"gallery/{path.stem}-film.svg" in page


def test_the_readme_begins_with_the_job() -> None:
    paragraphs = (ROOT / "README.md").read_text().split("\n\n")
    assert paragraphs[0] == "# holders"
    assert "film holders" in paragraphs[1]
