"""Board is cut square: what the set-back lower sheets do against shade, beside a cut at 45 degrees (docs/model.md)."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.design.draft.places import Step
from holders.design.plan.relief import shaded_mm
from holders.design.resolve import design
from holders.facts.tables import bed, film_format, process
from holders.preset.load import load
from holders.preset.shipped import preset_path
from holders.study import job_of
from tests.presets_made import job

ROOT = Path(__file__).parents[2]
THICK, THIN, LIP = 3.04, 1.42, 2.5  # of the shipped mat board, mm


def words() -> str:
    text = (ROOT / "docs" / "model.md").read_text(encoding="utf-8")
    return " ".join(text.partition("## Board is cut square")[2].partition("\n## ")[0].split())


def slant() -> float:
    """Of the ray past the edge of an 8x10's window: sideways per height."""
    return (film_format("8x10").cut_width_mm / 2 - LIP) / bed("a4-wide").lens_distance_mm


def test_the_numbers_of_the_page() -> None:
    step, land = process("knife").relief_step_mm, process("print").land_mm
    film = film_format("8x10")
    clear = (film.cut_width_mm - film.image_width_mm) / 2 - LIP
    square = {
        thick: shaded_mm([Step(thick, 0.0), Step(thick + 1.5, step)], slant()) for thick in (THICK, THIN)
    }
    for told in (
        f"{square[THICK]:.2f} mm of film",
        f"1.42 mm shades {square[THIN]:.2f} mm",
        f"{clear:.1f} mm of clear border",
        f"hides up to {step / slant():.1f} mm of them",
        f"stand {step:.1f} mm back",
        f"no land ({land} mm printed)",
    ):
        assert told in words(), told
    assert square[THICK] < clear, "nothing of the picture is shaded, so nothing is there to win"
    assert shaded_mm([Step(THICK, THICK)], slant()) == 0.0, "45 degrees: no shade either"
    assert THICK > LIP, "and nothing of the lip at its underside"


def test_lower_sheets_add_no_shade_until_they_are_as_high_as_the_page_says() -> None:
    (most,) = re.findall(r"hides up to ([\d.]+) mm", words())
    step = process("knife").relief_step_mm
    for below, adds in ((float(most) - 0.1, False), (float(most) + 0.1, True)):
        both = shaded_mm([Step(THICK, 0.0), Step(THICK + below, step)], slant())
        assert (both > shaded_mm([Step(THICK, 0.0)], slant()) + 1e-9) == adds


def test_the_shipped_board_shows_all_of_its_picture() -> None:
    path = preset_path(Path("8x10-mat-board"))
    wanted, _ = job_of(load(path))
    (window,) = design(wanted).windows
    lip_mm, back_mm = window.wall[0]
    assert back_mm == 0.0
    assert window.wall[1][1] == process("knife").relief_step_mm
    lean = abs(wanted.bed.glass_width_mm / 2 - window.opening.x) / wanted.bed.lens_distance_mm
    assert window.shaded.left == pytest.approx(lip_mm * lean)
    assert 0 < window.shaded.left < window.picture.x - window.opening.x
    assert window.seen == 1.0


def test_a_bevel_on_board_is_refused() -> None:
    board = {"name": "mat-board"}
    with pytest.raises(InputError) as refused:
        design(job(route="knife", material=board, lid={"bevel_mm": 2.0}))
    assert refused.value.field == "lid.bevel_mm"
    assert design(job(route="knife", material=board, lid={})).windows, "left out, as it says, it is made"
