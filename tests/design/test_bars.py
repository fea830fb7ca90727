"""Steel bars along a lid's rails: weight and stiffness by hand, room, refusals, and what a sheet says of them."""

from __future__ import annotations

import math
from dataclasses import replace
from functools import cache
from typing import Any

import pytest
import shapely

from holders.checks.frame.walls import Wall
from holders.core.errors import InputError
from holders.design.model import Design, Rect, Role
from holders.design.parts.sections import section
from holders.design.parts.steel import LaidBar, bars_of
from holders.design.pieces.pose import print_pose
from holders.design.resolve import design
from holders.facts.constants import constant
from holders.facts.tables import bar, keys
from holders.fittings.bars.check import BarsRule
from holders.fittings.bars.fitted import Steel, stock_bars
from holders.fittings.bars.kind import BarsKind
from holders.fittings.base import Rivals
from holders.fittings.lid.bend import rail_bow_mm
from holders.fittings.lid.fitted import LidFrame
from holders.fittings.lid.flat import lid_flatness
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from holders.workshop.stiffness.onfeet import loads
from tests.checks.test_lid_bend import frame
from tests.design.test_laws import keep_laws
from tests.presets_made import SHIPPED, job

CUT: dict[str, Any] = {
    "route": "laser",
    "printer": None,
    "film": {"format": "roll-6x9"},
    "material": {"name": "plywood-birch", "sheets_mm": [0.82, 1.48, 2.95]},
    "layout": {"count": 1, "pocket_depth_mm": 0.8},
    "lid": {"thickness_mm": 1.5, "lip_mm": 1.7, "clearance_mm": 0.2},
}
PRINTED: dict[str, Any] = {
    "film": {"format": "4x5"},
    "layout": {"count": 1},
    "lid": {"thickness_mm": 6.0, "play_mm": 0.0},
}


@cache
def shipped(name: str) -> tuple[Job, Design]:
    wanted = resolve(load(next(path for path in SHIPPED if path.stem == name)))
    return wanted, design(wanted)


def steel(made: Design) -> Steel:
    found = made.find(Steel)
    assert found is not None
    return found


def box(rect: Rect) -> shapely.Polygon:
    return shapely.box(rect.x, rect.y, rect.right, rect.top)


@pytest.mark.parametrize(
    ("key", "kg_per_m"), [("20x5", 0.785), ("30x5", 1.18), ("10x10", 0.785), ("8x8", 0.502), ("15x3", 0.353)]
)
def test_bars_weigh_what_steel_tables_print(key: str, kg_per_m: float) -> None:
    """Masses by the metre as tables to EN 10058 and EN 10059 print them (from memory, three digits)."""
    row = bar(key)
    one = LaidBar(Rect(0.0, 0.0, row.width_mm, 1000.0), 0.0, row.height_mm)
    assert one.weight_n / 9.80665 == pytest.approx(kg_per_m, abs=0.005)


def test_every_bar_lies_on_its_wider_side_and_is_named_after_its_size() -> None:
    for key in keys("bars"):
        row = bar(key)
        assert row.width_mm >= row.height_mm
        assert key == f"{row.width_mm:g}x{row.height_mm:g}"


def test_the_lid_weighs_what_its_list_of_cuts_weighs() -> None:
    """6x9: of the list of cuts alone, 7850 kg/m³ by hand, and the lid of plywood beside it."""
    wanted, made = shipped("6x9-roll")
    cuts = steel(made).lengths()
    by_hand = (
        sum(one.width_mm * one.height_mm * long * count for one, long, count in cuts) * 7.85e-6 * 9.80665 / 2
    )
    support = next(s for s in (one.support(wanted, made) for one in made.fitted) if s is not None)
    assert support.hold is not None
    plain = design(wanted.__class__(**{**_fields(wanted), "preset": _without(wanted)}))
    lid = next(s for s in (one.support(wanted, plain) for one in plain.fitted) if s is not None)
    assert lid.hold is not None
    assert support.hold.weight_n == pytest.approx(by_hand + lid.hold.weight_n, abs=0.003)
    assert steel(made).pressing_n(wanted, made) == pytest.approx(2 * by_hand, rel=1e-3)
    assert support.hold.extra_n == 0.0  # nothing loose lies on it


def _fields(wanted: Job) -> dict[str, Any]:
    return {name: getattr(wanted, name) for name in wanted.__dataclass_fields__}


