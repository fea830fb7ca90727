"""An output folder written again: nothing that a person changed or laid in is lost, whatever a manifest claims."""

from __future__ import annotations

import hashlib
import json
from collections.abc import Callable
from functools import partial
from multiprocessing import get_context
from pathlib import Path
from typing import Any

import pytest

from holders.core.errors import InputError
from holders.output.bundle.kept import kept_in
from holders.output.bundle.produce import not_anothers
from holders.output.bundle.write import write_all

ONE = {"frame.3mf": b"frame one", "sheet.dxf": b"sheet one", "lid.3mf": b"lid one"}
TWO = {"frame.3mf": b"frame two", "sheet.dxf": b"sheet two"}


@pytest.fixture
def folder(tmp_path: Path) -> Path:
    write_all(tmp_path, "weir", ONE, {"preset": "weir.toml"})
    return tmp_path / "weir"


def names(folder: Path) -> list[str]:
    return sorted(item.name for item in folder.iterdir())


def again(folder: Path, files: dict[str, bytes] = TWO) -> None:
    write_all(folder.parent, "weir", files, {"preset": "weir.toml"})


def test_products_that_were_edited_stay_beside_the_new_ones(folder: Path) -> None:
    (folder / "frame.3mf").write_bytes(b"saved from the slicer")
    (folder / "sheet.dxf").write_bytes(b"nested by hand")
    again(folder)
    assert (folder / "frame.3mf").read_bytes() == b"frame two"
    assert (folder / "frame.yours-1.3mf").read_bytes() == b"saved from the slicer"
    assert (folder / "sheet.yours-1.dxf").read_bytes() == b"nested by hand"
    assert not (folder / "lid.3mf").exists()  # ours, untouched, no longer made
    assert [path.name for path in kept_in(folder)] == ["frame.yours-1.3mf", "sheet.yours-1.dxf"]
    (folder / "frame.3mf").write_bytes(b"saved again")
    again(folder, ONE)
    assert (folder / "frame.yours-1.3mf").read_bytes() == b"saved from the slicer"
    assert (folder / "frame.yours-2.3mf").read_bytes() == b"saved again"


def test_an_edited_product_that_is_no_longer_made_stays(folder: Path) -> None:
    (folder / "lid.3mf").write_bytes(b"my lid")
    again(folder)
    assert (folder / "lid.3mf").read_bytes() == b"my lid"


def claimed(folder: Path, change: Callable[[dict[str, Any]], None]) -> None:
    path = folder / "manifest.json"
    found = json.loads(path.read_text())
    change(found)
    path.write_text(json.dumps(found, indent=2) + "\n")


@pytest.mark.parametrize("sha", ["", "0" * 64, None, 5])
def test_a_file_that_a_manifest_names_without_its_hash_stays(folder: Path, sha: object) -> None:
    """A manifest that somebody else wrote must not be able to delete the user's thesis."""
    (folder / "thesis.txt").write_text("years of work")
    claimed(folder, lambda found: found["files"].append({"path": "thesis.txt", "sha256": sha}))
    again(folder)
    assert (folder / "thesis.txt").read_text() == "years of work"


def test_a_folder_that_bears_a_listed_name_stays(folder: Path) -> None:
    (folder / "lid.3mf").unlink()
    (folder / "lid.3mf").mkdir()
    (folder / "lid.3mf" / "inside.txt").write_text("mine")
    again(folder)
    assert (folder / "lid.3mf" / "inside.txt").read_text() == "mine"


def test_a_manifest_that_is_not_of_this_folder_counts_for_nothing(folder: Path) -> None:
    claimed(folder, lambda found: found.update(slug="another"))
    again(folder)
    assert (folder / "lid.3mf").read_bytes() == b"lid one"
    assert (folder / "frame.yours-1.3mf").read_bytes() == b"frame one"
    assert (folder / "manifest.yours-1.json").exists()


@pytest.mark.parametrize(
    "text",
    [
        "[" * 100_000,
        '{"files":' * 50_000,
        "[]",
        '{"files": 3}',
        '{"files": [3]}',
        "x" * (5 * 2**20),
        "\ud800",
        "{",
    ],
    ids=["brackets", "objects", "a list", "a number", "no rows", "large", "no json", "torn"],
)
def test_any_manifest_is_survived_and_costs_no_file(folder: Path, text: str) -> None:
    (folder / "manifest.json").write_bytes(text.encode("utf-8", "replace"))
    again(folder)
    assert (folder / "frame.yours-1.3mf").read_bytes() == b"frame one"
    assert json.loads((folder / "manifest.json").read_text())["slug"] == "weir"
    assert (
        hashlib.sha256((folder / "frame.3mf").read_bytes()).hexdigest()
        == hashlib.sha256(b"frame two").hexdigest()
    )


def _make(out: str, preset: str, go: Any, answer: Any) -> None:
    """One of two runs that both looked before either wrote."""
    mine = partial(not_anothers, Path(out) / "weir", "Weir", preset)
    mine()
    go.wait()
    try:
        write_all(Path(out), "weir", {"a.stl": preset.encode()}, {"preset": preset}, mine)
        answer.put((preset, ""))
    except InputError as error:
        answer.put((preset, error.way_out))


def test_two_presets_of_one_title_made_at_once_lose_none(tmp_path: Path) -> None:
    context = get_context("spawn")
    go, answer = context.Barrier(2), context.Queue()
    runs = [
        context.Process(target=_make, args=(str(tmp_path), name, go, answer))
        for name in ("one.toml", "two.toml")
    ]
    for run in runs:
        run.start()
    said = dict(answer.get(timeout=120) for _ in runs)
    for run in runs:
        run.join()
    (won,) = [name for name, words in said.items() if not words]
    (lost,) = [words for words in said.values() if words]
    assert (tmp_path / "weir" / "a.stl").read_bytes() == won.encode()
    assert "another title" in lost
    assert "remove" not in lost
