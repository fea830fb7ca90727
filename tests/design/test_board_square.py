"""Board is cut square: what set-back lower sheets do against shade, beside a cut at 45 degrees (docs/model.md)."""

from __future__ import annotations

from functools import cache
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.design.draft.places import Step
from holders.design.model import Design, Window
from holders.design.plan.relief import shaded_mm
from holders.design.resolve import design
from holders.facts.tables import bed, process
from holders.preset.load import load
from holders.preset.shipped import preset_path
from holders.study import job_of
from tests.presets_made import job

WHOLE, TWO = (3.04,), (1.42, 1.6)  # sheets of board, mm
LIP = 2.5  # of the shipped 8x10 in board
PAGE = Path(__file__).parents[2] / "docs" / "model.md"


def words() -> str:
    text = PAGE.read_text(encoding="utf-8")
    return " ".join(text.partition("## Board is cut square")[2].partition("\n## ")[0].split())


@cache
def strips(sheets: tuple[float, ...], film: str = "35mm-strip") -> Design:
    """As many strips as the lamp area takes, in mounting board."""
    return design(
        job(
            route="knife",
            material={"name": "mounting-board", "sheets_mm": list(sheets)},
            film={"format": film},
            layout={"count": "fill"},
            bed={"focus_height_mm": 3.1},
        )
    )


def worst(made: Design) -> Window:
    return max(made.windows, key=lambda window: max(window.shaded.left, window.shaded.right))


@pytest.mark.parametrize("sheets", [WHOLE, TWO])
def test_the_shade_is_that_of_the_ray_past_the_edge(sheets: tuple[float, ...]) -> None:
    """By hand: from the window's right edge to the lens over the middle, less what a lower sheet stands back."""
    made = strips(sheets)
    window = worst(made)
    slant = (bed("a4-wide").glass_width_mm / 2 - window.opening.right) / bed("a4-wide").lens_distance_mm
    top = sheets[0] if len(sheets) == 1 else sheets[0] + 0.05  # and the glue line
    low = sum(sheets) + 0.05 * (len(sheets) - 1)
    back = process("knife").relief_step_mm if len(sheets) == 2 else 0.0
    assert len(made.windows) == 5
    assert window.shaded.right == pytest.approx(max(top * slant, low * slant - back), abs=1e-6)
    assert window.shaded.left == 0.0


def test_the_numbers_of_the_page() -> None:
    for sheets, told in (
        (WHOLE, "{0:.2f} mm, of it {1:.2f} mm picture ({2:.1%} of"),
        (TWO, "it is {0:.2f} mm, of it {1:.2f} mm picture ({2:.1%})"),
    ):
        window = worst(strips(sheets))
        lost = window.shaded.right - (window.opening.right - window.picture.right)
        assert told.format(window.shaded.right, lost, 1 - window.seen).replace("%", " %") in words()
        assert 1 - window.seen == pytest.approx(lost / window.picture.width)
    assert f"stands {process('knife').relief_step_mm} mm back" in words()
    assert f"no land under it ({process('print').land_mm} mm printed)" in words()


def test_the_slanted_cut_takes_all_shade_and_all_of_a_sheets_lip() -> None:
    thick = WHOLE[0]
    assert shaded_mm([Step(thick, thick)], 0.99) == 0.0
    assert thick > LIP
    assert f"{thick} mm of a lip of {LIP} mm" in words()


@pytest.mark.parametrize("film", ["roll-6x9-single", "roll-645"])
@pytest.mark.parametrize("sheets", [WHOLE, TWO])
def test_roll_film_loses_nothing_of_its_picture(film: str, sheets: tuple[float, ...]) -> None:
    window = worst(strips(sheets, film))
    assert 0 < window.shaded.right < window.opening.right - window.picture.right
    assert window.seen == pytest.approx(1.0)


def test_the_shipped_board_shades_nothing() -> None:
    wanted, _ = job_of(load(preset_path(Path("8x10-mat-board"))))
    (window,) = design(wanted).windows
    assert window.lips.left == LIP
    assert window.shaded.left == window.shaded.right == 0.0
    assert window.seen == 1.0


def test_a_bevel_on_board_is_refused() -> None:
    board = {"name": "mat-board"}
    with pytest.raises(InputError) as refused:
        design(job(route="knife", material=board, lid={"bevel_mm": 2.0}))
    assert refused.value.field == "lid.bevel_mm"
    assert design(job(route="knife", material=board, lid={})).windows, "left out, as it says, it is made"
