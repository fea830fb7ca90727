"""Which room may import which: data goes one way. Read from the syntax tree, lazy imports included."""

from __future__ import annotations

import ast
from graphlib import CycleError, TopologicalSorter
from pathlib import Path

import pytest

PACKAGE = Path(__file__).parent.parent / "holders"

# From the ground up: a room may import itself, its own rooms, and every room on a line above its own. Rooms on one line
# do not know each other.
FLOORS: tuple[tuple[str, ...], ...] = (
    ("core",),
    ("facts", "geometry"),
    ("preset.words", "preset.folder_name", "film"),
    ("preset.tables",),
    ("preset.resolve", "design.other_films", "design.height_sum"),
    ("design.sag",),
    ("design.model", "checks.words"),
    ("design.height", "design.parts", "checks.base"),
    ("design.draft", "design.held"),
    ("fittings",),
    ("preset",),
    ("measure",),
    ("design",),
    ("design.held.film_in_holder",),
    ("workshop", "solid"),
    ("checks",),
    ("verdict",),
    ("study",),
    ("search",),
    ("output",),
    ("face.shared",),
    ("face.cli", "face.page"),
    ("face.program",),
    ("__main__", "__init__"),
)
# outside libraries that only these rooms may import
ONLY: dict[str, set[str]] = {
    "cadquery": {"solid"},
    "OCP": {"solid"},
    "ezdxf": {"output"},
    "lib3mf": {"output"},
    "reportlab": {"output"},
    "typer": {"face"},
    "rich": {"face"},
    "tifffile": {"measure"},
    "imagecodecs": {"measure"},
    "PIL": {"measure", "preset", "output"},  # preset: a photo of its code; output: widths of letters
    "segno": {"preset"},
    "zxingcpp": {"preset"},
    "fontTools": {"output"},
    "contourpy": {"output"},
    "HersheyFonts": {"design"},
}
MOST_IN_A_ROOM = 15


def modules() -> list[Path]:
    return sorted(PACKAGE.rglob("*.py"))


def dotted(path: Path) -> str:
    """The module's name without ``holders.``; a folder's own for its ``__init__``."""
    parts = path.relative_to(PACKAGE).with_suffix("").parts
    return ".".join(parts[:-1] if parts[-1] == "__init__" and len(parts) > 1 else parts)


def floor_of(name: str) -> int:
    """On which floor a module stands; the longest room name that fits decides."""
    fits = [
        (len(room), number)
        for number, rooms in enumerate(FLOORS)
        for room in rooms
        if name == room or name.startswith(f"{room}.")
    ]
    if not fits and name == "face":
        return len(FLOORS)
    assert fits, f"{name} stands in no known room: add the room to FLOORS and to DEVELOPERS.md"
    return max(fits)[1]


def room_of(name: str) -> str:
    """The room's name as it stands in ``FLOORS``."""
    return next(
        (room for room in FLOORS[floor_of(name)] if name == room or name.startswith(f"{room}.")), name
    )


NAMES = {dotted(path): path for path in modules()}


def imports(path: Path) -> tuple[set[str], set[str]]:
    """Modules of ours that a file imports, lazily or not, and the heads of all others."""
    ours: set[str] = set()
    others: set[str] = set()
    for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
        named: list[str] = []
        if isinstance(node, ast.Import):
            named = [alias.name for alias in node.names]
        elif isinstance(node, ast.ImportFrom):
            assert node.level == 0, f"{path}: relative imports hide the room"
            module = node.module or ""
            inside = [f"{module}.{alias.name}" for alias in node.names]
            named = [name if name.removeprefix("holders.") in NAMES else module for name in inside]
        for name in named:
            head, _, rest = name.partition(".")
            if head == "holders":
                ours.add(rest or "__init__")
            else:
                others.add(head)
    return ours - {dotted(path)}, others


GRAPH = {name: imports(path) for name, path in NAMES.items()}


@pytest.mark.parametrize("name", sorted(NAMES))
def test_imports_keep_to_the_rooms(name: str) -> None:
    if name in ("face", "__main__", "__init__"):
        return
    ours, others = GRAPH[name]
    for other in ours - {"__init__"}:
        if room_of(other) != room_of(name):
            assert floor_of(other) < floor_of(name), f"{name} may not import {other}: data goes one way"
    for head in others & set(ONLY):
        assert name.split(".", maxsplit=1)[0] in ONLY[head], f"{name} may not import {head}"


