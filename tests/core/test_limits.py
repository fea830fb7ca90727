"""Limits are those that SECURITY.md tells, a process is bounded where it can be, and an error is one plain line."""

from __future__ import annotations

import pytest

from holders.core import bounds, limits, toml_text
from holders.core.errors import InputError, printable
from holders.core.findings import Finding, number_words
from holders.core.lengths import length_mm, measure
from tests.said_limits import said


@pytest.mark.parametrize(
    ("what", "kept"),
    [
        ("dots in a key of a preset or record", [toml_text.MOST_DOTS]),
        ("brackets nested in it", [toml_text.MOST_DEPTH]),
        ("characters of a bare key or a number", [toml_text.MOST_WORD]),
        ("keys of a preset", [toml_text.MOST_KEYS]),
        ("windows of one holder", [limits.MOST_WINDOWS]),
        (
            "windows in all changes that are tried for next steps",
            [limits.MOST_WINDOWS_TRIED, limits.MANY_WINDOWS],
        ),
        ("pieces of one part", [limits.MOST_PIECES]),
        ("seams of one part", [limits.MOST_SEAMS, limits.MOST_ROWS, limits.MOST_ROWS]),
        ("joints of one part, over all its seams", [limits.MOST_JOINTS]),
        ("pieces laid out on sheets at a time", [limits.MOST_NESTED]),
        ("files made on the page", [limits.PAGE_MAKE_S]),
        ("a command, or one order of a worker", [limits.ORDER_CPU_S]),
        ("memory of a process", [limits.MEMORY_BYTES]),
    ],
)
def test_what_is_kept_is_what_is_told(what: str, kept: list[float]) -> None:
    assert said(what) == kept


@pytest.mark.parametrize(("system", "memory", "time"), [("linux", True, True), ("darwin", False, True),
                                                        ("win32", False, False)])  # fmt: skip
def test_what_each_system_bounds(
    system: str, memory: bool, time: bool, monkeypatch: pytest.MonkeyPatch
) -> None:
    monkeypatch.setattr(bounds.sys, "platform", system)
    assert bounds.bounded_here() == (memory, time)
    if not memory:
        assert not bounds.bound_memory()  # it says so, and does not load what is not there
    if not time:
        with bounds.bounded_time(0):
            assert sum(range(1000)) == 499500  # no bound: the work goes on


@pytest.mark.parametrize(
    ("error", "words"),
    [
        (InputError("lip.left_mm", 0, "at least 1"), "lip.left_mm = 0: at least 1"),
        (InputError("lip", 0, "no", file="p.toml"), "p.toml: lip = 0: no"),
        (InputError("lip", 0, "no", file="p.toml", line=7), "p.toml, line 7: lip = 0: no"),
        (InputError("a\nb", "\x1b[2J", "no"), r"a\nb = \x1b[2J: no"),
    ],
)
def test_an_error_names_place_field_value_and_way_out_on_one_line(error: InputError, words: str) -> None:
    assert str(error) == error.message == words


def test_a_long_value_is_cut_and_of_a_path_its_end_stays() -> None:
    assert printable("x" * 80) == "x" * 80
    assert printable("x" * 81) == "x" * 79 + "…"
    path = "/" + "x" * 60 + "/" + "y" * 60
    assert printable(path) == path[:26] + "…" + "y" * 53
    assert printable(path.replace("/", "\\")) == "\\" + "x" * 25 + "…" + "y" * 53
    assert printable(3.5) == "3.5"
    assert printable("abcdef", 3) == "ab…"


def found(**more: object) -> Finding:
    row = {"code": "bow", "level": "pass", "title": "", "number": "its bow", "unit": "mm"}
    return Finding.model_validate(row | more)


@pytest.mark.parametrize(
    ("one", "words"),
    [
        (found(measured=1.0, limit=2.0), "its bow: 1 mm; good: at most 2 mm"),
        (found(measured=1.0, limit=2.0, number=""), "1 mm; good: at most 2 mm"),
        (found(measured=2.0, limit=2.0), "its bow: 2 mm; limit 2 mm"),
        (found(measured=1.0), "its bow: 1 mm"),
        (found(limit=2.0), "its bow: limit 2 mm"),
        (found(), ""),
        (found(measured=0.5, limit=0.25, unit="of the picture"), "its bow: 50 % of the picture; good: at least 25 %"),
        (found(measured=0.25, limit=0.5, unit="of the picture", level="stop"),
         "its bow: 25 % of the picture; good: at least 50 %"),
        (found(measured=69.9999999, limit=70.0, number="of 100", level="warn"), "70 of 100; good: 70 or more"),
        (found(measured=69.99, limit=70.0, number="of 100", level="warn"), "69 of 100; good: 70 or more"),
        (found(measured=95.2, limit=70.0, number="of 100"), "95 of 100"),
        (found(measured=100.04), "its bow: 100.0 mm"),
        (found(measured=99.96), "its bow: 100 mm"),
        (found(measured=-250.26), "its bow: -250.3 mm"),
    ],
)  # fmt: skip
def test_a_number_with_what_would_be_good(one: Finding, words: str) -> None:
    assert number_words(one) == words


@pytest.mark.parametrize(
    ("text", "mm"),
    [
        ("1/8 in", 3.175),
        ("1 1/2 inch", 38.1),
        ("-1 1/2 in", -38.1),
        ("+2,5 CM", 25.0),
        ("12 m", 12000.0),
        ("3/0", None),
        ("3/0 in", None),
        ("2 3.5", None),  # a whole number before a decimal one
        ("3 ft", None),
        ("", None),
        ("0" * 38 + "1m", None),
        (" " * 38 + "1m", 1000.0),
        (" " * 39 + "1m", None),  # 41 characters
        ("1234567890", None),  # ten digits
        ("123456789", 123456789.0),
        ("1.1234567891", None),
    ],
)
def test_a_length_is_read_or_it_is_none(text: str, mm: float | None) -> None:
    assert length_mm(text) == (None if mm is None else pytest.approx(mm, rel=1e-12))


@pytest.mark.parametrize(
    ("value", "decimals", "words"),
    [(3.0, 2, "3"), (3.10, 2, "3.1"), (3.146, 2, "3.15"), (-0.001, 2, "0"), (0.0, 0, "0"), (200.0, 0, "200"),
     (-0.2, 0, "0"), (0.126, 3, "0.126"), (-1.5, 1, "-1.5")],
)  # fmt: skip
def test_a_measure_has_no_needless_zeros(value: float, decimals: int, words: str) -> None:
    assert measure(value, decimals) == words
