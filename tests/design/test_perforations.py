"""Perforations lie on the ledge where a lip is left to the design, and are counted where they do not."""

from __future__ import annotations

from typing import Any

import pytest

from holders.design.draft.bed import margin_mm
from holders.design.draft.lips import Laid, holes_lit, laid, lips, usual_lip
from holders.preset.load import parse
from holders.preset.resolve import Job, resolve
from holders.preset.template import template

# holes from 2.01 to 4.804 mm from the edge of 34.98 mm film, whose picture of 24 mm leaves a border of 5.49 mm:
# ISO 1007 and SMPTE 139 (from memory); 24 mm: BKSTS Illustrated Dictionary, App. C (read)
END, BORDER = 4.804, 5.49


def strip(turn: str = "never", **lip: float) -> tuple[Job, Laid]:
    values: dict[str, Any] = {
        "title": "strips", "route": "print", "bed": {"name": "a4-wide"}, "film": {"format": "35mm-strip"},
        "material": {"name": "petg"}, "layout": {"turn": turn}, "lip": lip,
    }  # fmt: skip
    job = resolve(parse(template(values), "strips"))
    return job, laid(job.film, turn == "always")


@pytest.mark.parametrize(("turn", "long", "short"), [("never", "left", "head"), ("always", "foot", "right")])
def test_the_usual_lip_hides_every_hole_and_no_picture(turn: str, long: Any, short: Any) -> None:
    job, film = strip(turn)
    lip = usual_lip(job.film, job.preset, film, long)
    off = 0.15 + 0.3  # half the tolerance and the clearance of the pocket
    assert END + off - 0.05 <= lip <= BORDER
    assert lip == pytest.approx(5.3, abs=1e-9)  # 4.804 + 0.45, up to the next 0.05
    assert usual_lip(job.film, job.preset, film, short) < 2.1, "no holes along the cut ends"
    lit = holes_lit(job.film, film, lips(job, film), margin_mm(job.film, job.preset))
    assert (lit.left, lit.right, lit.head, lit.foot) == (0, 0, 0, 0)


@pytest.mark.parametrize(("lip", "lit"), [(3.0, END + 0.45 - 3.0), (1.5, 2.794), (5.25, 0.004), (5.3, 0.0)])
def test_what_a_lip_leaves_lit(lip: float, lit: float) -> None:
    job, film = strip(left_mm=lip)
    found = holes_lit(job.film, film, lips(job, film), margin_mm(job.film, job.preset))
    assert found.left == pytest.approx(lit, abs=1e-9)
    assert found.right == 0


def test_film_without_holes_keeps_its_usual_lip() -> None:
    values: dict[str, Any] = {
        "title": "sheet", "route": "print", "bed": {"name": "a4-wide"}, "film": {"format": "4x5"},
        "material": {"name": "petg"},
    }  # fmt: skip
    job = resolve(parse(template(values), "sheet"))
    film = laid(job.film, False)
    assert usual_lip(job.film, job.preset, film, "left") == 2.0
    assert holes_lit(job.film, film, lips(job, film), 0.5).left == 0
