"""The recipes of DEVELOPERS.md, followed to the letter in a copy of the tree."""

from __future__ import annotations

import json
import os
import re
import shlex
import shutil
import subprocess
import sys
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
COPIED = ("holders", "presets", "scripts", "tests", "docs/checks.md", "pyproject.toml")
CHAPTER = "## Where to add things"
STEP = re.compile(
    r"(?P<what>New file|Append to|In) `(?P<file>[^`]+)`(?:, after `(?P<after>[^`]+)`)?:\n\n```\w+\n(?P<text>.*?)```",
    re.DOTALL,
)
COMMAND = re.compile(r"`(python [^`]+)`")


def recipes() -> dict[str, str]:
    """The chapter's sections by their titles."""
    text = (ROOT / "DEVELOPERS.md").read_text(encoding="utf-8").split(CHAPTER)[1].split("\n## ")[0]
    parts = text.split("\n### ")[1:]
    return {part.partition("\n")[0]: part for part in parts}


def follow(recipe: str, tree: Path) -> None:
    """Do all that is written."""
    for step in STEP.finditer(recipe):
        path, text = tree / step["file"], step["text"]
        if step["what"] == "New file":
            assert not path.exists(), f"{path} is there already"
            path.write_text(text, encoding="utf-8")
            continue
        old = path.read_text(encoding="utf-8")
        if step["what"] == "Append to":
            path.write_text(f"{old}\n{text}", encoding="utf-8")
            continue
        line = step["after"] + "\n"
        assert old.count(line) == 1, f"{step['file']} has {old.count(line)} lines {line!r}"
        path.write_text(old.replace(line, line + text), encoding="utf-8")


def run(command: str, tree: Path) -> str:
    """What a command in the copy says; it must succeed."""
    words = [sys.executable if word == "python" else word for word in shlex.split(command)]
    env = {**os.environ, "PYTHONPATH": str(tree)}
    done = subprocess.run(words, cwd=tree, env=env, capture_output=True, text=True, check=False)
    assert done.returncode == 0, f"{command}\n{done.stdout}{done.stderr}"
    return done.stdout


@pytest.fixture
def tree(tmp_path: Path) -> Path:
    for name in COPIED:
        source = ROOT / name
        if source.is_dir():
            shutil.copytree(source, tmp_path / name)
        else:
            (tmp_path / name).parent.mkdir(exist_ok=True)
            shutil.copy2(source, tmp_path / name)
    return tmp_path


def followed(title: str, tree: Path) -> list[str]:
    """The recipe followed, its commands run; what each of them said."""
    recipe = recipes()[title]
    assert STEP.search(recipe)
    follow(recipe, tree)
    commands = COMMAND.findall(recipe)
    assert commands
    return [run(command, tree) for command in commands]


def test_every_recipe_is_followed_here() -> None:
    assert set(recipes()) == {
        "A printer",
        "A film format",
        "A check",
        "A fitting",
        "A preset",
        "An export format",
    }


def test_a_printer(tree: Path) -> None:
    listed, tested = followed("A printer", tree)
    assert "p256" in listed
    assert re.search(r"\d passed", tested)


def test_a_film_format(tree: Path) -> None:
    listed, tested = followed("A film format", tree)
    assert "quarter-plate" in listed
    assert re.search(r"\d passed", tested)


def test_a_check(tree: Path) -> None:
    followed("A check", tree)
    assert "| `many-parts` |" in (tree / "docs" / "checks.md").read_text(encoding="utf-8")
    found = json.loads(run("python -m holders check 8x10-mat-board --no-steps --json", tree))["findings"]
    assert [one["level"] for one in found if one["code"] == "many-parts"] == ["pass"]


def test_a_fitting(tree: Path) -> None:
    """One file and its name in the registry: part, finding, sheet, words for form and template, and keys are there."""
    followed("A fitting", tree)
    preset = tree / "presets" / "8x10-mat-board.toml"
    preset.write_text(preset.read_text(encoding="utf-8") + "\n[grip]\nlength_mm = 20\n", encoding="utf-8")
    made = json.loads(run("python -m holders make 8x10-mat-board --no-steps --out out --json", tree))
    out = tree / "out" / "8x10-mat-board"
    assert (out / "grip.dxf").stat().st_size > 0
    assert [part["size"][0] for part in made["design"]["parts"] if part["name"] == "grip"] == [20.0]
    (found,) = [one for one in made["findings"] if one["code"] == "grip-length"]
    assert (found["level"], found["title"]) == ("warn", "The grip is short for two fingers")
    assert "Glue the grip on the frame" in (out / "job-sheet.html").read_text(encoding="utf-8")
    assert "| `grip-length` |" in (tree / "docs" / "checks.md").read_text(encoding="utf-8")
    assert '"Grip"' in (tree / "presets" / "preset.schema.json").read_text(encoding="utf-8")
    ask = "from holders.face.page.form.form import form; from holders.preset.template import template; "
    said = run(f"python -c '{ask}print(template(dict())); print(form()[\"groups\"][-1])'", tree)
    assert "# [grip]" in said
    assert "grip.length_mm" in said


def test_a_preset(tree: Path) -> None:
    (said,) = followed("A preset", tree)
    assert "6x6-roll" in said
    assert {"frame.stl", "lid-2.stl", "manifest.json"} <= {
        path.name for path in (tree / "out" / "6x6-roll").iterdir()
    }
    assert "6x6-roll" in run("python -m holders list presets", tree)


def test_an_export_format(tree: Path) -> None:
    followed("An export format", tree)
    made = json.loads((tree / "out" / "8x10-printed" / "manifest.json").read_text(encoding="utf-8"))["files"]
    (row,) = [row for row in made if row["path"] == "frame.ply"]
    assert (row["format"], row["units"]) == ("ply", "mm")
    assert (tree / "out" / "8x10-printed" / "frame.ply").read_bytes().startswith(b"ply\n")
