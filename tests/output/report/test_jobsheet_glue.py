"""The job sheet tells what a cut ledge is made of: its sheets and the glue between them."""

from __future__ import annotations

from typing import Any

import pytest

from holders.output.sheet import numbers
from holders.output.sheet.blocks import Table
from holders.preset.schema import Preset
from holders.study import Study, study
from tests.presets_made import changed


def made(sheets: list[float], **more: Any) -> Study:
    material = {"name": "mounting-board", "sheets_mm": sheets, **more}
    bed = {"name": "a4-wide", "focus_height_mm": 3.0}
    return study(Preset.model_validate(changed(route="knife", material=material, bed=bed)))


def rows(found: Study) -> dict[str, tuple[str, str]]:
    table = numbers.section(found.job, found.design, found.film).blocks[0]
    assert isinstance(table, Table)
    return {str(name): (str(value), str(remark)) for name, value, remark in table.rows}


@pytest.mark.parametrize(
    ("sheets", "pile", "glue", "where"),
    [
        ([1.45], "1.45 + 1.45 mm", "0.1 mm", "0.1 mm, at most 0.04 mm more or less, at the one joint"),
        (
            [0.95],
            "0.95 + 0.95 + 0.95 mm",
            "0.2 mm",
            "0.1 mm, at most 0.04 mm more or less, at each of 2 joints",
        ),
    ],
)
def test_sheets_and_glue_stand_below_the_ledge(sheets: list[float], pile: str, glue: str, where: str) -> None:
    found = rows(made(sheets, glue_line_mm=0.1))
    assert found["sheets below the ledge, from the glass up"][0] == pile
    assert found["glue in the ledge"][0] == glue
    assert found["glue in the ledge"][1].startswith(where)


def test_one_sheet_has_no_glue_and_a_print_no_sheets() -> None:
    single = rows(made([3.0]))
    assert single["sheets below the ledge, from the glass up"][0] == "3 mm"
    assert "glue in the ledge" not in single
    printed = rows(study(Preset.model_validate(changed())))
    assert not any("sheets" in name or "glue" in name for name in printed)
