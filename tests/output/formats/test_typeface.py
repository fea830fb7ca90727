"""What the typeface lacks comes from the spare font: in widths, in pictures and on the page."""

from __future__ import annotations

import base64
import io
import re

import pytest
from fontTools.ttLib import TTFont

from holders.face.page.assets import assets
from holders.output.draw.canvas import Picture
from holders.output.typeface import (
    BOLD,
    FAMILY,
    MONO,
    REGULAR,
    SPARE,
    face_rules,
    font_file,
    letters_of,
    runs,
    width,
)

MIXED = "Ø ⌀3 → ქ"  # a diameter sign and a Georgian letter, which the typeface does not have


def test_a_text_is_cut_where_the_typeface_lacks_a_letter() -> None:
    spare = SPARE[REGULAR]
    assert list(runs(MIXED, REGULAR)) == [
        (REGULAR, "Ø "),
        (spare, "⌀"),
        (REGULAR, "3 → "),
        (spare, "ქ"),
    ]
    assert list(runs("plain", BOLD)) == [(BOLD, "plain")]
    assert list(runs("plain ქ", MONO)) == [(MONO, "plain ქ")]  # it has no spare font
    assert list(runs("胶", REGULAR)) == [(REGULAR, "胶")]  # neither has it
    assert list(runs("", REGULAR)) == []


@pytest.mark.parametrize("bold", [False, True])
def test_widths_are_those_of_the_fonts_own_tables(bold: bool) -> None:
    name = BOLD if bold else REGULAR
    advances = 0.0
    for font, part in ((name, "Ø 3 → "), (SPARE[name], "⌀ქ")):
        with TTFont(str(font_file(font))) as face:
            letters, unit = face.getBestCmap(), face["head"].unitsPerEm
            advances += sum(face["hmtx"][letters[ord(char)]][0] / unit for char in part)
    assert width(MIXED, 10.0, bold) == pytest.approx(10 * advances, abs=0.02)


def test_a_picture_carries_the_letters_of_both() -> None:
    picture = Picture(60, 20, exact=True)
    picture.text((5, 10), MIXED, 4)
    svg = picture.svg("mixed", embed=True).decode()
    rules = re.findall(r'@font-face\{font-family:"([^"]+)"[^}]*?base64,([^"]+)"[^}]*\}', svg)
    assert [family for family, _ in rules] == [FAMILY, FAMILY]
    brought = [set(TTFont(io.BytesIO(base64.b64decode(data))).getBestCmap()) for _, data in rules]
    assert brought == [set(map(ord, "Ø 3→")), set(map(ord, "⌀ქ"))]
    assert "unicode-range:U+10E5,U+2300" in face_rules(MIXED)
    assert "unicode-range" not in face_rules("Ø 3")


def test_the_page_serves_the_same_fonts() -> None:
    for file, font in (("text.ttf", REGULAR), ("text-bold.ttf", BOLD), ("spare.ttf", SPARE[REGULAR])):
        assert assets()[file].data == font_file(font).read_bytes()
        assert ord("→") in letters_of(font)
