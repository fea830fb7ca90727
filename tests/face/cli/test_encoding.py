"""Text output under the encodings of Windows: code page 1252 (western Europe), 437 (the older console) and ASCII.

The code pages are Python's own codecs, which follow the Unicode Consortium's mapping tables.
"""

from __future__ import annotations

import os
import subprocess
import sys
from pathlib import Path

import pytest

from holders.core.safe_text import SUBSTITUTES, substitute

ROOT = Path(__file__).parents[3]
ENCODINGS = ("cp1252", "cp437", "ascii")


def redirected(encoding: str, *arguments: str, cwd: Path = ROOT) -> subprocess.CompletedProcess[bytes]:
    return subprocess.run(
        [sys.executable, "-m", "holders", *arguments],
        capture_output=True,
        check=False,
        cwd=cwd,
        env={**os.environ, "PYTHONIOENCODING": encoding, "PYTHONUTF8": "0"},
    )


# with next steps, and with a plate of glass, which is checked sooner
@pytest.mark.parametrize(
    ("encoding", "preset", "title"),
    [
        ("cp1252", "8x10-mat-board", "8x10 mat board"),
        ("cp437", "whole-plate-glass", "whole plate"),
        ("ascii", "whole-plate-glass", "whole plate"),
    ],
)
def test_a_redirected_check_of_everything_comes_through(encoding: str, preset: str, title: str) -> None:
    done = redirected(encoding, "check", preset, "--all")
    assert done.returncode == 0, done.stderr
    assert b"Traceback" not in done.stderr
    words = done.stdout.decode(encoding)  # strictly: not one byte outside the encoding
    assert "\\u" not in words  # each sign that we write ourselves has a substitute
    assert title in words.lower()
    assert ("±" in words) == (encoding != "ascii")  # both code pages have it
    assert ("+/-" in words) == (encoding == "ascii")


def test_a_batch_and_its_progress_come_through(tmp_path: Path) -> None:
    encoding = "cp437"
    text = (ROOT / "presets" / "whole-plate-glass.toml").read_text(encoding="utf-8")
    for name in ("łąka-≥", "水"):
        (tmp_path / f"{name}.toml").write_text(
            text.replace('title = "', f'title = "{name} '), encoding="utf-8"
        )
    presets = sorted(str(path) for path in tmp_path.glob("*.toml"))
    assert len(presets) == 2
    done = redirected(encoding, "make", *presets, "--no-steps", "--out", str(tmp_path / "out"), cwd=ROOT)
    assert b"Traceback" not in done.stderr
    assert done.returncode == 0, done.stderr
    assert "designed and checked 2 of 2" in done.stderr.decode(encoding)
    assert "\\u6c34" in done.stdout.decode(encoding)  # 水: no substitute, so its code


@pytest.mark.parametrize("encoding", ENCODINGS)
def test_a_refusal_comes_through(encoding: str, tmp_path: Path) -> None:
    done = redirected(encoding, "check", str(tmp_path / "≥水.toml"))
    assert done.returncode == 2
    assert b"Traceback" not in done.stderr
    assert b"there is no such file" in done.stderr


@pytest.mark.parametrize("what", ["formats", "materials", "checks"])
def test_listings_come_through(what: str) -> None:
    done = redirected("cp437", "list", what)
    assert done.returncode == 0, done.stderr
    assert "\\u" not in done.stdout.decode("cp437")


def test_substitutes_are_ascii_and_needed() -> None:
    for sign, words in SUBSTITUTES.items():
        assert words.isascii()
        assert not sign.isascii()
    assert substitute("é") == "e"
    assert substitute("水") == "\\u6c34"
    assert substitute("⠋") == "*"
