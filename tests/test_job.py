"""How many functions take the whole job although they use little of it: the count only ever falls.

A function that takes what it uses can be read, called and tested without a preset. Read from the syntax tree.
"""

from __future__ import annotations

import ast
from collections.abc import Iterator
from pathlib import Path

PACKAGE = Path(__file__).resolve().parent.parent / "holders"
# what a kind of fitting answers, by signatures that all kinds share
SHARED = (("fittings/base.py", "Fitting"), ("design/model.py", "Fitted"))
# lower them when fewer are left; never raise them
MOST_TAKERS, MOST_FOR_LITTLE = 217, 5
Function = ast.FunctionDef | ast.AsyncFunctionDef


def takers(tree: ast.AST) -> Iterator[Function]:
    """Functions with a parameter ``job: Job``; none is a rule's ``check`` or ``look``, which all rules share."""
    for node in ast.walk(tree):
        if isinstance(node, Function) and node.name not in ("check", "look"):
            arguments = [*node.args.posonlyargs, *node.args.args, *node.args.kwonlyargs]
            if any(a.arg == "job" and _named(a.annotation, "Job") for a in arguments):
                yield node


def hooks() -> set[str]:
    """Names of the methods whose signature every kind of fitting shares."""
    return {
        function.name
        for file, name in SHARED
        for owner in ast.parse((PACKAGE / file).read_text(encoding="utf-8")).body
        if isinstance(owner, ast.ClassDef) and owner.name == name
        for function in owner.body
        if isinstance(function, Function)
    }


def answers(tree: ast.AST) -> set[int]:
    """Those of a tree's functions that stand in a class: only they can be a fitting's hooks."""
    return {
        id(function) for owner in ast.walk(tree) if isinstance(owner, ast.ClassDef) for function in owner.body
    }


def used(function: Function) -> set[str] | None:
    """The attributes of ``job`` that a function uses; None where it hands the job on whole."""
    inner = [node for node in ast.walk(function) if isinstance(node, ast.Attribute) and _is_job(node.value)]
    whole = sum(1 for node in ast.walk(function) if _is_job(node)) - len(inner)
    return None if whole else {node.attr for node in inner}


def _named(node: ast.AST | None, name: str) -> bool:
    return isinstance(node, ast.Name) and node.id == name


def _is_job(node: ast.AST) -> bool:
    return _named(node, "job")


def counted() -> tuple[int, list[str]]:
    """How many functions take the job, and those of them that use at most one attribute and hand nothing on."""
    count, little, shared = 0, [], hooks()
    for path in sorted(PACKAGE.rglob("*.py")):
        tree = ast.parse(path.read_text(encoding="utf-8"))
        methods = answers(tree)
        for function in takers(tree):
            if "fittings" in path.parts and function.name in shared and id(function) in methods:
                continue
            count += 1
            attributes = used(function)
            if attributes is not None and len(attributes) <= 1:
                little.append(f"{path.relative_to(PACKAGE)}:{function.name} {''.join(attributes)}")
    return count, little


def test_no_more_functions_take_the_whole_job_than_now() -> None:
    count, little = counted()
    assert count <= MOST_TAKERS
    assert len(little) <= MOST_FOR_LITTLE, "give a new one what it uses:\n" + "\n".join(little)


def test_the_count_sees_what_it_counts() -> None:
    code = (
        "def one(job: Job): return job.bed.name\n"
        "def two(job: Job): return job.bed, job.film\n"
        "def handed(x, *, job: Job): return one(job)\n"
        "def other(job: str): return job\n"
        "class Rule:\n"
        "    def check(self, job: Job): return job.bed\n"
    )
    found = {function.name: used(function) for function in takers(ast.parse(code))}
    assert found == {"one": {"bed"}, "two": {"bed", "film"}, "handed": None}
