"""Several kinds of film in one holder: the laws of design for each of them, what they share, and what is refused."""

from __future__ import annotations

from dataclasses import replace
from typing import Any

import pytest
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.height.heights import image_rise_mm
from holders.design.held.film_in_holder import designed
from holders.design.model import Design, Role
from holders.design.parts.roles import own_lids
from holders.design.plan.layout import lay_out
from holders.design.resolve import design
from holders.facts.tables import keys
from holders.geometry.packing import most_by_area
from holders.preset.load import load, validate
from holders.preset.resolve import Job, resolve
from holders.preset.schema import Preset
from holders.study import study
from holders.workshop.nest.least import by_area, by_boxes
from tests.design.test_laws import box, keep_laws, shape
from tests.presets_made import SHIPPED, changed, kept_or_refused, presets
from tests.presets_made import job as job_of

COMMON: dict[str, Any] = {
    "deadline": None, "suppress_health_check": [HealthCheck.too_slow, HealthCheck.filter_too_much]
}  # fmt: skip
TWO = {"more_films": [{"format": "roll-6x9-single", "count": 2}]}
HAIR = 1e-6


def mixed(**more: Any) -> Job:
    """Two 4x5 sheets and two 6x9 frames, printed; with changes."""
    return job_of(**{"layout": {"count": 2}, **TWO, **more})


def rests_and_lit(made: Design) -> None:
    """By the solid itself, at every height: the window is open below the film, the lips carry it, its room is free."""
    frames = [part for part in made.parts if part.in_frame]
    for one in made.each:
        ledge = one.heights.drawn_ledge
        for window in one.mine:
            lip = box(window.film).difference(box(window.opening.grown(1.0)))
            carried = 0.0
            for slab in (slab for part in frames for slab in part.slabs):
                solid = shape(slab.region)
                if slab.z1 <= ledge + HAIR:
                    assert solid.intersection(box(window.opening.grown(-1.0))).area < 1e-3, (
                        "the window is lit"
                    )
                else:
                    assert slab.z0 >= ledge - HAIR, "no slab goes on through a ledge"
                    assert solid.intersection(box(window.film)).area < 1e-3, "its pocket is free"
                if abs(slab.z1 - ledge) < HAIR:
                    carried += solid.intersection(lip).area
            assert carried >= 0.5 * lip.area, "the film rests on its own ledge"


def apart(job: Job, made: Design) -> None:
    """Pockets keep a wall, and no packing beats the bounds by area and by boxes (workshop/nest/least.py)."""
    layout = lay_out(job)
    rooms = [place.room for place in layout.places]
    for k, one in enumerate(rooms):
        assert layout.outer.inset(*(layout.wall - HAIR,) * 4).contains(one)
        for two in rooms[k + 1 :]:
            gap = max(two.x - one.right, one.x - two.right, two.y - one.top, one.y - two.top)
            assert gap >= layout.wall - HAIR
    sheet = layout.outer.width - layout.wall, layout.outer.height - layout.wall
    boxes = [(room.width + layout.wall, room.height + layout.wall) for room in rooms]
    assert by_boxes(boxes, sheet, turn=False) <= 1
    assert by_area(sum(window.opening.width * window.opening.height for window in made.windows),
                   (made.lamp.width, made.lamp.height)) <= 1  # fmt: skip


def keep_all(job: Job, made: Design) -> None:
    """Every law of a holder for several kinds of film."""
    keep_laws(job, made)
    apart(job, made)
    if made.kinds and job.printer is not None and not made.seams:
        rests_and_lit(made)
    for one in made.each:
        film = job.of(one.kind)
        assert len(one.mine) == (film.kinds[one.kind].count if film.kinds else len(made.windows)) or (
            film.kinds[one.kind].count == "fill"
        )
        assert one.heights.optics == pytest.approx(image_rise_mm(film) + film.film.plane_offset_mm)
        assert one.heights.foot_protrusion == made.heights.foot_protrusion


@st.composite
def mixed_presets(draw: st.DrawFn) -> dict[str, Any]:
    """A random preset with one to three further kinds of film."""
    made = draw(presets())
    made["layout"]["count"] = draw(st.integers(1, 3))
    if "lid" in made:
        # one with a rim: without it, over film thinner than a layer, lid and shoulder of one kind of film meet as well
        made["printer"] = {"name": "p300"}
        made["lid"]["thickness_mm"] = max(2.0, made["lid"].get("thickness_mm", 3.0))
    made["more_films"] = draw(
        st.lists(
            st.fixed_dictionaries(
                {"format": st.sampled_from(keys("formats")), "count": st.integers(1, 4)},
                optional={"emulsion": st.sampled_from(("down", "up"))},
            ),
            min_size=1,
            max_size=3,
        )
    )
    return made


