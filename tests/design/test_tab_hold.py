"""A finger takes hold of a lid's tab: an undercut, the opening below it still closed, or a grip that stands proud."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from itertools import pairwise
from pathlib import Path

import pytest
import shapely

from holders.checks.film.grip import Grips
from holders.design.model import Design, Part, Role
from holders.design.parts.sections import section
from holders.design.pieces.pose import print_pose
from holders.design.resolve import design
from holders.facts.habits import habit
from holders.geometry.grip import Grip
from holders.geometry.outline import points
from holders.preset.load import parse
from holders.preset.resolve import Job
from holders.preset.shipped import preset_path
from holders.study import job_of

PRINTED = ("35mm-channel", "35mm-roll", "4x5-four-up", "5x7-printed", "6x17-light-frame", "8x10-printed")
CUT = ("6x9-roll", "8x10-acrylic-lid")  # as they are without the steel bars by which they are lifted


@cache
def made(name: str) -> tuple[Job, Design]:
    path = preset_path(Path(name))
    text = path.read_text()
    if name in CUT:
        text = text.split("[bars]")[0].replace("pocket_depth_mm = 0.8", "pocket_depth_mm = 1.5")
    job = job_of(parse(text, str(path)))[0]
    return job, design(job, uncut=True)


def lids(holder: Design) -> list[Part]:
    return [part for part in holder.parts if part.role is Role.LID]


@pytest.mark.parametrize("name", PRINTED)
def test_a_fingertip_goes_under_both_sides_of_a_printed_tab(name: str) -> None:
    for lid in lids(made(name)[1]):
        low = max(s.z1 for s in lid.slabs if s.z1 < lid.z1 - 1e-6)
        under, over = section(lid, low - 0.01), section(lid, low + 0.01)
        aside = [piece for piece in shapely.get_parts(over.difference(under)) if piece.area > 1.0]
        half = habit("tab-undercut") / 2
        assert len(aside) >= 4  # two tabs with two sides each
        assert all(not p.buffer(0.02 - half).is_empty and p.buffer(-0.02 - half).is_empty for p in aside)
        assert low - lid.z0 >= 0.8 - 1e-6
        assert lid.z1 - low >= 1.2 - 1e-6
        # printed top down nothing stands in the air: from the top to the underside each layer lies on the one before
        assert print_pose(lid).turned
        heights = sorted({s.z0 for s in lid.slabs}, reverse=True)
        bare = replace(
            lid, cuts=tuple(cut for cut in lid.cuts if not cut.bevel)
        )  # it leans by 45 degrees at most
        areas = [section(bare, z + 0.005).buffer(0) for z in heights]
        # a magnet's pocket is open at the underside
        assert all(low.difference(high.buffer(1e-6)).area < 0.01 for high, low in pairwise(areas))


@pytest.mark.parametrize("name", PRINTED[1:])
def test_the_undercut_leaves_the_opening_in_the_floor_closed(name: str) -> None:
    holder = made(name)[1]
    below = [
        shapely.affinity.translate(shapely.Polygon(points(slab.region.outer)), *place)
        for lid in lids(holder)
        for slab in lid.slabs
        if slab.z0 <= lid.z0 + holder_rim(lid) + 1e-6
        for place in lid.places
    ]
    for window in holder.windows:
        f, o = window.film, window.opening
        film, rect = shapely.box(f.x, f.y, f.right, f.top), shapely.box(o.x, o.y, o.right, o.top)
        ledge = next(
            s
            for p in holder.parts
            if p.in_frame
            for s in p.slabs
            if s.z1 >= holder.heights.drawn_ledge - 1e-6
        )
        for hole in (shapely.Polygon(points(h)) for h in ledge.region.holes):
            if hole.intersects(rect):
                beside = hole.difference(rect.buffer(0.01)).difference(film)
                assert any(lid.buffer(1e-6).contains(beside.buffer(0.5).difference(film)) for lid in below)


def holder_rim(lid: Part) -> float:
    """How far above its underside the part of a lid begins that lies beside the film."""
    return min(slab.z1 for slab in lid.slabs) - lid.z0


@pytest.mark.parametrize("name", CUT)
def test_a_cut_lid_has_a_grip_on_each_tab_within_its_notch(name: str) -> None:
    job, holder = made(name)
    grips = [part for part in holder.parts if part.name.startswith("grip")]
    tabs = sum(g.tab for window in holder.windows for g in window.grips or ())
    frame = max(part.z1 for part in holder.parts if part.in_frame)
    assert sum(grip.quantity for grip in grips) == tabs == sum(len(grip.places) for grip in grips)
    for grip, place in ((one, place) for one in grips for place in one.places):
        assert frame + habit("tab-proud") <= grip.z1 <= job.bed.lid_room_mm
        spot = shapely.affinity.translate(section(grip, grip.z0 + 0.01), *place)
        on = [
            shapely.affinity.translate(section(lid, lid.z1 - 0.01), *at)
            for lid in lids(holder)
            for at in lid.places
        ]
        assert any(lid.buffer(1e-6).contains(spot) for lid in on)


def test_no_grip_where_it_would_touch_the_scanners_lid() -> None:
    job, holder = made("6x9-roll")
    top = next(part for part in holder.parts if part.name.startswith("grip")).z1
    low = replace(job, bed=job.bed.model_copy(update={"lid_room_mm": top - 0.1}))
    assert not [part for part in design(low).parts if part.name.startswith("grip")]


def hold(job: Job, holder: Design) -> tuple[str, float]:
    (found,) = (one for one in Grips().check(job, holder) if "hold" in one.subject)
    return found.level, float(found.measured or 0)


def test_the_check_sees_a_tab_that_slips() -> None:
    job, holder = made("6x9-roll")
    assert hold(job, holder) == ("pass", pytest.approx(1.63, abs=0.01))
    flush = replace(holder, fitted=tuple(replace(one, grip_mm=0.0) for one in holder.fitted))
    assert hold(job, flush)[0] == "warn"


def test_a_flush_tab_without_undercut_is_held_by_high_sides_alone() -> None:
    job, holder = made("8x10-printed")
    assert hold(job, holder) == ("pass", habit("tab-undercut"))
    bare = replace(
        holder,
        windows=tuple(
            replace(w, grips=tuple(g._replace(undercut_mm=0.0) for g in w.grips or ()))
            for w in holder.windows
        ),
    )
    (lid,) = lids(bare)
    assert hold(job, bare) == ("pass", pytest.approx(lid.z1 - lid.z0))
    low = replace(
        lid, slabs=tuple(replace(s, z1=min(s.z1, lid.z0 + 2.0)) for s in lid.slabs if s.z0 < lid.z0 + 2.0)
    )
    parts = tuple(low if part is lid else part for part in bare.parts)
    assert hold(job, replace(bare, parts=parts))[0] == "warn"


@pytest.mark.parametrize("name", PRINTED)
def test_sheet_and_check_agree_on_tabs_that_fingers_cannot_reach(name: str) -> None:
    job, holder = made(name)
    (found,) = (one for one in Grips().check(job, holder) if "beside the lid's tab" in one.subject)
    words = " ".join(step for one in holder.fitted for step in one.loading("film"))
    assert "lift that end straight up, then the other" in words  # both of its tabs are used
    tabs = [grip for window in holder.windows for grip in window.grips or () if grip.tab]
    least = min(grip.depth_mm for grip in tabs)
    reached = least >= habit("finger-deep") and min(g.beside_mm for g in tabs) >= habit("gloved-finger")
    assert (found.level == "pass") is reached
    assert ("strong tape folded over its tab" in words) is not reached
    assert ("strong-tape" in {name for one in holder.fitted for name in one.takes(holder)}) is not reached


def test_the_inner_notches_of_two_lids_side_by_side_are_called_shallow() -> None:
    job, holder = made("35mm-roll")
    (found,) = (one for one in Grips().check(job, holder) if "beside the lid's tab" in one.subject)
    assert (found.level, found.measured, found.limit) == ("skip", pytest.approx(4.0), habit("finger-deep"))
    assert "the other end has a deep one: lift the lid there first" in found.advice


def test_a_lid_without_a_deep_notch_is_told_before_one_that_has_another() -> None:
    def tab(edge: str, deep: float) -> Grip:
        return Grip(edge=edge, width_mm=46.0, depth_mm=deep, beside_mm=16.0, tab=True)  # type: ignore[arg-type]

    both = (1, (tab("head", 5.0), tab("foot", 3.0))), (2, (tab("head", 4.5), tab("foot", 4.0)))
    found = Grips()._tab(both)
    assert (found.level, found.measured, found.where) == ("warn", 4.0, "window 2, at the foot")
    alone = Grips()._tab(both[:1])
    assert (alone.level, alone.measured, alone.where) == ("skip", 3.0, "window 1, at the foot")


def test_a_lid_with_one_tab_is_lifted_by_that_alone() -> None:
    path = preset_path(Path("5x7-printed"))
    text = path.read_text().replace("[lid]", "[lid]\ntabs = 1").replace("magnets = 4", "magnets = 2")
    holder = design(job_of(parse(text, str(path)))[0])
    words = " ".join(step for one in holder.fitted for step in one.loading("film"))
    assert "lift that end straight up, and the rest of the lid after it" in words
