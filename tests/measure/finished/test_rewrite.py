"""One number changed in a preset's text; everything else stays to the byte."""

from __future__ import annotations

import tomllib

import pytest
from hypothesis import given
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.measure.finished.rewrite import with_number

TEXT = """# mine
title = "a"  # t

[bed]   # the flatbed
name = "x"
focus_height_mm = 3.1   # measured # twice
 indented = 1

# about the film
[film]
focus_height_mm = 9.0
"""


def test_the_value_changes_and_its_comment_stays() -> None:
    out = with_number(TEXT, "bed", "focus_height_mm", 2.65, ["was 3.1", "by a scan"])
    assert "# was 3.1\n# by a scan\nfocus_height_mm = 2.65   # measured # twice\n" in out
    assert tomllib.loads(out)["bed"]["focus_height_mm"] == 2.65
    assert tomllib.loads(out)["film"]["focus_height_mm"] == 9.0
    assert out.replace("# was 3.1\n# by a scan\n", "").replace("2.65", "3.1") == TEXT


def test_a_missing_key_is_added_to_its_table_before_the_next_ones_comment() -> None:
    out = with_number(TEXT, "bed", "focus_sigma_mm", 0.05)
    assert " indented = 1\nfocus_sigma_mm = 0.05\n\n# about the film\n" in out
    assert tomllib.loads(out)["bed"]["focus_sigma_mm"] == 0.05


@pytest.mark.parametrize("text", ["[bed]", "[bed]\nname = 1", '["bed"]\nname = 1\n'])
def test_a_table_at_the_files_end(text: str) -> None:
    assert tomllib.loads(with_number(text, "bed", "k", 2.5, ["n"]))["bed"]["k"] == 2.5


def test_line_endings_stay() -> None:
    text = TEXT.replace("\n", "\r\n")
    for key in ("focus_height_mm", "new"):
        out = with_number(text, "bed", key, 1.5, ["n"])
        assert "\n" not in out.replace("\r\n", "")
        assert tomllib.loads(out)["bed"][key] == 1.5


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ('bed = { name = "x" }\n', r"\[bed\]"),
        ("bed.name = 1\n", r"\[bed\]"),
        ("", r"\[bed\]"),
        ("[bed]\nk = [1.0,\n 2.0]\n", "plain number"),
        ('[bed]\nk = "three"\n', "plain number"),
    ],
)
def test_what_is_not_understood_is_refused(text: str, words: str) -> None:
    with pytest.raises(InputError, match=words):
        with_number(text, "bed", "k", 1.0)


@given(
    old=st.floats(-1e3, 1e3, allow_nan=False).map(lambda v: f"{v:.4g}"),
    new=st.floats(0.01, 1e3).map(lambda v: round(v, 2)),
    comment=st.text(st.characters(blacklist_categories=["Cs", "Cc", "Zl", "Zp"]), max_size=20),
)
def test_any_number_comes_back(old: str, new: float, comment: str) -> None:
    # "7." and "1e+02" with a bare exponent are not what people write for millimetres, but TOML allows the latter
    text = f"[a]\nk = 1\n[bed]\nk = {old}  # {comment}\nz = 2\n"
    tomllib.loads(text)
    out = with_number(text, "bed", "k", new)
    assert tomllib.loads(out) == {"a": {"k": 1}, "bed": {"k": pytest.approx(new, rel=1e-5), "z": 2}}
    assert f"  # {comment}\n" in out
