"""Room to slide: a narrower frame, a spacer for normal use, and the words that say how."""

from __future__ import annotations

from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.design.model import Role
from holders.design.plan.anchor import holding, rim_gap_mm, slide_words
from holders.design.plan.layout import lay_out
from holders.design.resolve import design
from holders.output.sheet.loading import section
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.resolve import Job, resolve

PRESETS = Path(__file__).parents[2] / "presets"


def job(name: str, **layout: object) -> Job:
    text = (PRESETS / f"{name}.toml").read_text(encoding="utf-8")
    return resolve(parse(with_values(text, {f"layout.{k}": v for k, v in layout.items()}), name))


def test_the_frame_is_narrower_by_the_room_and_a_spacer_keeps_it_in_the_middle() -> None:
    plain, roomy = design(job("5x7-printed")), design(job("5x7-printed", shift_room_mm=30.0))
    assert plain.outer.width - roomy.outer.width == pytest.approx(30.0)
    assert roomy.windows[0].opening == plain.windows[0].opening  # under the same lamp, over the same lens
    (spacer,) = [part for part in roomy.parts if part.role is Role.STOP]
    x0, _, x1, _ = spacer.box
    assert x1 - x0 == pytest.approx(rim_gap_mm(roomy.glass, roomy.outer, "left"))
    assert "spacer" in spacer.title
    assert holding(roomy)[0] == "left"
    assert not [part for part in plain.parts if part.role is Role.STOP]


def test_the_job_sheet_says_how_to_slide_it() -> None:
    roomy = job("5x7-printed", shift_room_mm=30.0)
    made = design(roomy)
    words = slide_words(roomy.preset, made)
    assert 'Take "stop left" out' in words
    assert "31 mm" in words  # the room and the gap at either rim
    assert any(words in str(block) for block in section(roomy, made).blocks)
    plain = job("5x7-printed")
    assert slide_words(plain.preset, design(plain)) == ""


def test_film_as_wide_as_the_bed_is_refused_with_what_would_do() -> None:
    with pytest.raises(InputError, match=r"leave out layout\.shift_room_mm"):
        design(job("8x10-printed", shift_room_mm=10.0))
    with pytest.raises(InputError, match=r"set layout\.shift_room_mm = (\d+) or less") as error:
        design(job("5x7-printed", shift_room_mm=90.0))
    most = float(str(error.value).split("shift_room_mm = ")[1].split()[0])
    lay_out(job("5x7-printed", shift_room_mm=most))
    with pytest.raises(InputError, match=r"film\.format"):
        lay_out(job("5x7-printed", shift_room_mm=most + 1))
    with pytest.raises(InputError, match=r"layout\.shift_room_mm"):
        design(job("5x7-printed", shift_room_mm=30.0, outer_width_mm=214.0))
