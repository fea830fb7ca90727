"""A plugin of pytest for ``scripts/mutants.py``: notes which test reaches which line, or runs chosen tests in order.

With ``MUTANTS_TRACE`` (a folder) in the environment every test's lines are noted there under its name, and its outcome
and seconds of the processor in ``tests.json``; what a fixture of a module or a wider one runs is noted under
``fixture|NAME``, with its tests. With ``MUTANTS_ORDER`` (a file of tests, one a line) these run, in that order; if it
is empty, all that were collected. ``MUTANTS_NOW`` names the file that gets their names, ``MUTANTS_S`` the time for all.
"""

from __future__ import annotations

import functools
import gc
import json
import os
import signal
from collections.abc import Iterator
from pathlib import Path
from typing import Any

import hypothesis
import pytest

CONTEXT = "MUTANTS_CONTEXT"  # under which child processes note theirs
MOST_S = 6.0  # of the processor, and ten times as long by the clock: a test that takes longer is broken off


class TooSlow(BaseException):
    """Raised in a test that takes so long that no mutant is to be found by it."""


def _too_slow(*_: object) -> None:
    raise TooSlow


def _processor_s() -> float:
    return sum(os.times()[:4])


class Trace:
    """Notes lines under the test that runs them."""

    def __init__(self, folder: Path) -> None:
        import coverage  # noqa: PLC0415 - only where lines are noted

        self.folder = folder
        self.tests: dict[str, dict[str, Any]] = {}
        self.fixtures: dict[str, set[str]] = {}
        self.module = ""
        self.now = ""
        self.coverage = coverage.Coverage(config_file=os.environ["COVERAGE_PROCESS_START"])
        self.coverage.start()
        signal.signal(signal.SIGPROF, _too_slow)
        signal.signal(signal.SIGALRM, _too_slow)

    def under(self, name: str) -> None:
        self.now = os.environ[CONTEXT] = name
        self.coverage.switch_context(name)

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        module = item.nodeid.split("::")[0]
        if module != self.module:
            self.module = module
            _forget()
        row = self.tests[item.nodeid] = {"seconds": 0.0, "outcome": "passed"}
        self.under(item.nodeid)
        before = _processor_s()
        signal.setitimer(signal.ITIMER_PROF, MOST_S, 1.0)
        signal.setitimer(signal.ITIMER_REAL, 10 * MOST_S, 1.0)
        try:
            return (yield)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)
            signal.setitimer(signal.ITIMER_REAL, 0)
            row["seconds"] = round(_processor_s() - before, 3)
            self.under("")

    @pytest.hookimpl(wrapper=True)
    def pytest_fixture_setup(self, fixturedef: Any, request: Any) -> Iterator[Any]:
        if fixturedef.scope == "function":
            return (yield)
        before = self.now
        name = f"fixture|{fixturedef.baseid}|{fixturedef.argname}"
        self.under(name)
        try:
            return (yield)
        finally:
            self.under(before)

    def pytest_runtest_logreport(self, report: pytest.TestReport) -> None:
        if report.outcome != "passed":
            self.tests[report.nodeid]["outcome"] = report.outcome

    def pytest_collection_modifyitems(self, items: list[pytest.Item]) -> None:
        for item in items:
            found = item._fixtureinfo.name2fixturedefs  # type: ignore[attr-defined]
            for definitions in found.values():
                for one in definitions:
                    if one.scope != "function":
                        self.fixtures.setdefault(f"fixture|{one.baseid}|{one.argname}", set()).add(
                            item.nodeid
                        )

    def pytest_sessionfinish(self) -> None:
        self.coverage.stop()
        self.coverage.save()
        noted = {"tests": self.tests, "fixtures": {name: sorted(of) for name, of in self.fixtures.items()}}
        (self.folder / "tests.json").write_text(json.dumps(noted), encoding="utf-8")


def _forget() -> None:
    """Empty what functions have kept, so that each file's tests run themselves what they need."""
    for kept in gc.get_objects():
        if isinstance(kept, functools._lru_cache_wrapper) and str(kept.__module__).startswith(
            ("holders", "tests")
        ):
            kept.cache_clear()


class Order:
    """Runs chosen tests in their order until one fails, or until the processor's time for one mutant is used up."""

    def __init__(self, file: Path, now: Path, most_s: float) -> None:
        names = file.read_text(encoding="utf-8").split("\n")
        self.place = {name: k for k, name in enumerate(names) if name}
        self.now = now
        self.most_s = most_s
        self.began_s = _processor_s()
        signal.signal(signal.SIGPROF, self._limit)

    def _limit(self, *_: object) -> None:
        """A test that was quick when it was traced has failed; of one that was not traced nothing is known."""
        if self.place:
            raise TooSlow
        pytest.skip("takes too long")

    @pytest.hookimpl(trylast=True)
    def pytest_collection_modifyitems(self, config: pytest.Config, items: list[pytest.Item]) -> None:
        if not self.place:
            return
        wanted = [item for item in items if item.nodeid in self.place]
        config.hook.pytest_deselected(items=[item for item in items if item.nodeid not in self.place])
        items[:] = sorted(wanted, key=lambda item: self.place[item.nodeid])

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_protocol(self, item: pytest.Item) -> Iterator[None]:
        if _processor_s() - self.began_s > self.most_s:
            item.session.shouldstop = "enough"
        with self.now.open("a", encoding="utf-8") as stream:
            stream.write(f"{item.nodeid}\n")
        signal.setitimer(signal.ITIMER_PROF, (3.0 if self.place else 1.0) * MOST_S, 1.0)
        try:
            return (yield)
        finally:
            signal.setitimer(signal.ITIMER_PROF, 0)


def pytest_configure(config: pytest.Config) -> None:
    if "MUTANTS_TRACE" in os.environ:
        config.pluginmanager.register(Trace(Path(os.environ["MUTANTS_TRACE"])), "mutants-trace")
    elif "MUTANTS_ORDER" in os.environ:
        hypothesis.settings.register_profile("mutants", deadline=None)  # a busy machine finds no mutant
        hypothesis.settings.load_profile("mutants")
        files = (Path(os.environ[name]) for name in ("MUTANTS_ORDER", "MUTANTS_NOW"))
        config.pluginmanager.register(Order(*files, float(os.environ["MUTANTS_S"])), "mutants-order")
