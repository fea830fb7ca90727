"""Which mutants ``mutants.py`` tries: a seeded sample, the same wherever the lines it is drawn from are the same.

The lines of each room are put in the order of a hash of the seed, the file and the text of the line, so that a change
elsewhere moves no other line in or out. Of each line in that order one mutation is taken, again by hash, until the room
has its number.
"""

from __future__ import annotations

import ast
import re
from collections import Counter
from collections.abc import Iterator
from dataclasses import dataclass
from functools import cached_property
from hashlib import sha256
from pathlib import Path

import cosmic_ray.plugins
from cosmic_ray.ast import ast_nodes, get_ast
from cosmic_ray.mutating import mutate_code
from cosmic_ray.work_item import MutationSpec

# Not drawn: they say nothing about tests. A length shifted by a bit or joined with | is a TypeError at once; `is` in
# place of == differs only for values that no code here tells apart by identity.
BITS = ("LShift", "RShift", "BitOr", "BitAnd", "BitXor", "Invert")
NOT_DRAWN = ("core/VariableInserter", "core/VariableReplacer", "core/NoOp")
# Types are not run, options of a dataclass and kept results change no value, and these blocks never run.
SPEED_OR_TYPES = re.compile(
    r"@(?:functools\.)?(?:cache|lru_cache|cached_property|overload|dataclass)\b|slots=True|TYPE_CHECKING|: TypeAlias"
)


@dataclass(frozen=True)
class Mutant:
    """One change of one line, with the lines of its statement, by which its tests are looked up."""

    room: str
    file: str
    line: int
    nth: int  # among equal lines of the file
    before: str
    after: str
    spec: MutationSpec
    statement: frozenset[int]
    name: str = ""  # of the function or class that it is in, or of the value

    @property
    def key(self) -> str:
        """What names it, whatever else changes in its file."""
        return digest(self.file, self.before, str(self.nth), self.after)[:16]


def digest(*parts: str) -> str:
    return sha256("\0".join(parts).encode()).hexdigest()


def share_out(lines: dict[str, int], count: int, least: int) -> dict[str, int]:
    """How many mutants each room gets: ``least``, and the rest of ``count`` by its lines."""
    rest = count - least * len(lines)
    total = sum(lines.values())
    return {room: least + round(rest * n / total) for room, n in lines.items()}


def sample(tree: Path, rooms: dict[str, list[str]], count: int, least: int, seed: int) -> list[Mutant]:
    """The mutants of all rooms; ``rooms`` gives the files and folders of each."""
    files = {room: list(modules(tree, paths)) for room, paths in rooms.items()}
    sizes = {room: sum(len(m.text.split("\n")) for m in some) for room, some in files.items()}
    numbers = share_out(sizes, count, least)
    return [mutant for room, some in files.items() for mutant in _of_room(room, some, numbers[room], seed)]


def modules(tree: Path, paths: list[str]) -> Iterator[Module]:
    for path in paths:
        found = [tree / path] if path.endswith(".py") else sorted((tree / path).rglob("*.py"))
        yield from (Module(tree, file) for file in found)


def in_turns(mutants: list[Mutant]) -> list[Mutant]:
    """Those of all rooms in turns, each by its share: any beginning of the list is a smaller sample of all rooms."""
    whole, seen, place = Counter(m.room for m in mutants), Counter[str](), {}
    for m in mutants:
        place[m.key] = (seen[m.room] + 0.5) / whole[m.room]
        seen[m.room] += 1
    return sorted(mutants, key=lambda m: place[m.key])


def _of_room(room: str, files: list[Module], number: int, seed: int) -> Iterator[Mutant]:
    order = sorted(
        (digest(str(seed), module.name, text, str(nth)), k, line, nth)
        for k, module in enumerate(files)
        for line, text, nth in module.code_lines()
    )
    for _, k, line, nth in order:
        if number <= 0:
            return
        mutant = files[k].mutant(room, line, nth, seed)
        if mutant is not None:
            number -= 1
            yield mutant


