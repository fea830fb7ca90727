"""Folder names from titles in any script: readable, safe, and different where titles are."""

from __future__ import annotations

import pytest

from holders.core.errors import InputError
from holders.preset.folder_name import slug_of


@pytest.mark.parametrize(
    ("title", "name"),
    [
        ("Low Weir 8x10", "low-weir-8x10"),
        ("Plaques d’été", "plaques-d-ete"),
        ("Größe 9×12", "grosse-9x12"),
        # Pinyin of these two signs: jiāo, piàn (GB/T 16159); Cyrillic and Greek letter by letter
        ("胶片 4×5", "jiao-pian-4x5"),
        ("Плёнка 8х10", "plenka-8kh10"),
        ("Φιλμ", "film"),
    ],
)
def test_a_title_in_any_script_gives_a_name_that_can_be_read(title: str, name: str) -> None:
    assert slug_of(title) == name


def test_where_a_letter_is_lost_the_name_ends_in_a_mark_of_the_whole_title() -> None:
    """Cuneiform has no transliteration here: two such titles, two names, each the same every time."""
    one, two = "\U00012000 weir", "\U00012001 weir"
    assert slug_of(one) != slug_of(two)
    assert slug_of(one).startswith("weir-")
    assert slug_of(one) == slug_of(one)
    assert slug_of("\U00012000").startswith("holder-")
    assert len(slug_of("\U00012000" + "w" * 79)) <= 60


@pytest.mark.parametrize("title", ["!!!", "–", "...", " "])
def test_what_holds_no_letter_names_no_folder(title: str) -> None:
    with pytest.raises(InputError, match="letter or digit"):
        slug_of(title)