def _without(wanted: Job) -> Any:
    return wanted.preset.model_copy(update={"bars": None})


@pytest.mark.parametrize("name", ["6x9-roll", "8x10-acrylic-lid"])
def test_bars_lie_clear_of_frame_window_and_one_another(name: str) -> None:
    _, made = shipped(name)
    bars = bars_of(made)
    frame_top = max(part.z1 for part in made.parts if part.in_frame)
    for k, one in enumerate(bars):
        assert made.outer.contains(one.rect)
        assert one.z0 >= frame_top + 0.3
        assert all(not one.rect.overlaps(window.opening) for window in made.windows)
        assert made.calibration is None or not one.rect.overlaps(made.calibration)
        assert all(box(one.rect).distance(box(other.rect)) > 0.45 for other in bars[:k])
    # as much on either side: the lid is not tipped
    for window in made.windows:
        mine = [
            one
            for one in bars
            if abs(one.rect.x + one.rect.width / 2 - window.film.x - window.film.width / 2) < 45
        ]
        if len(made.windows) > 1:
            across = sum(b.weight_n * (b.rect.x + b.rect.width / 2) for b in mine) / sum(
                b.weight_n for b in mine
            )
            assert across == pytest.approx(window.film.x + window.film.width / 2, abs=0.05)


def test_a_printed_lid_takes_them_from_below_beside_the_film() -> None:
    made = design(job(**PRINTED, bars={"sides": "10x4", "ends": "8x3"}))
    keep_laws(job(**PRINTED, bars={"sides": "10x4", "ends": "8x3"}), made)
    lid = next(part for part in made.parts if part.name == "lid")
    pocket = made.windows[0].pocket
    for one in bars_of(made):
        assert not one.rect.overlaps(pocket)  # it never lies over the film
        body = section(lid, (one.z0 + one.z1) / 2)
        around = box(one.rect.grown(0.199))
        assert body.intersection(around).area < 1e-6  # 0.2 mm of room
        assert box(Rect(*_xywh(lid.box))).contains(around)
        assert lid.z1 - one.z1 >= 0.8
    assert print_pose(lid).turned  # its pockets are printed open, not bridged
    assert steel(made).proud_mm == 0.0
    assert steel(made).lifted_by == ""  # it has its tabs


def _xywh(bounds: tuple[float, float, float, float]) -> tuple[float, float, float, float]:
    x0, y0, x1, y1 = bounds
    return x0, y0, x1 - x0, y1 - y0


def test_rails_with_a_bar_bend_as_lid_and_steel_side_by_side() -> None:
    """254 x 10 x 6 mm of 2000 MPa: I = 180 mm⁴; a bar of 10 x 3 mm adds 22.5 mm⁴ of 200,000 MPa."""
    bars = tuple(LaidBar(Rect(x, 0.0, 10.0, 254.0), 9.0, 12.0) for x in (0.0, 90.0))
    ends = tuple(LaidBar(Rect(0.0, y, 100.0, 20.0), 9.0, 12.0) for y in (-18.0, 252.0))
    bow = rail_bow_mm([frame(10.0, 6.0)], 2000.0, 2.0, (*bars, *ends))
    stiff = 2000.0 * 180.0 + constant("steel-modulus") * 10 * 3**3 / 12
    assert bow == pytest.approx(5 * 254**3 / (384 * stiff), rel=1e-6)


def test_a_gap_between_two_bars_stays_soft() -> None:
    """Rails stiff but for the middle 2 c: q/(E I) [L x³/6 - x⁴/8] from L/2 - c to L/2, twice the unit load's half."""
    long, half, soft = 254.0, 40.0, 2000.0 * 180.0
    high = 60.0  # bars so high that they do not bend
    bars = [
        LaidBar(Rect(x, y, 10.0, long / 2 - half), 9.0, 9.0 + high)
        for x in (0.0, 90.0)
        for y in (0.0, long / 2 + half)
    ]
    ends = [LaidBar(Rect(0.0, y, 100.0, 20.0), 9.0, 12.0) for y in (-18.0, 252.0)]
    bow = rail_bow_mm([frame(10.0, 6.0)], 2000.0, 2.0, (*bars, *ends))

    def bent(x: float) -> float:
        return 1.0 / long / soft * (long * x**3 / 6 - x**4 / 8)

    assert bow == pytest.approx(bent(long / 2) - bent(long / 2 - half), rel=0.02)


