"""A printed lid's inner edges lean back from the picture, and every number that reads the lid's section counts it."""

from __future__ import annotations

from functools import cache
from math import pi
from pathlib import Path

import pytest
import shapely

from holders.core.errors import InputError
from holders.design.draft.levels import Levels
from holders.design.model import Cut, Design, Part, Slab
from holders.design.parts.roles import own_lids
from holders.design.parts.sections import section
from holders.design.parts.slices import plain
from holders.design.parts.volume import volume, volume_by_sections
from holders.design.pieces.pose import print_pose
from holders.design.plan.layout import lay_out
from holders.design.resolve import design
from holders.film.stray import strip_view_factor
from holders.fittings.lid import bevel
from holders.fittings.lid.bend import second_moment
from holders.fittings.lid.table import Lid
from holders.geometry.outline import Region, bounds, rectangle
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.resolve import Job
from holders.preset.shipped import preset_path
from holders.study import job_of

PRINTED = (
    "35mm-channel",
    "35mm-roll",
    "4x5-four-up",
    "5x7-printed",
    "6x17-light-frame",
    "8x10-printed",
    "mixed-formats",
)


@cache
def made(name: str, bevel: float | None = None) -> tuple[Job, Design]:
    path = preset_path(Path(name))
    text = path.read_text() if bevel is None else with_values(path.read_text(), {"lid.bevel_mm": bevel})
    job = job_of(parse(text, str(path)))[0]
    return job, design(job, uncut=True)


def opening(shape: shapely.Geometry) -> shapely.Polygon:
    return max((shapely.Polygon(ring) for ring in shape.interiors), key=lambda one: one.area)


def bevel_of(lid: Part) -> Cut:
    (found,) = (cut for cut in lid.cuts if cut.flare_mm)
    return found


@pytest.mark.parametrize("name", PRINTED)
def test_it_leaves_lip_and_walls_and_prints_without_support(name: str) -> None:
    job, holder = made(name)
    assert job.printer is not None
    for lid in map(plain, own_lids(holder)):
        cut = bevel_of(lid)
        back, high = -cut.flare_mm, cut.z1 - cut.z0
        assert 0.3 <= back <= 2.5
        assert back <= high + 1e-9  # 45 degrees at most, whichever way up it lies
        low = min(slab.z0 for slab in lid.slabs if slab.region.holes)
        assert cut.z0 - low >= 0.8 - 1e-9
        assert cut.z1 == pytest.approx(lid.z1)
        # seen on the sections: the opening widens by that much, and the narrowest rail keeps four lines
        under, over = section(lid, cut.z0 - 1e-6), section(lid, lid.z1 - 1e-6)
        assert (
            opening(over)
            .buffer(0.02)
            .contains(opening(under).buffer(back, join_style="mitre").buffer(-1.0).buffer(0.9))
        )
        kept = over.buffer(-(4 * job.printer.nozzle_mm - 0.02) / 2)
        assert kept.geom_type == "Polygon"  # one ring still
        assert opening(kept).area > opening(over).area
        # a layer never stands out by more than its own height over the one before, the way up that it prints
        turned = print_pose(lid).turned
        layer = job.printer.layer_mm
        z = cut.z0 + layer
        while z + layer < cut.z1:
            here, there = section(lid, z), section(lid, z + layer if turned else z - layer)
            if turned:
                assert opening(here).buffer(0.01).contains(opening(there).buffer(-layer))
            else:
                assert opening(here).buffer(0.01).contains(opening(there))
            z += layer


def test_its_volume_in_closed_form() -> None:
    """What leaves a frame is a frustum's shell: rectangle and rounded corners grow evenly to the top."""
    hole, high, back, radius = (60.0, 40.0), 5.0, 2.0, 0.5
    inner = rectangle(20, 20, *hole, radius)
    wide = rectangle(20 - back, 20 - back, hole[0] + 2 * back, hole[1] + 2 * back, radius + back)
    part = Part("lid", "lid", "print", "petg", 1, (Slab("lid", 0, 6, Region(rectangle(0, 0, 100, 80, 3), (inner,))),),
                (Cut("lid bevel", wide, 1.0, 6.0, -back),))  # fmt: skip
    upright = (100 * 80 - (4 - pi) * 9 - (60 * 40 - (4 - pi) * radius**2)) * 6
    # a strip of the hole's perimeter with a triangle's section, and a cone's share of the four corners
    perimeter = 2 * (hole[0] + hole[1]) - 8 * radius + 2 * pi * radius
    taken = perimeter * back * high / 2 + pi * back**2 * high / 3
    assert volume(part) == pytest.approx(upright - taken, rel=1e-9)
    assert volume_by_sections(part) == pytest.approx(upright - taken, rel=1e-5)


