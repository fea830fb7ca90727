"""Whose scanner a preset speaks of: a shipped one's is nobody's."""

from __future__ import annotations

import pytest

from holders.face.page.work.answers import _example
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.preset.shipped import is_example, shipped_paths
from holders.study import study


@pytest.mark.parametrize("path", shipped_paths(), ids=lambda path: path.stem)
def test_every_shipped_preset_is_an_example_until_its_scanner_is_another(path) -> None:  # type: ignore[no-untyped-def]
    preset = resolve(load(path)).preset
    told = preset.bed.model_dump()
    assert is_example(preset.title, told)
    assert not is_example(preset.title, told | {"focus_height_mm": 2.87})
    assert not is_example("my own", told)


def test_the_page_says_whose_scanner_the_number_is_for() -> None:
    found = study(load(next(path for path in shipped_paths() if path.stem == "8x10-mat-board")))
    preset = found.job.preset
    assert _example(preset, found.job.bed, found.design).startswith(
        "This number is an example's: for a scanner that is sharpest 3.1 ± 0.05 mm above its glass"
    )
    mine = preset.model_copy(update={"bed": preset.bed.model_copy(update={"focus_sigma_mm": 0.03})})
    assert _example(mine, found.job.bed, found.design) == ""