def test_a_straight_bar_draws_a_warped_lid_straight() -> None:
    """As two glued beams: the warp that stays is the lid's share of the stiffness."""
    wanted, made = shipped("6x9-roll")
    with_bars, plain = lid_flatness(wanted, made), lid_flatness(wanted, design(_plain(wanted)))
    assert with_bars is not None
    assert plain is not None
    assert plain.warp_mm > 20 * with_bars.warp_mm > 0.0


def _plain(wanted: Job) -> Job:
    return wanted.__class__(**{**_fields(wanted), "preset": _without(wanted)})


@pytest.mark.parametrize(
    ("changes", "field", "words"),
    [
        ({**CUT, "lid": None, "bars": {}}, "bars", "add [lid]"),
        ({**CUT, "bars": {"place": "in"}}, "bars.place", 'set "on"'),
        ({**CUT, "bars": {"sides": "nonesuch"}}, "bars.sides", "holders list bars"),
        ({**CUT, "bars": {"sides": "none", "ends": "none"}}, "bars.sides", "leave [bars] out"),
        (
            {**CUT, "layout": {"count": 1, "pocket_depth_mm": 1.5}, "bars": {"sides": "20x5"}},
            "bars.sides",
            "mm wide",
        ),
        (
            {**CUT, "bars": {"sides": "10x10", "ends": "none"}, "bed": {"lid_room_mm": 12.0}},
            "bars.sides",
            "mm high",
        ),
        ({**PRINTED, "bars": {"sides": "10x10"}}, "bars.sides", "mm high"),
        (
            {**PRINTED, "film": {"format": "8x10"}, "printer": {"name": "p220"}, "bars": {"place": "on"}},
            "bars",
            "pieces",
        ),
    ],
)
def test_what_has_no_room_is_refused_in_words(changes: dict[str, Any], field: str, words: str) -> None:
    with pytest.raises(InputError) as caught:
        design(job(**{key: value for key, value in changes.items() if value is not None}))
    assert caught.value.field == field
    assert words in caught.value.way_out


def test_fit_takes_the_heaviest_that_has_room() -> None:
    made = steel(design(job(**_cut(), bars={})))
    assert made.sides is not None
    assert made.sides.height_mm <= 5.0
    heavier = [
        key for key in keys("bars") if bar(key).area_mm2 > made.sides.area_mm2 and bar(key).height_mm <= 5.0
    ]
    assert heavier or made.sides.area_mm2 == max(
        bar(key).area_mm2 for key in keys("bars") if bar(key).height_mm <= 5
    )
    for key in heavier:
        with pytest.raises(InputError):
            design(job(**_cut(), bars={"sides": key}))


def _cut(**more: Any) -> dict[str, Any]:
    return {**{key: value for key, value in CUT.items() if value is not None}, **more}


def test_checks_see_bars_that_rest_on_the_frame() -> None:
    wanted, made = shipped("6x9-roll")

    def levels(**change: float) -> list[str]:
        from dataclasses import replace

        fitted = tuple(replace(one, **change) if isinstance(one, Steel) else one for one in made.fitted)
        return [found.level for found in BarsRule().check(wanted, replace(made, fitted=fitted))]

    assert levels() == ["pass", "pass", "skip"]
    assert levels(over=0.2)[0] == "warn"
    assert levels(over=0.03)[0] == "stop"  # the thinnest film lets the lid 0.04 mm lower
    assert levels(glued=1.0)[1] == "warn"
    printed = design(job(**PRINTED, bars={}))
    assert [found.level for found in BarsRule().check(job(**PRINTED, bars={}), printed)] == [
        "skip",
        "pass",
        "skip",
    ]


def test_cuts_are_packed_in_bars_of_a_metre() -> None:
    """Four of 248 and three saw cuts of 2 mm are 998 mm; a fifth takes another bar (by hand)."""
    assert stock_bars([(248.0, 4)]) == 1
    assert stock_bars([(248.0, 5)]) == 2
    assert stock_bars([(600.0, 2), (390.0, 2)]) == 2


def test_sheet_and_list_say_how_long_and_which() -> None:
    wanted, made = shipped("8x10-acrylic-lid")
    found = steel(made)
    lengths = {long for _, long, _ in found.lengths()}
    assert all(
        long <= max(b.rect.width, b.rect.height) + 1e-6 for b in found.laid for long in lengths if long < 230
    )
    rows = found.to_buy(wanted, made)
    assert [row.quantity for row in rows] == [1, 1]
    steps = " ".join(found.making(made))
    for long in lengths:
        assert f"{long:.1f} mm" in rows[0].note
        assert f"{long:.1f} mm" in steps
    lid = made.find(LidFrame)
    assert lid is not None
    assert "steel bars" in " ".join(lid.loading("film"))
    assert found.record(made)["bars"]