def test_a_rail_bends_as_a_rectangle_less_a_triangle() -> None:
    lid = next(iter(own_lids(made("8x10-printed")[1])))
    cut, wide = bevel_of(lid), 4.4
    high = lid.z1 - lid.z0
    steps = 4000
    strips = []
    for k in range(steps):
        z = (k + 0.5) * high / steps
        lean = max(0.0, z - (cut.z0 - lid.z0)) * -cut.flare_mm / (cut.z1 - cut.z0)
        strips.append((wide - lean, z))
    area = sum(w for w, _ in strips)
    axis = sum(w * z for w, z in strips) / area
    moment = sum(w * (z - axis) ** 2 for w, z in strips) * high / steps
    assert second_moment(lid, wide) == pytest.approx(moment, rel=1e-4)
    assert second_moment(lid, wide) < wide * high**3 / 12


@pytest.mark.parametrize("name", ["5x7-printed", "8x10-printed", "4x5-four-up"])
def test_it_keeps_less_of_the_lamps_light_away(name: str) -> None:
    """Against the handbooks' small face and long strip, over the lid's own section."""
    holder, upright = made(name)[1], made(name, 0.0)[1]
    (window,), (other,) = holder.windows[:1], upright.windows[:1]
    lid = own_lids(holder)[0]
    cut, ledge = bevel_of(lid), holder.heights.drawn_ledge
    edge = bounds(min((s for s in lid.slabs if s.region.holes), key=lambda s: s.z0).region.holes[0])[0]
    aside = window.picture.x - edge
    want = strip_view_factor([(aside, cut.z0 - ledge), (aside - cut.flare_mm, lid.z1 - ledge)])
    assert window.dimmed.left >= want - 1e-9  # the pocket's wall may keep more away
    assert window.dimmed.left < 0.75 * other.dimmed.left
    assert not any(c.flare_mm for part in own_lids(upright) for c in part.cuts)


def test_more_than_the_rails_allow_is_refused_with_what_they_do() -> None:
    with pytest.raises(InputError, match=r"take at most 2\.00 mm") as refused:
        made("5x7-printed", 2.1)
    assert "lid.bevel_mm" in refused.value.field
    with pytest.raises(InputError, match="cut square"):
        made("6x9-roll", 1.0)
    assert not any(cut.flare_mm for part in own_lids(made("6x9-roll", 0.0)[1]) for cut in part.cuts)


def test_a_lid_in_pieces_stays_upright() -> None:
    job, holder = made("8x10-small-printer")
    assert not any(cut.flare_mm for part in own_lids(holder) for cut in part.cuts)
    assert any("lid-piece" in part.name for part in design(job).parts)
    with pytest.raises(InputError, match="in pieces"):
        made("8x10-small-printer", 1.0)


@pytest.mark.parametrize("name", PRINTED)
def test_every_printed_lid_says_which_side_is_up(name: str) -> None:
    if name == "35mm-channel":
        pytest.skip("its tabs are thinner than lettering and a fingertip need")
    for lid in own_lids(made(name)[1]):
        assert any("this side up" in groove.text for groove in lid.grooves)


@pytest.mark.parametrize(("reach_mm", "most"), [(0.5, "0.50"), (0.0, "0.00"), (-1.0, "0.00")])
def test_rails_that_leave_no_bevel_say_so_and_get_none(reach_mm: float, most: str) -> None:
    """Rails as wide as the lid's top must be, and half a millimetre more or one less: never a bevel below nothing."""
    job = made("5x7-printed")[0]
    layout, high = lay_out(job), Levels(0.0, (3.0,), 11.0, over=(3.0, 11.0))
    lid = Lid(bevel_mm=0.6, clearance_mm=0.0)
    room, film = layout.places[0].room, layout.places[0].film
    beside = min(film.x - room.x, room.right - film.right, room.top - film.top, film.y - room.y)
    reach = [1.6 - beside + reach_mm] * 4
    with pytest.raises(InputError, match=f"take at most {most} mm"):
        bevel.bevel_of(job.printer, lid, layout, reach, high)
    small = [1.6 - beside + 0.2] * 4
    assert bevel.bevel_of(job.printer, Lid(clearance_mm=0.0), layout, small, high) is None
