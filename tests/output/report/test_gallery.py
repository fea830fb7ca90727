"""The gallery is what its presets are today: sheets to the byte, the words of job sheets to the last digit told.

A number with decimals may differ by one in its last digit: another processor's arithmetic rounds it the other way.
"""

from __future__ import annotations

import re
from itertools import zip_longest
from pathlib import Path

import pytest

from scripts import gallery
from tests.kept import shipped_study
from tests.presets_made import SHIPPED

NUMBER = re.compile(r"-?\d+(?:\.\d+)?(?:e[+-]?\d+)?")
AGAIN = "run make gallery, and look at what has changed"


def last_digit(number: str) -> float:
    """What one in the last digit of a number stands for; 0 of a whole one, which counts something."""
    if "e" in number:
        return abs(float(number)) * 1e-6
    digits = len(number.partition(".")[2])
    return 10.0**-digits if digits else 0.0


def same(line: str, other: str) -> bool:
    """Whether two lines say the same."""
    if NUMBER.sub("#", line) != NUMBER.sub("#", other):
        return False
    pairs = zip(NUMBER.findall(line), NUMBER.findall(other), strict=True)
    return all(abs(float(a) - float(b)) <= 1.01 * max(map(last_digit, (a, b))) for a, b in pairs)


def test_a_digit_that_is_rounded_otherwise_is_the_same_and_two_are_not() -> None:
    assert same("sag 0.90 mm of 8x10", "sag 0.91 mm of 8x10")
    assert not same("sag 0.90 mm", "sag 0.92 mm")
    assert not same("sag 0.90 mm", "rise 0.90 mm")
    assert not same("3 feet", "4 feet")
    assert not same("3 feet", "3 feet, 4 stops")


@pytest.mark.parametrize("name", gallery.IN_WORDS)
def test_its_job_sheets_say_what_they_say_today(name: str) -> None:
    told = (gallery.PICTURES / f"{name}.txt").read_text(encoding="utf-8").splitlines()
    now = gallery.in_words(shipped_study(gallery.ROOT / "presets" / f"{name}.toml")).splitlines()
    assert [(a, b) for a, b in zip_longest(told, now, fillvalue="") if not same(a, b)] == [], AGAIN


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_its_sheets_are_those_of_the_preset(path: Path) -> None:
    stale = [
        name
        for name, data in gallery.drawings(path, shipped_study(path)).items()
        if (gallery.PICTURES / name).read_bytes() != data
    ]
    assert not stale, AGAIN
    assert (gallery.PICTURES / f"{path.stem}-film.svg").exists()


def test_its_page_and_the_readme_are_those_of_the_presets() -> None:
    for file, text in zip((gallery.PAGE, gallery.README), gallery.pages(shipped_study), strict=True):
        for told, now in zip_longest(file.read_text(encoding="utf-8").splitlines(), text.splitlines()):
            assert same(told or "", now or ""), f"{file.name}: {AGAIN}"


def test_nothing_else_lies_beside_it() -> None:
    wanted = {f"{path.stem}-{kind}.svg" for path in SHIPPED for kind in ("sheet", "plan", "film")}
    wanted |= {f"{name}.txt" for name in gallery.IN_WORDS}
    assert {path.name for path in gallery.PICTURES.iterdir()} == wanted
