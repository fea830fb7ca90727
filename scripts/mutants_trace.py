"""Which test reaches which line of ``holders/``: noted once for each group of tests, kept, asked by ``mutants.py``."""

from __future__ import annotations

import json
import os
import re
import subprocess
import sys
from collections.abc import Sequence
from dataclasses import dataclass, field
from pathlib import Path

import coverage

CHILD = """\
import os
if "COVERAGE_PROCESS_START" in os.environ:
    import coverage

    coverage.process_startup()
"""
CONFIG = """\
[run]
data_file = {folder}/lines
parallel = true
context = ${{MUTANTS_CONTEXT}}
patch = _exit
source = {tree}/holders
disable_warnings = no-data-collected,module-not-measured,module-not-imported,already-imported
"""
NAME = "lines.all"


def trace(tree: Path, tests: str, folder: Path) -> None:
    """Run a file or folder of tests in ``tree`` and note into ``folder`` what each reaches; once."""
    if (folder / NAME).exists():
        return
    folder.mkdir(parents=True, exist_ok=True)
    for old in folder.glob("lines*"):
        old.unlink()
    (folder / "site").mkdir(exist_ok=True)
    (folder / "site" / "sitecustomize.py").write_text(CHILD, encoding="utf-8")
    config = folder / "coverage.ini"
    config.write_text(CONFIG.format(folder=folder, tree=tree), encoding="utf-8")
    environment = environ(tree) | {
        "MUTANTS_TRACE": str(folder),
        "MUTANTS_CONTEXT": "",
        "COVERAGE_PROCESS_START": str(config),
    }
    environment["PYTHONPATH"] = os.pathsep.join([str(folder / "site"), environment["PYTHONPATH"]])
    subprocess.run(command(tests), cwd=tree, env=environment, check=False)
    if not (folder / "tests.json").exists():
        raise SystemExit(f"the tests of {tests} did not end; see above")
    _combine(folder, config)


def command(*tests: str) -> list[str]:
    """The command that runs tests with the plugin of ``mutants_pytest.py``, keeping nothing."""
    plain = [
        "-q",
        "-p",
        "no:cacheprovider",
        "-p",
        "no:randomly",
        "-p",
        "mutants_pytest",
        "--tb=line",
        "-rfE",
        "--assert=plain",
    ]
    plain += ["-W", "ignore::pytest.PytestAssertRewriteWarning"]  # of libraries that were loaded before
    return [sys.executable, "-m", "pytest", *plain, *tests]


def environ(tree: Path) -> dict[str, str]:
    """The environment in which ``tree`` is what is imported, with one thread for arithmetic."""
    one = {"OMP_NUM_THREADS": "1", "OPENBLAS_NUM_THREADS": "1", "PYTHONDONTWRITEBYTECODE": "1"}
    return dict(os.environ) | one | {"PYTHONPATH": os.pathsep.join([str(tree), str(Path(__file__).parent)])}


def _combine(folder: Path, config: Path) -> None:
    merged = coverage.CoverageData(basename=str(folder / NAME))
    for part in sorted(folder.glob("lines.*")):
        if part.name == NAME or part.name.endswith(("-journal", "-wal", "-shm")):
            continue
        data = coverage.CoverageData(basename=str(part))
        try:
            data.read()
        except coverage.exceptions.DataError:  # of a process that was killed while it wrote
            continue
        merged.update(data)
        part.unlink(missing_ok=True)
    merged.write()
    config.unlink()