@settings(max_examples=25, **COMMON)
@given(mixed_presets())
def test_random_holders_for_several_films_keep_the_laws(data: dict[str, Any]) -> None:
    kept_or_refused(data, keep_all)


@pytest.mark.slow
@settings(max_examples=3000, **COMMON)
@given(mixed_presets())
def test_many_random_holders_for_several_films(data: dict[str, Any]) -> None:
    kept_or_refused(data, keep_all)


@pytest.mark.parametrize("route", ["print", "laser", "knife"])
@pytest.mark.parametrize("lid", [False, True])
@pytest.mark.parametrize(
    "more", [[("roll-6x9-single", 2)], [("35mm-strip", 1), ("mount-50", 1)], [("roll-6x6-single", 3)]]
)
def test_usual_holders_are_made(route: str, lid: bool, more: list[tuple[str, int]]) -> None:
    """The random ones would prove nothing if all were refused: usual ones are made on every route."""
    materials = {"print": "petg", "laser": "plywood-birch", "knife": "mat-board"}
    data = changed(
        route=route,
        material={"name": materials[route]},
        more_films=[{"format": key, "count": count} for key, count in more],
        **({"lid": {}} if lid and "mount-50" not in dict(more) else {}),
    )
    assert kept_or_refused(data, keep_all)


ASKED = {
    "A3": ("a3", "4x5", 4, ("roll-6x9-single", 2)),  # four 4x5 and two 6x9
    "A4": ("a4-wide", "5x7", 1, ("35mm-strip", 2)),  # 5x7 beside 35 mm strips, on a lamp area of 205 x 257 mm
}


def asked(name: str) -> Preset:
    bed, film, count, (other, others) = ASKED[name]
    more = [{"format": other, "count": others}]
    return Preset.model_validate(
        changed(bed={"name": bed}, film={"format": film}, layout={"count": count}, more_films=more)
    )


@pytest.mark.parametrize("name", ASKED)
def test_holders_that_are_asked_for_by_name_pack(name: str) -> None:
    job = resolve(asked(name))
    made = design(job)
    keep_all(job, made)
    _, film, count, (other, others) = ASKED[name]
    assert [window.film_key for window in made.windows] == [film] * count + [other] * others
    lamp = box(made.lamp).buffer(HAIR)
    assert all(lamp.covers(box(window.opening)) for window in made.windows)


@pytest.mark.parametrize("name", [pytest.param("A3", marks=pytest.mark.slow), "A4"])
def test_and_are_judged(name: str) -> None:
    one = study(asked(name))
    sharp = [float(found.measured or 0) for found in one.findings if found.code == "sharpness"]
    assert len(sharp) == len(one.verdict.films) == 2
    assert 0.0 < one.verdict.chance < 1.0
    assert 100 * one.verdict.chance == pytest.approx(min(sharp), abs=1e-3)
    assert [found.title for found in one.findings if found.level == "stop"] == []


def test_the_shipped_one_keeps_them_too() -> None:
    path = next(path for path in SHIPPED if path.stem == "mixed-formats")
    job = resolve(load(path))
    made = design(job)
    keep_all(job, made)
    # every lid's tab is undercut, and each film's height stands on the holder
    assert all(any(grip.tab and grip.undercut_mm > 0 for grip in w.grips) for w in made.windows)
    texts = [groove.text for part in made.parts for groove in part.grooves]
    assert {text.split()[0] for text in texts if text.endswith("over glass")} == {"4x5", "roll-6x9-single"}


def test_printed_films_lie_each_at_its_own_height() -> None:
    """Emulsion up the picture lies t/n above the ledge, in a mount 1 mm and more: so the ledges are that much lower."""
    job = mixed(more_films=[{"format": "mount-50", "count": 2}, {"format": "4x5", "emulsion": "up"}],
                layout={"count": 1}, printer={"layer_mm": 0.05})  # fmt: skip
    made = design(job)
    keep_all(job, made)
    plain, mount, up = (one.heights for one in made.each)
    assert plain.sharp_plane == pytest.approx(mount.sharp_plane, abs=0.05)
    assert plain.drawn_ledge - mount.drawn_ledge == pytest.approx(job.of(1).film.plane_offset_mm, abs=0.05)
    optics = job.base.thickness_mm / job.base.refractive_index
    assert plain.drawn_ledge - up.drawn_ledge == pytest.approx(optics, abs=0.05)
    assert len({one.heights.drawn_ledge + one.pocket_depth for one in made.each}) == 1, "one top for all"


def test_sheets_carry_all_films_at_one_height() -> None:
    made = design(
        mixed(route="laser", material={"name": "plywood-birch"},
              more_films=[{"format": "roll-6x9-single", "emulsion": "up"}])
    )  # fmt: skip
    assert len({one.heights.drawn_ledge for one in made.each}) == 1
    assert len({one.heights.optics for one in made.each}) == 2