class Module:
    """A file whose lines can be changed."""

    def __init__(self, tree: Path, path: Path) -> None:
        self.path = path
        self.name = path.relative_to(tree).as_posix()
        self.text = path.read_text(encoding="utf-8")

    @cached_property
    def tree(self) -> ast.Module:
        return ast.parse(self.text)

    @cached_property
    def lines(self) -> list[str]:
        return self.text.split("\n")

    def code_lines(self) -> Iterator[tuple[int, str, int]]:
        """Number, text and how many equal ones came before, of each line that holds code."""
        seen: dict[str, int] = {}
        silent = self._silent
        for number, line in enumerate(self.lines, 1):
            text = line.strip()
            if number in silent or len(text) < 4 or text.startswith(("#", "import ", "from ", '"""')):
                continue
            yield number, text, seen.setdefault(text, 0)
            seen[text] += 1

    @cached_property
    def _silent(self) -> set[int]:
        """Lines of strings that stand alone (docstrings)."""
        return {
            line
            for node in ast.walk(self.tree)
            if isinstance(node, ast.Expr) and isinstance(node.value, ast.Constant)
            for line in range(node.lineno, (node.end_lineno or node.lineno) + 1)
        }

    @cached_property
    def _typed(self) -> list[tuple[tuple[int, int], tuple[int, int]]]:
        """Where annotations stand."""
        found = []
        for node in ast.walk(self.tree):
            for name in ("annotation", "returns"):
                one = getattr(node, name, None)
                if one is not None:
                    found.append(((one.lineno, one.col_offset), (one.end_lineno, one.end_col_offset)))
        return found

    @cached_property
    def _statements(self) -> list[tuple[int, int]]:
        """First and last line of every plain statement and of the head of every block."""
        found = []
        for node in ast.walk(self.tree):
            if isinstance(node, ast.stmt):
                last = node.end_lineno or node.lineno
                body = getattr(node, "body", None)
                if isinstance(body, list) and body:
                    last = max(node.lineno, body[0].lineno - 1)
                first = min([node.lineno, *(d.lineno for d in getattr(node, "decorator_list", ()))])
                found.append((first, last))
        return found

    def statement(self, line: int) -> frozenset[int]:
        """All lines of the statement that a line belongs to."""
        spans = [span for span in self._statements if span[0] <= line <= span[1]]
        first, last = min(spans, key=lambda span: span[1] - span[0], default=(line, line))
        return frozenset(range(first, last + 1))

    def around(self, line: int) -> list[frozenset[int]]:
        """The lines of the function, then of the class, then of the module around a line."""
        spans = [
            (node.lineno, node.end_lineno or node.lineno)
            for node in ast.walk(self.tree)
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
        ]
        inside = sorted((b - a, a, b) for a, b in spans if a <= line <= b)
        return [*(frozenset(range(a, b + 1)) for _, a, b in inside), frozenset(range(1, len(self.lines) + 1))]

    def named(self, line: int) -> str:
        """The innermost function or class around a line that has a public name, else the value that it defines."""
        found = [
            (node.lineno, node.name)
            for node in ast.walk(self.tree)
            if isinstance(node, ast.FunctionDef | ast.AsyncFunctionDef | ast.ClassDef)
            and node.lineno <= line <= (node.end_lineno or 0)
            and not node.name.startswith("_")
        ]
        return max(found)[1] if found else self.defined(line) or ""

    def defined(self, line: int) -> str | None:
        """The name that a statement outside of functions gives a value, whose uses then stand for it."""
        for node in self._outside(self.tree):
            if isinstance(node, ast.Assign | ast.AnnAssign) and node.lineno <= line <= (node.end_lineno or 0):
                target = node.targets[0] if isinstance(node, ast.Assign) else node.target
                return target.id if isinstance(target, ast.Name) else None
        return None

    def _outside(self, node: ast.AST) -> Iterator[ast.AST]:
        """What stands below a node and in no function."""
        for below in ast.iter_child_nodes(node):
            if not isinstance(below, ast.FunctionDef | ast.AsyncFunctionDef | ast.Lambda):
                yield below
                yield from self._outside(below)

    @cached_property
    def _positions(self) -> dict[int, list[tuple[str, int, tuple[int, int], tuple[int, int]]]]:
        nodes = list(ast_nodes(get_ast(self.text)))
        found: dict[int, list[tuple[str, int, tuple[int, int], tuple[int, int]]]] = {}
        for name in _operators():
            operator = cosmic_ray.plugins.get_operator(name)()
            places = (place for node in nodes for place in operator.mutation_positions(node))
            for occurrence, (start, end) in enumerate(places):
                found.setdefault(start[0], []).append((name, occurrence, start, end))
        return found

    def mutant(self, room: str, line: int, nth: int, seed: int) -> Mutant | None:
        """The change of a line that the seed chooses; None where nothing on it can be changed."""
        before = self.lines[line - 1].strip()
        if SPEED_OR_TYPES.search(before):
            return None
        places = [p for p in self._positions.get(line, ()) if not self._is_typed(p[2])]
        places.sort(
            key=lambda p: digest(str(seed), self.name, before, str(nth), p[0], str(p[2][1]), str(p[1]))
        )
        for name, occurrence, start, end in places:
            spec = MutationSpec(self.path, name, occurrence, start, end)
            if self.lines[start[0] - 1][start[1] :].startswith(("*,", "/,")):  # of parameters: no arithmetic
                continue
            changed = mutate_code(self.text, cosmic_ray.plugins.get_operator(name)(), occurrence)
            if changed is None or changed == self.text or not _compiles(changed):
                continue
            after = self._new_line(changed, line)
            return Mutant(
                room, self.name, line, nth, before, after, spec, self.statement(line), self.named(line)
            )
        return None

    def _is_typed(self, place: tuple[int, int]) -> bool:
        return any(start <= place < end for start, end in self._typed)

    def _new_line(self, changed: str, line: int) -> str:
        new = changed.split("\n")
        if len(new) < len(self.lines):
            return "(taken away)"
        return re.sub(r"\s+", " ", new[line - 1].strip())


def _compiles(text: str) -> bool:
    try:
        compile(text, "mutant", "exec")
    except (SyntaxError, ValueError):
        return False
    return True


def _operators() -> list[str]:
    names = []
    for name in sorted(cosmic_ray.plugins.operator_names()):
        *_, old, new = ["", "", *name.split("_")]
        nonsense = (new in BITS and old not in BITS) or (
            new in ("Is", "IsNot") and old not in ("Is", "IsNot")
        )
        if name not in NOT_DRAWN and not nonsense:
            names.append(name)
    return names
