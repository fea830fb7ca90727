"""Laws of open ends: the film's way is free from its window to the outside, and carried all along."""

from __future__ import annotations

from pathlib import Path
from typing import Any

import pytest
import shapely

from holders.core.errors import InputError
from holders.design.held.film_in_holder import designed
from holders.design.model import Design, Rect
from holders.design.parts.opened import opened
from holders.design.parts.sections import area_of, section
from holders.design.parts.volume import part_volume
from holders.design.resolve import design
from holders.fittings.roll.kind import allowed
from holders.fittings.roll.passed import OpenEnds
from holders.fittings.roll.table import Roll
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from holders.preset.tables.plain import table_of
from holders.solid.build import build
from holders.solid.surfaces import volume as solid_volume
from tests.presets_made import job

PRESET = Path(__file__).parent.parent.parent / "presets" / "35mm-roll.toml"
STRIP: dict[str, Any] = {
    "film": {"format": "35mm-strip-5"},
    "layout": {"turn": "always"},
    "roll": {"frames": 36},
}


def box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


def keep_roll_laws(made: Design) -> None:
    """No wall stands in the film's way above the ledge, and the floor carries it right below."""
    ends = made.find(OpenEnds)
    assert ends is not None
    (frame,) = [part for part in made.parts if part.in_frame]
    ledge = made.heights.drawn_ledge
    above = [ledge + share * made.pocket_depth for share in (0.01, 0.5, 0.75)]
    floor = section(frame, ledge - 0.05)
    for slot, tail in zip(ends.slots, ends.tails, strict=True):
        for z in above:
            assert section(frame, z).intersection(box(slot)).area < 1e-6
        assert box(slot.grown(1.0)).contains(box(tail))  # the pocket is a little longer than the film
        assert floor.intersection(box(tail)).area == pytest.approx(box(tail).area, rel=1e-6)
    assert floor.geom_type == "Polygon"  # one piece holds all rails together
    # the drawings' slabs are the part's sections
    for z in above:
        drawn = shapely.union_all([area_of(s.region) for s in opened(frame) if s.z0 < z < s.z1])
        assert drawn.symmetric_difference(section(frame, z)).area < 0.05


@pytest.mark.parametrize(
    "keys",
    [
        {},
        {"roll": {"ends": "near"}},
        {"roll": {"ends": "far"}},
        {"lid": {"thickness_mm": 5.0, "play_mm": 0.0}},
        {"layout": {"turn": "always", "count": 3}},
        {"film": {"format": "roll-6x6"}, "roll": {"frames": 12}},
        {"film": {"format": "35mm-strip"}, "layout": {"turn": "never"}, "roll": {"ends": "far"}},
    ],
)
def test_the_way_is_free_and_carried(keys: dict[str, Any]) -> None:
    merged = {**STRIP, **keys}
    if "roll" in keys:
        merged["roll"] = {**STRIP["roll"], **keys["roll"]}
    keep_roll_laws(design(job(**merged)))


def test_the_shipped_roll() -> None:
    wanted: Job = resolve(load(PRESET))
    made, film = designed(wanted)
    keep_roll_laws(made)
    ends = made.find(OpenEnds)
    assert ends is not None
    assert (ends.passes, ends.shown) == (8, 5)  # 38 frames by fives: seven times five, and three
    assert "8 scans of 5 frames, 3 in the last" in ends.notes()[0]
    assert film.sheet is not None
    assert film.sheet.curl_x_per_m == 2.0  # along the film, which lies across the bed
    assert not any(way.overlaps(made.calibration) for way in ends.ways if made.calibration is not None)


def test_no_thumb_opening_lies_below_the_films_way() -> None:
    """Finger notches, and the openings below a lid's tab, stay off the open ends."""
    lay = {"turn": "always", "count": "fill"}
    wide = job(film={"format": "roll-6x6"}, layout=lay, lid={"thickness_mm": 2.0}, roll={"frames": 12})
    made = design(wide)
    keep_roll_laws(made)
    assert all(grip.edge in ("head", "foot") for grip in made.windows[0].grips or ())


def test_one_end_alone_is_open() -> None:
    made = design(job(**{**STRIP, "roll": {"frames": 36, "ends": "near"}}))
    ends = made.find(OpenEnds)
    assert ends is not None
    assert ends.edges == ("left",)
    (frame,) = [part for part in made.parts if part.in_frame]
    wall = section(frame, made.heights.drawn_ledge + 1.0)
    pocket = made.windows[0].pocket
    assert wall.contains(shapely.Point(pocket.right + 1.0, pocket.y + 2.0))


def test_the_solid_is_open_too() -> None:
    """The kernel's solid is one piece, and as large as the sections say."""
    made = design(job(**STRIP))
    (frame,) = [part for part in made.parts if part.in_frame]
    assert solid_volume(build(frame)) == pytest.approx(part_volume(frame), rel=1e-4)


@pytest.mark.parametrize(
    ("keys", "field"),
    [
        ({"film": {"format": "4x5"}}, "roll"),
        ({"roll": {"frames": 4}}, "roll.frames"),
        ({"wet": {"rim_mm": 8.0}}, "roll"),
        (
            {
                "carrier": {"insert_width_mm": 208.0, "insert_length_mm": 60.0},
                "film": {"format": "35mm-strip-4"},
            },
            "roll",
        ),
        ({"cover": {"thickness_mm": 2.0, "catches": 0}, "lip": {"all_mm": 2.5}}, "cover"),
        ({"route": "laser", "material": {"name": "acrylic-cast", "sheets_mm": [1.5, 2.0, 3.0]}}, "roll"),
        (
            {
                "bed": {"name": "a3"},
                "film": {"format": "35mm-strip-4"},
                "layout": {"turn": "never", "count": "fill"},
            },
            "roll.ends",
        ),
    ],
)
def test_what_cannot_be_is_refused_by_name(keys: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as refused:
        design(job(**{**STRIP, **keys}))
    assert refused.value.field == field


def test_a_holder_that_moves_has_no_open_ends() -> None:
    wanted = job(**STRIP, passes={})
    table = table_of(wanted.preset, Roll)
    assert table is not None
    with pytest.raises(InputError, match="moves under its film"):
        allowed(wanted.preset, wanted.film, table)
