"""Each scan's pocket, by one number, by the files' names or by a table, and only pockets that the holder has."""

from __future__ import annotations

from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.measure.session.pockets import pockets_of, read_pockets
from holders.measure.session.record import number_of


@pytest.mark.parametrize(
    ("file", "pocket"),
    [
        ("mill_p3_07.tif", 3), ("p2.tif", 2), ("mill-P4.tiff", 4), ("sheet 12 p1.png", 1), ("a.p3.b.tif", 3),
        ("p2_p2.tif", 2),
    ],
)  # fmt: skip
def test_a_name_says_the_pocket(file: str, pocket: int) -> None:
    assert pockets_of("names", 4).of(file) == pocket


@pytest.mark.parametrize(
    "file", ["mill_07.tif", "map3.tif", "mill_p3b_07.tif", "p1_p2.tif", "mill_p5.tif", "p0.tif"]
)
def test_a_name_without_one_pocket_of_this_holder_is_refused(file: str) -> None:
    with pytest.raises(InputError, match=file.replace(".", r"\.")):
        pockets_of("names", 4).of(file)


def test_no_sheet_is_numbered_after_its_pocket() -> None:
    named = pockets_of("names", 4)
    assert number_of(named.numbering("mill-07_p3.tif"), []) == 7
    assert number_of(named.numbering("p3.tif"), [1]) == 2
    assert pockets_of("2", 4).numbering("mill-07_p3.tif") == "mill-07_p3.tif"


def test_one_number_is_for_all_and_nothing_says_nothing() -> None:
    assert pockets_of("2", 4).of("any_p3.tif") == 2
    assert pockets_of(None, 4).of("any_p3.tif") is None
    for asked in ("5", "0", "-1"):
        with pytest.raises(InputError, match="pockets 1 to 4"):
            pockets_of(asked, 4)
    with pytest.raises(InputError, match="one pocket, number 1"):
        pockets_of("2", 1)


@pytest.mark.parametrize(
    "text",
    ["file,pocket\na.tif,1\nb.tif,2\n", "\ufeffpocket;file;note\r\n1;a.tif;x\r\n\r\n2;b.tif;\r\n",
     "number\tFile\tPocket\n1\ta.tif\t 1\n2\tb.tif\t2"],
)  # fmt: skip
def test_a_table_gives_each_its_own(text: str, tmp_path: Path) -> None:
    table = tmp_path / "pockets.csv"
    table.write_text(text, encoding="utf-8", newline="")
    found = pockets_of(str(table), 2)
    assert [found.of(file) for file in ("a.tif", "b.tif")] == [1, 2]
    with pytest.raises(InputError, match="no line for it"):
        found.of("c.tif")


@pytest.mark.parametrize(
    ("text", "words"),
    [
        ("", "names no file and pocket"),
        ("file,side\na.tif,1\n", "names no file and pocket"),
        ("file,pocket\na.tif\n", "line 2"),
        ("file,pocket\na.tif,1\nb.tif,two\n", "line 3"),
        ("file,pocket\na.tif,1\nb.tif,3\n", "line 3.*pockets 1 to 2"),
        ("file,pocket\na.tif,1\na.tif,2\n", "line 3.*another pocket"),
        ('file,pocket\n"a.tif,1\n', "is no table"),
    ],
)
def test_a_table_that_is_none_is_refused_with_its_line(text: str, words: str, tmp_path: Path) -> None:
    table = tmp_path / "pockets.csv"
    table.write_text(text)
    with pytest.raises(InputError, match=words):
        read_pockets(table, 2)


def test_a_file_that_is_not_there_or_no_text_is_refused(tmp_path: Path) -> None:
    with pytest.raises(InputError, match="no such file"):
        pockets_of(str(tmp_path / "none.csv"), 2)
    (tmp_path / "b.csv").write_bytes(b"\xff\xfe\x00")
    with pytest.raises(InputError, match="UTF-8"):
        pockets_of(str(tmp_path / "b.csv"), 2)