@dataclass
class Reach:
    """What the tests of some groups reach: seconds and outcome of each, and the tests of a line.

    A later group outdoes an earlier one that holds the same tests; tests in ``unsteady`` never count.
    """

    folders: list[Path]
    unsteady: set[str] = field(default_factory=set)
    seconds: dict[str, float] = field(default_factory=dict)
    fixtures: dict[str, list[str]] = field(default_factory=dict)

    def __post_init__(self) -> None:
        self.data = []
        for folder in self.folders:
            noted = json.loads((folder / "tests.json").read_text(encoding="utf-8"))
            for name, tests in noted["fixtures"].items():
                self.fixtures.setdefault(name, []).extend(tests)
            for test, row in noted["tests"].items():
                self.seconds.pop(test, None)
                if row["outcome"] == "passed" and test not in self.unsteady:
                    self.seconds[test] = row["seconds"]
            data = coverage.CoverageData(basename=str(folder / NAME))
            data.read()
            self.data.append(data)
        self.lines: dict[str, dict[int, set[str]]] = {}

    def tests(self, file: Path, lines: set[int]) -> set[str]:
        """The tests that pass and run one of these lines, themselves or through a fixture."""
        known = self._of(str(file))
        return {test for line in lines for test in known.get(line, ()) if test in self.seconds}

    def _of(self, file: str) -> dict[int, set[str]]:
        if file not in self.lines:
            found: dict[int, set[str]] = {}
            for data in self.data:
                for line, contexts in data.contexts_by_lineno(file).items():
                    for context in contexts:
                        found.setdefault(line, set()).update(self.fixtures.get(context, [context]))
            self.lines[file] = found
        return self.lines[file]

    def chosen(self, file: Path, lines: set[int]) -> list[str]:
        """The tests for a change of these lines, quickest first.

        First those that reach it, then their neighbours in the same files: what one test computed and kept may be
        judged by another.
        """
        reach = self.tests(file, lines)
        files = {test.split("::")[0] for test in reach}
        beside = {test for test in self.seconds if test.split("::")[0] in files} - reach
        first = {
            test.split("::")[0]: self.seconds[test] for test in sorted(reach, key=lambda t: -self.seconds[t])
        }
        return [
            test
            for some in (reach, beside)
            for test in sorted(some, key=lambda name: self._turn(name, first))
        ]

    def _turn(self, test: str, first: dict[str, float]) -> tuple[int, float, str, float]:
        """Quick ones of all files before slow ones; those of one file together, since they share what they set up."""
        seconds, file = self.seconds[test], test.split("::", maxsplit=1)[0]
        return sum(seconds > limit for limit in (0.3, 3.0)), first[file], file, seconds


def guessed(
    tree: Path, tests: list[str], file: str, name: str, every: Sequence[str] = (), most: int = 12
) -> list[str]:
    """Test files for a module whose tests were not traced: those that import it, then those that name what was changed.

    Parameters
    ----------
    tree:
        The copy.
    tests:
        The room's files and folders of tests.
    file, name:
        The changed module, and the function or class in it, or "".
    every:
        The room's files of tests that go through a registry, and so reach modules that they do not name.
    """
    dotted = file.removesuffix(".py").removesuffix("/__init__").replace("/", ".")
    package, _, stem = dotted.rpartition(".")
    words = {
        16: rf"\b{re.escape(dotted)}\b|from {re.escape(package)} import [^\n]*\b{re.escape(stem)}\b",
        4: rf"\b{re.escape(name)}\b" if name else r"(?!)",
        2: rf"\b{re.escape(package)}\b",
        1: rf"\b{re.escape(stem)}",
    }
    scores = []
    for path in (p for one in tests for p in _test_files(tree / one)):
        text, place = path.read_text(encoding="utf-8"), path.relative_to(tree).as_posix()
        score = sum(worth for worth, word in words.items() if re.search(word, text))
        score += 8 * (place in every or path.stem.endswith(f"_{stem}"))
        score += 8 * (score >= 16 and path.stem.endswith("_steps"))  # quick: each test takes a step or two
        scores.append((-score, len(text), place))
    return [path for _, _, path in sorted(scores)[:most]]


def _test_files(path: Path) -> list[Path]:
    return [path] if path.suffix == ".py" else sorted(path.rglob("test_*.py"))
