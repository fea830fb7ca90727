"""Film under a lid comes out by an opening through the floor, which lets no light pass beside the film."""

from __future__ import annotations

from pathlib import Path

import pytest
import shapely

from holders.design.model import Design, Role, Window
from holders.design.parts.sections import section
from holders.design.parts.slices import footprint
from holders.design.resolve import design
from holders.facts.habits import habit
from holders.geometry.outline import points
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of

LIDDED = (
    "4x5-four-up", "5x7-printed", "6x17-light-frame", "6x9-roll", "8x10-acrylic-lid", "8x10-printed",
    "8x10-small-printer",
)  # fmt: skip
GLASS = ("35mm-strips", "4x5-insert", "5x7-glass-cover", "8x10-mat-board", "whole-plate-glass")
OPPOSITE = ({"left", "right"}, {"head", "foot"})


def made(name: str) -> Design:
    path = preset_path(Path(name))
    return design(job_of(parse(path.read_text(), str(path)))[0], uncut=True)


def openings(holder: Design, window: Window) -> list[shapely.Polygon]:
    """What is open at every height below the ledge where the window is."""
    middle = shapely.box(
        window.opening.x, window.opening.y, window.opening.right, window.opening.top
    ).centroid
    found = []
    for part in holder.parts:
        for slab in part.slabs:
            if part.in_frame and slab.z1 <= holder.heights.drawn_ledge + 1e-6:
                holes = [shapely.Polygon(points(hole)) for hole in slab.region.holes]
                found += [hole for hole in holes if hole.contains(middle)]
    return found


@pytest.mark.parametrize("name", LIDDED)
def test_a_finger_goes_through_and_no_light_beside_the_film(name: str) -> None:
    holder = made(name)
    lids = [
        footprint(part)  # its edges lean back above: light stops below
        for part in holder.parts
        if part.role is Role.LID
    ]
    for window in holder.windows:
        o, f = window.opening, window.film
        film, rect = shapely.box(f.x, f.y, f.right, f.top), shapely.box(o.x, o.y, o.right, o.top)
        assert any(grip.through_mm >= habit("gloved-finger") for grip in window.grips or ())
        open_here = openings(holder, window)
        assert open_here
        for hole in open_here:
            beside = hole.difference(rect.buffer(0.01)).difference(film)
            big = max(shapely.get_parts(beside), key=lambda part: part.area)
            x0, y0, x1, y1 = big.bounds
            assert max(x1 - x0, y1 - y0) >= habit("gloved-finger")
            shade = big.buffer(1.0).difference(film)
            assert any(lid.buffer(1e-6).contains(shade) for lid in lids)


@pytest.mark.parametrize("name", GLASS)
def test_plates_are_lifted_at_two_opposite_edges(name: str) -> None:
    for window in made(name).windows:
        wide = {g.edge for g in window.grips or () if g.width_mm >= habit("gloved-finger")}
        assert wide in OPPOSITE, window.film


BARE = {
    "35mm-strips": 1.0, "4x5-insert": 3.5, "5x7-glass-cover": 3.5, "8x10-mat-board": 4.0, "whole-plate-glass": 3.0,
}  # fmt: skip


@pytest.mark.parametrize("name", BARE)
def test_without_a_lid_the_border_is_too_narrow_for_a_finger_from_below(name: str) -> None:
    for window in made(name).windows:
        film, picture = window.film, window.picture
        ends = (picture.x - film.x, film.right - picture.right)
        if film.height > film.width:
            ends = (picture.y - film.y, film.top - picture.top)
        assert max(ends) == pytest.approx(BARE[name], abs=0.01)
        assert max(ends) < habit("finger-deep")
        assert not any(grip.through_mm for grip in window.grips or ())


def test_every_lid_of_the_channel_has_room_for_fingers() -> None:
    for window in made("35mm-channel").windows:
        assert max(g.beside_mm for g in window.grips or ()) >= habit("gloved-finger")


def test_mounts_stand_out_of_their_pocket() -> None:
    holder = made("50mm-mounts")
    assert holder.pocket_depth <= habit("mount-sunk-share") * holder.film_thickness


def test_notches_of_neighbours_leave_a_wall_between_them() -> None:
    holder = made("35mm-channel")
    top = section(holder.parts[0], holder.parts[0].z1 - 0.01)
    one, two = holder.windows[:2]
    assert {g.edge for g in one.grips or ()} == {g.edge for g in two.grips or ()} == {"left", "right"}
    # across the middle of the wall between two pockets some of it stands everywhere
    x = (one.pocket.right + two.pocket.x) / 2
    line = shapely.LineString([(x, one.pocket.y), (x, one.pocket.top)])
    assert top.intersection(line).length == pytest.approx(line.length, abs=1e-6)


def test_a_thin_bar_at_the_home_edge_is_left_out() -> None:
    holder = made("5x7-printed")  # its calibration zone lies 3.5 mm from the home edge
    outline = shapely.Polygon(points(holder.parts[0].slabs[0].region.outer))
    assert holder.calibration is not None
    c = holder.calibration
    below = shapely.box(c.x, holder.outer.y, c.right, c.y)
    assert outline.intersection(below).area == pytest.approx(0.0, abs=1e-6)
