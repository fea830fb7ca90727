"""The rooms and who may import whom, kept by reading the syntax tree, lazy imports included."""

from __future__ import annotations

import ast
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "holders"

# room -> rooms of ours it may import besides errors and findings
MAY: dict[str, set[str]] = {
    "facts": set(),
    "preset": {"facts"},
    "film": {"facts"},
    "focus": {"facts"},
    "inspect": {"facts", "focus"},
    "design": {"facts", "preset", "film", "focus"},
    "shop": {"facts", "preset", "design"},
    "solid": {"design"},
    "checks": {"facts", "preset", "design", "film", "shop", "solid"},
    "export": {"facts", "design", "solid", "report", "focus"},
    "report": {"facts", "preset", "film", "focus", "design", "shop", "study", "inspect"},
    "study": {"facts", "preset", "design", "film", "focus", "shop", "checks", "export", "report"},
    "page": {"study", "report", "preset", "facts", "film", "focus", "inspect", "design", "cli"},
    "cli": {
        "study",
        "report",
        "preset",
        "facts",
        "focus",
        "film",
        "inspect",
        "checks",
        "design",
        "export",
        "page",
    },
}
# outside libraries that only these rooms may import
ONLY: dict[str, set[str]] = {
    "cadquery": {"solid"},
    "OCP": {"solid"},
    "ezdxf": {"export"},
    "lib3mf": {"export"},
    "reportlab": {"export", "report"},
    "typer": {"cli"},
    "rich": {"cli"},
    "tifffile": {"focus"},
    "imagecodecs": {"focus"},
    "PIL": {"focus"},
    "HersheyFonts": {"design"},
}


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def room_of(path: Path) -> str:
    parts = path.relative_to(PACKAGE).parts
    return parts[0] if len(parts) > 1 else path.stem


def imports(path: Path) -> set[str]:
    found: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        if isinstance(node, ast.Import):
            found |= {alias.name for alias in node.names}
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide the room"
            found.add(node.module or "")
    return found


@pytest.mark.parametrize("path", modules(), ids=lambda p: str(p.relative_to(PACKAGE)))
def test_imports_keep_to_the_rooms(path: Path) -> None:
    room = room_of(path)
    if room in ("__init__", "__main__", "aside", "errors", "findings", "processes", "threads"):
        return
    assert room in MAY, f"{room} is not a known room: add it to this test and to DEVELOPERS.md"
    for name in imports(path):
        head, _, rest = name.partition(".")
        if head == "holders" and rest:
            other = rest.split(".")[0]
            if other not in ("aside", "errors", "findings", "processes", "threads", room):
                assert other in MAY[room], f"{path.name} ({room}) may not import {name}"
        elif head in ONLY:
            assert room in ONLY[head], f"{path.name} ({room}) may not import {name}"


def test_no_module_grows_past_its_bounds() -> None:
    lengths = sorted(
        len(path.read_text(encoding="utf-8").splitlines()) for path in modules() if path.name != "__init__.py"
    )
    assert lengths[-1] <= 500
    assert lengths[len(lengths) // 2] <= 150


def test_functions_stay_short() -> None:
    long = []
    for path in modules():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef):
                lines = (node.end_lineno or 0) - node.lineno + 1
                doc = ast.get_docstring(node, clean=False)
                lines -= len(doc.splitlines()) if doc else 0
                if lines > 60:
                    long.append(f"{path.relative_to(PACKAGE)}:{node.name} {lines}")
    assert not long


def test_every_public_definition_has_words() -> None:
    bare = []
    for path in modules():
        tree = ast.parse(path.read_text(encoding="utf-8"))
        if not ast.get_docstring(tree) and path.read_text(encoding="utf-8").strip():
            bare.append(str(path))
        for node in tree.body:
            if (
                isinstance(node, ast.FunctionDef | ast.ClassDef)
                and not node.name.startswith("_")
                and not ast.get_docstring(node)
            ):
                bare.append(f"{path.relative_to(PACKAGE)}:{node.name}")
    assert not bare
