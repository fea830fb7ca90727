"""How much of its tolerance each numerical comparison uses, and a refusal of those that use nearly all of it.

A comparison that needs 99 % of what it is allowed passes here and fails on the next processor. So ``pytest.approx``,
``np.testing.assert_allclose`` and ``within`` note how much they use while a test runs; in the folders of ``NUMERICAL``
a passing test fails if one uses more than ``MOST``. Where the outside value itself is off by a known amount (a table
rounded to two digits), ``known_offset`` around the comparison says by how much, and the test compares with the
converged value too. ``pytest --tolerance-use`` prints the list.
"""

from __future__ import annotations

import sys
from collections.abc import Iterator, Mapping
from contextlib import contextmanager
from pathlib import Path
from typing import Any

import numpy as np
import pytest

HERE = Path(__file__).resolve().parent
NUMERICAL = ("core", "facts", "film", "measure/curl", "measure/surface", "simulators", "verdict", "workshop")
MOST = 0.80


class Notes:
    """What the running test's comparisons used: (place, share, why it may be more than ``MOST``, or "")."""

    rows: list[tuple[str, float, str]] = []  # noqa: RUF012 - emptied before every test
    reason = ""


def _place() -> str:
    frame = sys._getframe(2)
    while frame is not None:
        path = Path(frame.f_code.co_filename)
        if path != Path(__file__) and path.is_relative_to(HERE):
            return f"{path.relative_to(HERE.parent)}:{frame.f_lineno}"
        frame = frame.f_back
    return "elsewhere"


def share_used(error: Any, allowed: Any) -> float:
    """The greatest |error| / allowed over all elements; nothing is used where the error is exactly 0."""
    error, allowed = np.broadcast_arrays(np.abs(np.asarray(error)), np.asarray(allowed, dtype=float))
    known = np.isfinite(error) & (error > 0)
    if not known.any():
        return 0.0
    with np.errstate(divide="ignore"):
        return float((error[known] / allowed[known]).max())


def note(error: Any, allowed: Any) -> None:
    Notes.rows.append((_place(), share_used(error, allowed), Notes.reason))


def within(error: Any, allowed: Any) -> bool:
    """Whether no element of ``error`` is larger than ``allowed``, with or without sign."""
    error = np.asarray(error, dtype=float)
    note(error, allowed)
    return bool((np.abs(error) <= allowed).all())


@contextmanager
def known_offset(reason: str) -> Iterator[None]:
    """Comparisons inside may use all of their tolerance: the outside value is off, by what ``reason`` says."""
    before, Notes.reason = Notes.reason, reason
    try:
        yield
    finally:
        Notes.reason = before


def _note_approx(
    actual: Any, expected: Any, rel: float | None, absolute: float | None, nan_ok: bool = False
) -> None:
    if isinstance(expected, Mapping):
        for key, value in expected.items():
            _note_approx(actual[key], value, rel, absolute)
        return
    try:
        a, e = np.asarray(actual, dtype=float), np.asarray(expected, dtype=float)
    except (TypeError, ValueError):
        return  # words and mixed nests are compared exactly
    relative = 0.0 if rel is None and absolute is not None else (1e-6 if rel is None else rel)
    with np.errstate(invalid="ignore"):
        note(a - e, np.maximum(relative * np.abs(e), 1e-12 if absolute is None else absolute))


def _noting_approx(plain: Any) -> Any:
    kinds: dict[type, type] = {}

    def approx(expected: Any, rel: Any = None, abs: Any = None, nan_ok: bool = False) -> Any:
        made = plain(expected, rel=rel, abs=abs, nan_ok=nan_ok)
        base = type(made)

        def equal(self: Any, actual: Any) -> bool:
            same = base.__eq__(self, actual)
            if same:
                _note_approx(actual, *self.noted)
            return bool(same)

        if base not in kinds:
            kinds[base] = type(base.__name__, (base,), {"__eq__": equal, "__hash__": None})
        made.__class__ = kinds[base]
        made.noted = (expected, rel, abs)
        return made

    return approx


def _noting_allclose(plain: Any) -> Any:
    def assert_allclose(actual: Any, desired: Any, rtol: float = 1e-7, atol: float = 0, **more: Any) -> None:
        plain(actual, desired, rtol=rtol, atol=atol, **more)
        with np.errstate(invalid="ignore"):
            note(np.asarray(actual) - np.asarray(desired), atol + rtol * np.abs(np.asarray(desired)))

    return assert_allclose


def listen() -> None:
    """Put the noting forms in place of ``pytest.approx`` and ``np.testing.assert_allclose``; once, before any test."""
    for folder in NUMERICAL:
        if not (HERE / folder).is_dir():
            raise pytest.UsageError(f"tests/{folder} is named in tests/tolerance.py but is not there")
    pytest.approx = _noting_approx(pytest.approx)
    np.testing.assert_allclose = _noting_allclose(np.testing.assert_allclose)


class Plugin:
    """Notes the comparisons of each test, refuses those on a knife's edge, prints the list if asked to."""

    def __init__(self, show: int) -> None:
        self.show = show

    @pytest.hookimpl(wrapper=True)
    def pytest_runtest_call(self, item: pytest.Item) -> Iterator[None]:
        Notes.rows, Notes.reason = [], ""
        yield
        most: dict[tuple[str, str], float] = {}
        for place, share, reason in Notes.rows:
            most[place, reason] = max(share, most.get((place, reason), 0.0))
        item.user_properties.append(
            ("tolerance", [(share, place, why) for (place, why), share in most.items()])
        )
        if not any(item.path.is_relative_to(HERE / folder) for folder in NUMERICAL):
            return
        edge = [f"{place} uses {100 * s:.0f} %" for (place, why), s in most.items() if s > MOST and not why]
        if edge:
            pytest.fail(
                f"of its tolerance, {'; '.join(edge)}: at most {100 * MOST:.0f} % (tests/tolerance.py)", False
            )

    def pytest_terminal_summary(self, terminalreporter: Any) -> None:
        if not self.show:
            return
        most: dict[tuple[str, str], float] = {}
        for reports in list(terminalreporter.stats.values()):
            for report in reports:
                for name, rows in getattr(report, "user_properties", ()):
                    for share, place, why in rows if name == "tolerance" else ():
                        most[place, why] = max(share, most.get((place, why), 0.0))
        terminalreporter.section(f"tolerance used, {len(most)} comparisons")
        for (place, why), share in sorted(most.items(), key=lambda row: -row[1])[: self.show]:
            terminalreporter.write_line(f"{100 * share:6.1f} %  {place}{'  ' + why if why else ''}")