def test_each_film_is_solved_as_in_a_holder_of_its_own() -> None:
    """On the same lips and free of a lid the film's shape does not know who lies beside it."""
    found, film = designed(mixed(), ranges=False)
    for one, alone in enumerate((job_of(layout={"count": 2}), job_of(film={"format": "roll-6x9-single"}))):
        single, _ = designed(alone, ranges=False)
        assert found.of(one).sag is not None
        assert single.sag is not None
        assert found.of(one).sag.max_mm == pytest.approx(single.sag.max_mm, rel=1e-6)
        assert found.of(one).heights.drawn_ledge == single.heights.drawn_ledge
    assert film.of(1).sag == found.of(1).sag


def test_each_lid_presses_with_its_own_weight() -> None:
    found, _ = designed(mixed(lid={"play_mm": 0.0}), ranges=False)
    weights = []
    for one in found.each:
        assert one.sag is not None
        assert one.sag.lid is not None
        weights.append(one.sag.lid.weight_n)
        assert {part.quantity for part in own_lids(one)} == {2}
    assert weights[0] > 1.1 * weights[1], "a lid of 4x5 weighs more than one of 6x9"
    assert sum(part.quantity for part in found.parts if part.role is Role.LID) == len(found.windows)


def test_a_single_kind_is_as_it_always_was() -> None:
    """Nothing of a holder for one kind of film hangs on the list: empty or left out it is the same design."""
    plain = design(job_of(layout={"count": 2}))
    assert design(job_of(layout={"count": 2}, more_films=[])) == plain
    assert plain.kinds == ()
    assert plain.each == (plain,)
    assert plain.mine == plain.windows


def test_too_many_are_refused_with_numbers_that_fit() -> None:
    wanted = {"format": "roll-6x9-single", "count": 9}
    with pytest.raises(InputError) as refusal:
        design(mixed(more_films=[wanted]))
    assert refusal.value.field == "more_films.0.count"
    fits = int(refusal.value.way_out.partition("more_films.0.count = ")[2].split()[0])
    assert design(mixed(more_films=[{**wanted, "count": fits}])).windows
    with pytest.raises(InputError):
        design(mixed(more_films=[{**wanted, "count": fits + 1}]))


def test_filling_takes_as_many_as_fit_beside_the_others() -> None:
    made = design(mixed(layout={"count": "fill"}, film={"format": "35mm-single"}))
    count = len(made.of(0).mine)
    assert 2 <= count <= most_by_area(35.0, 38.0, (made.outer.width, made.outer.height))
    with pytest.raises(InputError):
        design(mixed(layout={"count": count + 1}, film={"format": "35mm-single"}))


@pytest.mark.parametrize(
    ("key", "table"),
    [("cover", {}), ("carrier", {"insert_width_mm": 190.0, "insert_length_mm": 260.0}), ("channel", {})],
)
def test_fittings_for_one_film_are_refused_with_a_cure_that_works(key: str, table: dict[str, Any]) -> None:
    with pytest.raises(InputError, match=f"leave out .{key}.") as refusal:
        design(mixed(**{key: table}))
    assert refusal.value.field == key
    assert design(mixed()).windows, "what it advises can be made"


@pytest.mark.parametrize(
    ("entry", "field"),
    [
        ({"format": "4x6"}, "more_films.0.format"),
        ({"format": "4x5", "count": 0}, "more_films.0.count"),
        ({"format": "4x5", "image_width_mm": 190.0}, "more_films.0.image_width_mm"),
        ({"format": "4x5", "base": {"curl_per_m": 50.0}}, "more_films.0.base.curl_per_m"),
        ({"format": "4x5", "record": "curls.toml"}, "more_films.0.record"),
    ],
)
def test_a_bad_entry_is_named(entry: dict[str, Any], field: str) -> None:
    with pytest.raises(InputError) as refusal:
        resolve(validate(changed(more_films=[entry]), "", "test"))
    assert refusal.value.field == field
    assert refusal.value.way_out


def test_looking_at_another_film_and_back_changes_nothing() -> None:
    job = mixed(more_films=[{"format": "roll-6x9-single", "count": 2, "base": {"curl_per_m": 5.0}}])
    assert job.of(1).preset.base.curl_per_m == 5.0
    assert job.of(1).film.key == "roll-6x9-single"
    assert job.of(1).of(0) == replace(job, preset=job.of(0).preset)
    assert job.of(1).whole_preset == job.preset
    made = design(job)
    assert made.of(1).of(0) == made
    assert [number for number, _ in made.of(1).numbered] == [3, 4]
