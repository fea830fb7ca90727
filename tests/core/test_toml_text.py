"""A TOML text from a stranger is bounded before it is parsed; honest ones are read as the standard library does."""

from __future__ import annotations

import time
import tomllib
from pathlib import Path

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.core.toml_text import TooDeep, bound, parsed
from holders.preset.load import parse
from holders.preset.places import line_of

ROOT = Path(__file__).parents[2]
KIB = 1024
DEEP = {
    "dots": "a" + ".a" * 32_000 + "=1",
    "dots with spaces": "a" + " . a" * 16_000 + "=1",
    "quoted dots": '"a"' + '."a"' * 16_000 + "=1",
    "single quotes": "'a'" + ".'a'" * 16_000 + "=1",
    "a header": "[a" + ".a" * 32_000 + "]",
    "an array of tables": "[[a" + ".a" * 32_000 + "]]",
    "inside an inline table": "x = {a" + ".a" * 32_000 + "=1}",
    "behind a string with a comment sign": 'n = "#"\na' + ".a" * 32_000 + "=1",
    "behind a long string with quotes": 'n = """ "" # """\na' + ".a" * 32_000 + "=1",
    "brackets": "x = " + "[" * 32_000,
    "braces": "x = " + "{a=" * 16_000,
    "one long key": "a" * 64_000 + "=1",
    "a number": "x = " + "9" * 64_000,
    "many keys": "\n".join(f"k{n}=1" for n in range(6000)),
    "many headers": "[a]\n" * 16_000,
}


@pytest.mark.parametrize("text", DEEP.values(), ids=DEEP)
def test_too_deep_long_or_many_is_refused_before_it_is_parsed(text: str) -> None:
    start = time.process_time()
    with pytest.raises(TooDeep):
        bound(text)
    with pytest.raises(InputError) as refused:
        parse(text, "weir.toml")
    assert "flat" in refused.value.way_out
    assert time.process_time() - start < 2.0


UNEVEN = {
    "spaces before a header's end": "[" + " " * 60_000,
    "spaces in a header": "x = 1\n[" + "a " * 30_000,
    "spaces before an equals sign": "a" + " " * 60_000,
    "quotes": '"' * 60_000,
    "backslashes": 'x = "' + "\\" * 60_000,
    "triple quotes that never end": 'x = """' + '" "" ' * 12_000,
    "single quotes": "'" * 60_000,
}


@pytest.mark.parametrize("text", UNEVEN.values(), ids=UNEVEN)
def test_time_grows_with_the_length_alone(text: str) -> None:
    """A search that goes back over what it has read would take minutes for these."""
    start = time.process_time()
    with pytest.raises(InputError):
        parse(text, "weir.toml")
    line_of(text, ["film", "format"])
    assert time.process_time() - start < 2.0


def test_every_shipped_preset_and_odd_but_honest_toml_is_read_as_the_library_reads_it() -> None:
    for path in sorted((ROOT / "presets").glob("*.toml")):
        text = path.read_text(encoding="utf-8")
        assert parsed(text) == tomllib.loads(text)
    odd = "a.b.c = 1\n[x.'y.z'.\"q\"]\nn = '''a.a.a.a.a.a.a.a.a.a.a.a'''\nm = [[1, 2], [3]] # a.a.a.a.a.a.a.a.a.a.a\n"
    assert parsed(odd) == tomllib.loads(odd)


@given(st.text(alphabet="ab.=[]{}\"'#\\ \n1,", max_size=200))
def test_what_passes_is_exactly_what_the_library_says(text: str) -> None:
    """Nothing is changed on the way: same document, or the library's own refusal."""
    try:
        bound(text)
    except TooDeep:
        return
    try:
        wanted = tomllib.loads(text)
    except tomllib.TOMLDecodeError:
        with pytest.raises(tomllib.TOMLDecodeError):
            parsed(text)
        return
    assert parsed(text) == wanted
    assert _depth(wanted) <= 40


def _depth(value: object) -> int:
    inner = value.values() if isinstance(value, dict) else value if isinstance(value, list) else ()
    return 1 + max((_depth(one) for one in inner), default=0)


def test_a_key_may_have_eight_dots_and_no_more() -> None:
    assert parsed(".".join("abcdefghi") + " = 1")
    with pytest.raises(TooDeep, match="more than 8 dots"):
        parsed(".".join("abcdefghij") + " = 1")
