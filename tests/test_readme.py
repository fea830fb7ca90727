"""The README stays one screen, its commands run, and its links lead somewhere."""

from __future__ import annotations

import re
import shlex
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.face.program import app

ROOT = Path(__file__).parent.parent
PAGES = (ROOT / "README.md", *sorted((ROOT / "docs").glob("*.md")))
MOST_WORDS = 1000


def commands(text: str) -> list[str]:
    """Every command line of ``holders`` in the indented blocks of a page, in order."""
    return [line.strip() for line in text.splitlines() if re.match(r" {4,}holders ", line)]


def test_the_readme_is_short() -> None:
    assert len((ROOT / "README.md").read_text(encoding="utf-8").split()) <= MOST_WORDS


def test_the_commands_of_the_readme_run(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    """In the order in which they stand, in an empty folder; the page is only asked for its help."""
    monkeypatch.chdir(tmp_path)
    lines = commands((ROOT / "README.md").read_text(encoding="utf-8"))
    assert len(lines) >= 5
    for line in lines:
        _, *words = shlex.split(line)
        if words[0] == "page":
            words.append("--help")
        done = CliRunner().invoke(app, words)
        assert done.exit_code == 0, f"{line}: {done.output}"
    assert (tmp_path / "out" / "my-4x5" / "job-sheet.html").is_file()


def test_one_holder_is_followed_after_the_install() -> None:
    """Nobody types a command that is not there yet, nor loses the thread between three holders."""
    text = (ROOT / "README.md").read_text(encoding="utf-8")
    before, _, steps = text.partition("## Three steps")
    assert "## Install" in before
    assert not commands(before)
    named = {
        word for line in commands(steps.partition("\n## ")[0]) for word in line.split() if ".toml" in word
    }
    assert named == {"my-4x5.toml"}


@pytest.mark.parametrize("page", PAGES, ids=lambda page: page.name)
def test_links_lead_somewhere(page: Path) -> None:
    for target in re.findall(r"\]\(([^)#]+)(?:#[^)]*)?\)", page.read_text(encoding="utf-8")):
        if not target.startswith("http"):
            assert (page.parent / target).exists(), f"{page.name}: {target}"