def test_no_module_imports_itself_round_a_circle() -> None:
    try:
        TopologicalSorter({name: ours for name, (ours, _) in GRAPH.items()}).prepare()
    except CycleError as circle:
        pytest.fail(" -> ".join(circle.args[1]))


def test_a_circle_is_seen() -> None:
    with pytest.raises(CycleError):
        TopologicalSorter({"a": {"b"}, "b": {"a"}}).prepare()


# what a fitting is made of; finding, sheet line and words are core's, so that data goes one way
FITTING_IMPORTS = (
    "core",
    "facts",
    "geometry",
    "film",
    "preset.tables",
    "preset.words",
    "preset.resolve",
    "design.model",
    "design.other_films",
    "design.height_sum",
    "design.sag",
    "design.draft",
    "design.parts",
    "design.height",
    "design.held",
    "checks.base",
    "checks.words",
    "fittings",
)


def test_fittings_import_only_what_they_are_made_of() -> None:
    wrong = {
        (name, other)
        for name, (ours, _) in GRAPH.items()
        if name.startswith("fittings.")
        for other in ours
        if room_of(other) not in FITTING_IMPORTS
    }
    assert not wrong


def test_only_the_registry_knows_the_kinds_of_fittings() -> None:
    kinds = {name for name in NAMES if name.startswith("fittings.")} - {"fittings.base", "fittings.registry"}
    assert len(kinds) > 10
    nosy = {
        (name, other)
        for name, (ours, _) in GRAPH.items()
        if not name.startswith("fittings.")
        for other in ours & kinds
    }
    assert not nosy


def test_no_room_holds_more_than_its_bounds() -> None:
    full = {
        str(folder.relative_to(PACKAGE)): count
        for folder in [PACKAGE, *(p for p in PACKAGE.rglob("*") if p.is_dir())]
        if (count := sum(1 for p in folder.glob("*.py") if p.name != "__init__.py")) > MOST_IN_A_ROOM
    }
    assert not full


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


# methods whose parameters are those of all kinds: a rule's, a fitting's, what a fitting leaves in a design
HOOKS = {
    "checks.base.Rule": {"check"},
    "checks.base.FittedRule": {"look"},
    "fittings.base.Fitting": {
        "given", "room", "moves", "shoulder_mm", "lip_mm", "tabs", "opening", "levels", "nest", "fit", "dressed",
        "film", "changes", "choices", "undercut_mm",
    },
    "design.model.Fitted": {"support", "pressing_n", "cautions", "to_buy", "rings"},
}  # fmt: skip


def takes_job_for_one_thing(function: ast.FunctionDef) -> bool:
    """Whether a function takes a ``Job``, passes it to nobody and uses at most one of its attributes."""
    every = [*function.args.posonlyargs, *function.args.args, *function.args.kwonlyargs]
    jobs = [arg.arg for arg in every if arg.annotation and ast.unparse(arg.annotation).strip("'\"") == "Job"]
    if len(jobs) != 1:
        return False
    uses = [n for n in ast.walk(function) if isinstance(n, ast.Name) and n.id == jobs[0]]
    read = [
        n for n in ast.walk(function)
        if isinstance(n, ast.Attribute) and isinstance(n.value, ast.Name) and n.value.id == jobs[0]
    ]  # fmt: skip
    return len(uses) == len(read) and len({n.attr for n in read}) <= 1


def test_functions_take_what_they_use_of_a_job() -> None:
    hooks = {name for names in HOOKS.values() for name in names}
    bags = []
    for path in modules():
        for node in ast.walk(ast.parse(path.read_text(encoding="utf-8"))):
            if isinstance(node, ast.FunctionDef) and node.name not in hooks and takes_job_for_one_thing(node):
                bags.append(f"{dotted(path)}.{node.name}")
    assert not bags


def test_a_bag_is_seen() -> None:
    bag, fine = ast.parse(
        "def f(job: Job): return job.bed.x + job.bed.y\ndef g(job: Job): return f(job)"
    ).body
    assert isinstance(bag, ast.FunctionDef)
    assert isinstance(fine, ast.FunctionDef)
    assert (takes_job_for_one_thing(bag), takes_job_for_one_thing(fine)) == (True, False)


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
