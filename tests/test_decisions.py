"""Modules decide by types (roles, causes, outcomes), never by reading the words that people read."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

ROOT = Path(__file__).parents[1] / "holders"
WORDS = {"name", "title", "part", "whole", "words", "no_sag_because", "why_not", "whole_because", "largest"}
READS = {"startswith", "endswith", "partition", "find", "index", "removeprefix"}
# rooms that see holders and their findings; elsewhere a name is what a file says
ROOMS = ("design", "checks", "workshop", "solid", "study.py", "output", "face/shared")
# the edge of a scan is called by its side; a dated folder by its path
KNOWN = {
    ("output/draw/inspect.py", "edge.name"),
    ("output/bundle/write.py", "item.name"),  # files, whose names are all there is to tell them by
    ("output/bundle/kept.py", "item.name"),
}


def modules() -> list[Path]:
    return [
        path
        for room in ROOMS
        for path in ([ROOT / room] if room.endswith(".py") else sorted((ROOT / room).rglob("*.py")))
    ]


def read_words(source: str) -> list[str]:
    """Places in a source where an attribute that holds words is compared with, or searched for, fixed text."""
    found = []
    for node in ast.walk(ast.parse(source)):
        if isinstance(node, ast.Call) and isinstance(node.func, ast.Attribute) and node.func.attr in READS:
            if _worded(node.func.value) and any(_fixed(arg) for arg in node.args):
                found.append(ast.unparse(node.func.value))
        elif isinstance(node, ast.Compare):
            sides = [node.left, *node.comparators]
            worded = [side for side in sides if _worded(side)]
            if worded and any(_fixed(side) for side in sides):
                found.append(ast.unparse(worded[0]))
    return found


def _worded(node: ast.expr) -> bool:
    return isinstance(node, ast.Attribute) and node.attr in WORDS


def _fixed(node: ast.expr) -> bool:
    """Fixed text, or a constant that holds it."""
    if isinstance(node, ast.Constant):
        return isinstance(node.value, str) and node.value != ""
    if isinstance(node, (ast.Tuple, ast.List, ast.Set)):
        return any(_fixed(item) for item in node.elts)
    return isinstance(node, ast.Name) and node.id.isupper()


@pytest.mark.parametrize("path", modules(), ids=lambda p: p.relative_to(ROOT).as_posix())
def test_no_module_decides_by_the_words_of_a_name(path: Path) -> None:
    where = path.relative_to(ROOT).as_posix()
    found = [what for what in read_words(path.read_text(encoding="utf-8")) if (where, what) not in KNOWN]
    assert not found, f"{where} decides by {found}"


@pytest.mark.parametrize(
    "source",
    [
        'lids = [p for p in parts if p.name.startswith("lid")]',
        "frame = [s for s in seams if not s.part.startswith(LID_PREFIX)]",
        'if "converge" in design.no_sag_because: pass',
        'x = cut.name == "magnet"',
        'x = part.name in ("lid", "catch")',
    ],
)
def test_the_reader_sees_such_decisions(source: str) -> None:
    assert read_words(source)


def test_the_reader_lets_types_and_lookups_pass() -> None:
    assert not read_words(
        "x = part.role is Role.LID\ny = part.whole == name\nz = part.name in used\nw = not part.whole"
    )
