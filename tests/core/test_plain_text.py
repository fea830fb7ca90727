"""No character of a file reaches the terminal raw, and none that could forge a line is let in when it is read."""

from __future__ import annotations

import json
import os
import subprocess
import sys
import unicodedata
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.core.plain_text import BIDI, escaped, forbidden
from holders.face.page.form.values import Refused, preset_of
from holders.measure.bed.record import load_record
from holders.measure.curl.record import load_film_record
from holders.preset.load import parse
from tests.face.page.pages import PRINTED

ROOT = Path(__file__).parents[2]
CONTROLS = [chr(c) for c in (*range(0x20), 0x7F, *range(0x80, 0xA0))]  # C0, DEL, C1: ECMA-48
ENDS = ["\u2028", "\u2029", "\ufeff", "\ufffe", "\uffff"]
EVERY = [*CONTROLS, *sorted(BIDI), *ENDS]
LINES = ("\n", "\t")
PRESET = (ROOT / "presets" / "8x10-printed.toml").read_text(encoding="utf-8")
MEASURED = (
    "[[measured]]\nx_mm = 1.0\ny_mm = 1.0\nheight_mm = 2.0\nsigma_mm = 0.1\ndate = 2026-11-25\ndpi = 2400.0\n"
)
CURL = "[[measured]]\ndate = 2026-11-25\nacross_per_m = 1.0\nacross_sigma_per_m = 0.1\n"


def escape(char: str) -> str:
    return f"\\u{ord(char):04x}"


def with_key(key: str, value: str) -> str:
    """The shipped preset with a text in basic quotes."""
    kept = [line for line in PRESET.splitlines() if not line.startswith(f"{key} =")]
    return "\n".join([f'{key} = "{value}"', *kept])


@pytest.mark.parametrize("char", EVERY, ids=escape)
def test_no_title_of_a_preset_holds_it(char: str) -> None:
    with pytest.raises(InputError) as refused:
        parse(with_key("title", f"Low {escape(char)} Weir"), "p.toml")
    assert refused.value.field == "title"
    assert refused.value.line is not None
    assert f"U+{ord(char):04X}" in refused.value.way_out
    assert refused.value.message.isprintable()


@pytest.mark.parametrize("char", EVERY, ids=escape)
def test_a_note_holds_lines_and_tabs_and_nothing_else_of_them(char: str) -> None:
    text = with_key("note", f"one{escape(char)}two")
    if char in LINES:
        assert parse(text, "p.toml").note == f"one{char}two"
        return
    with pytest.raises(InputError, match="note"):
        parse(text, "p.toml")


@pytest.mark.parametrize("char", ["\x1b", "\n", "\u009b", "\u202e"], ids=escape)
def test_no_record_s_note_holds_it(char: str, tmp_path: Path) -> None:
    path = tmp_path / "record.toml"
    for load, rows in ((load_record, MEASURED), (load_film_record, CURL)):
        path.write_text(f'{rows}note = "a{escape(char)}b"\n', encoding="utf-8")
        with pytest.raises(InputError) as refused:
            load(path)
        assert "note" in refused.value.field
        assert refused.value.message.isprintable()
        path.write_text(f'{rows}note = "by the window, Плёнка"\n', encoding="utf-8")
        assert load(path).measured[0].note == "by the window, Плёнка"


@pytest.mark.parametrize("char", ["\x1b", "\n", "\u202e"], ids=escape)
def test_the_page_s_form_is_read_by_the_same_rule(char: str) -> None:
    with pytest.raises(Refused) as refused:
        preset_of({**PRINTED, "title": f"a{char}b"})
    assert refused.value.errors[0].field == "title"


@pytest.mark.parametrize(
    "text",
    ["Плёнка 8х10", "胶片 4×5", "φιλμ", "naïve – “quoted” …", "مثال", "می\u200cخواهم", "👩\u200d🔬 film"],
)
def test_letters_of_every_script_stay(text: str) -> None:
    """The joiners (U+200C, U+200D) are part of Persian and of some signs: Unicode 16, chapter 23.2."""
    assert forbidden(text) is None


def test_what_reaches_a_terminal_is_printable_whatever_it_was() -> None:
    for code in range(0x3000):
        shown = escaped(chr(code))
        assert shown == "\n" or shown.isprintable()
        assert all(unicodedata.category(c) not in ("Cc", "Cs", "Zl", "Zp") for c in shown if c != "\n")


@pytest.mark.parametrize("command", ["check", "make"])
def test_no_command_lets_a_control_byte_through(command: str, tmp_path: Path) -> None:
    """Also where the text comes by another way: the name of the file itself."""
    path = tmp_path / "we\x1b[31mir.toml"
    path.write_text(with_key("title", "x\\u001b]0;owned\\u0007"), encoding="utf-8")
    done = subprocess.run(
        [sys.executable, "-m", "holders", command, str(path)],
        cwd=ROOT,
        env={**os.environ, "OMP_NUM_THREADS": "1"},
        capture_output=True,
        check=False,
    )
    assert done.returncode == 2
    said = (done.stdout + done.stderr).decode("utf-8")
    assert [c for c in said if unicodedata.category(c) == "Cc" and c != "\n"] == []
    assert json.dumps(said).count("owned") == 1


def test_a_forbidden_sign_is_found_after_a_line_end_as_well() -> None:
    assert forbidden("one\ntwo\tthree\x1b", lines=True) == "\x1b"
    assert forbidden("one\ntwo", lines=True) is None
    assert forbidden("one\ntwo") == "\n"
