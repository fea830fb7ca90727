"""Where a frame's lettering stands: over no foot where it fits elsewhere, over one rather than nowhere."""

from __future__ import annotations

import math

import pytest

from holders.design.model import Design, Rect
from holders.design.parts.sections import groove_area
from holders.design.plan import lettering_place
from holders.design.resolve import design
from holders.preset.load import load
from holders.preset.resolve import resolve
from tests.presets_made import SHIPPED, job


def to_feet(made: Design, part: str) -> float:
    """From the lettering of a part to the nearest foot's rim, mm."""
    grooves = next(p for p in made.parts if p.name == part).grooves
    points = [p for groove in grooves for stroke in groove.strokes for p in stroke]
    assert points
    return min(math.dist(p, (f.x, f.y)) - f.diameter_mm / 2 for p in points for f in made.feet)


@pytest.mark.parametrize(
    "path", [p for p in SHIPPED if "[feet]" in p.read_text()], ids=lambda path: path.stem
)
def test_shipped_lettering_stands_over_no_foot(path: object) -> None:
    made = design(resolve(load(path)), uncut=True)  # type: ignore[arg-type]
    lettered = next(p.name for p in made.parts if p.grooves)
    assert to_feet(made, lettered) > 0


def test_where_feet_take_all_the_room_it_is_written_over_them(monkeypatch: pytest.MonkeyPatch) -> None:
    everywhere = lettering_place.free_strips
    monkeypatch.setattr(
        lettering_place,
        "free_strips",
        lambda shape, clear_of_feet=False: [] if clear_of_feet else everywhere(shape),
    )
    made = design(job(film={"format": "8x10"}, feet={"thickness_mm": 1.5, "diameter_mm": 12.0}))
    written = [g.text for p in made.parts for g in p.grooves if not g.fixed]
    assert len(written) == 3  # which side is up, the holder's code, film and height


def test_the_side_that_is_up_is_lettered_before_the_height(monkeypatch: pytest.MonkeyPatch) -> None:
    """With room for one text, it is the one that a wrong scan hangs on; the note names just what is missing."""
    everywhere = lettering_place.free_strips

    def one_short(shape: lettering_place.Shape, **_: bool) -> list[Rect]:
        strip = everywhere(shape)[0]
        return [Rect(strip.x, strip.y, min(80.0, strip.width), min(80.0, strip.height))]

    monkeypatch.setattr(lettering_place, "free_strips", one_short)
    made = design(job(film={"format": "8x10"}))
    texts = [groove.text for part in made.parts for groove in part.grooves if not groove.fixed]
    assert texts == ["this side up - emulsion down"]
    (note,) = [note for note in made.notes if "letter" in note]
    height = f"8x10  {made.heights.ledge_above_glass:.2f} mm over glass"
    assert f'"{height}"' in note
    assert "this side up" not in note


def test_the_lettered_height_is_above_the_glass() -> None:
    """Feet stand the ledge higher than its drawing from the underside: 1.5 mm feet set 1 mm deep lift it by 0.5."""
    made = design(job(film={"format": "8x10"}, feet={"thickness_mm": 1.5, "recess_mm": 1.0}))
    texts = [groove.text for part in made.parts for groove in part.grooves]
    assert f"8x10  {made.heights.ledge_height + 0.5:.2f} mm over glass" in texts


@pytest.mark.parametrize("path", SHIPPED, ids=lambda path: path.stem)
def test_no_lettering_is_written_over_another(path: object) -> None:
    made = design(resolve(load(path)), uncut=True)  # type: ignore[arg-type]
    for part in made.parts:
        areas = [groove_area(groove) for groove in part.grooves]
        for k, one in enumerate(areas):
            assert not any(one.buffer(0.5).intersects(other) for other in areas[k + 1 :]), part.name