def test_a_lid_that_carries_a_loose_weight_is_offered_bars_instead() -> None:
    wanted = job(**_cut(lid={"thickness_mm": 1.5, "lip_mm": 1.7, "extra_weight_n": 2.5}))
    (offer,) = BarsKind().changes(wanted, Rivals({}, ""))
    assert offer.keys["lid.extra_weight_n"] == 0.0
    assert offer.keys["bars.sides"] == "fit"
    assert offer.keys["layout.pocket_depth_mm"] == pytest.approx(0.82)  # so that they clear the frame
    assert not math.isnan(float(str(offer.keys["lid.thickness_mm"])))
    assert list(BarsKind().changes(job(**_cut(), bars={}), Rivals({}, ""))) == []


def test_bars_in_the_lids_of_several_kinds_of_film() -> None:
    """Each kind's lid has its own; the frame carries all, the list of cuts has all, and each is weighed by hand."""
    wanted = job(
        film={"format": "4x5"}, more_films=[{"format": "roll-6x9-single", "count": 1}], layout={"count": 1},
        printer={"name": "p300"}, lid={"thickness_mm": 6.0, "play_mm": 0.0}, bars={"sides": "4x4", "ends": "8x4"},
    )  # fmt: skip
    made = design(wanted)
    both = [one.find(Steel) for one in made.each]
    assert len(both) == 2
    first, second = both
    assert first is not None
    assert second is not None
    assert first.lengths() != second.lengths()
    by_hand = 0.0
    for one, film in zip(
        (first, second), (made.each[0].mine[0].film, made.each[1].mine[0].film), strict=True
    ):
        cuts = {(what.key, count): long for what, long, count in one.lengths()}
        assert set(cuts) == {("4x4", 2), ("8x4", 2)}
        assert cuts["4x4", 2] > max(film.width, film.height) - 1.0  # along the whole pocket
        by_hand += (
            sum(what.width_mm * what.height_mm * long * n for what, long, n in one.lengths())
            * 7.85e-6
            * 9.80665
        )
    assert first.pressing_n(wanted, made) == pytest.approx(by_hand, rel=2e-3)  # cut a tenth short
    heavy = loads(wanted, made).film - loads(wanted, replace(made, kinds=tuple(
        replace(kind, fitted=()) for kind in made.kinds), fitted=())).film  # fmt: skip
    assert heavy == pytest.approx(by_hand, rel=2e-3)
    (row,) = [row for row in first.to_buy(wanted, made) if "4 x 4" in row.what]
    for one in (first, second):
        assert all(f"{long:.1f} mm" in row.note for what, long, _ in one.lengths() if what.key == "4x4")
    lids = [part for part in made.parts if part.role is Role.LID]
    assert [sum(cut.name == "bar" for cut in lid.cuts) for lid in lids] == [4, 4]
    for laid in (*first.laid, *second.laid):
        assert sum(box(laid.rect).within(shapely.box(*lid.box)) for lid in lids) == 1
    keep_laws(wanted, made)
    assert {f.level for one, mine in zip(wanted.each, made.each, strict=True) for f in BarsRule().check(one, mine)} <= {
        "pass", "skip"
    }  # fmt: skip


def test_bars_glued_on_lids_are_for_one_kind_of_film() -> None:
    more = [{"format": "roll-6x9-single", "count": 1}]
    with pytest.raises(InputError) as refused:
        design(job(**PRINTED, more_films=more, bars={"place": "on"}))
    assert refused.value.field == "bars.place"
    design(job(**PRINTED, more_films=more, bars={"place": "in"}))  # what it says to do helps


def test_walls_beside_the_pockets_of_bars_are_measured_without_a_numeric_warning() -> None:
    """Eroded, one of these lids has two corners in one point, over which a mitre divides by zero."""
    more = [{"format": "roll-6x9-single", "count": 1}]
    wanted = job(**PRINTED, printer={"name": "p300"}, more_films=more, bars={})
    (found,) = Wall().check(wanted, design(wanted))
    assert found.level == "pass"
    assert isinstance(found.measured, float)
    assert found.measured > 0.8  # two lines of a 0.4 mm nozzle
