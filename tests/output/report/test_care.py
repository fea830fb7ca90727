"""The sheet says how the holder is kept clean: by its material, and by the glass in it."""

from __future__ import annotations

from pathlib import Path

import pytest

from holders.design.resolve import design
from holders.facts.tables import table
from holders.output.words.care import CLEANING, care_words
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of


def care(name: str) -> str:
    path = preset_path(Path(name))
    job = job_of(parse(path.read_text(), str(path)))[0]
    return " ".join(care_words(job.material, design(job, uncut=True)))


@pytest.mark.parametrize(
    ("name", "said", "not_said"),
    [
        ("8x10-acrylic-lid", ["Never alcohol", "below 71 °C"], ["tched glass", "hot water warps"]),
        ("5x7-glass-cover", ["tched glass", "clear skies", "hot water warps"], ["Never alcohol"]),
        ("4x5-two-glasses", ["tched glass"], []),
        ("8x10-wet-mount", ["a smear on it"], ["tched glass"]),
        ("50mm-mounts", ["Water swells it"], ["glass"]),
    ],
)
def test_care_goes_by_material_and_glass(name: str, said: list[str], not_said: list[str]) -> None:
    words = care(name)
    assert [text for text in (*said, "Static", "shed lint", "lying flat, dark") if text not in words] == []
    assert [text for text in not_said if text in words] == []


def test_every_family_of_material_has_its_way_of_cleaning() -> None:
    assert {row.family for row in table("materials")} == CLEANING.keys()  # type: ignore[attr-defined]
