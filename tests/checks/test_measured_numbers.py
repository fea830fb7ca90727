"""The numbers in findings against arithmetic on designs made by hand (level alone would hide a wrong measure)."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from holders.checks.base import TRIED, Rule
from holders.checks.film.film_fit import Lip, Rebate, hidden_mm, rest_mm
from holders.checks.film.film_size import FilmSize
from holders.checks.focus.heights import FocusError, Layers, Stock
from holders.checks.focus.sharp import Sharpness, worst_words
from holders.checks.frame.clear import Calibration, Overlap
from holders.checks.frame.feet import Feet
from holders.checks.frame.fit import GlassFit, Lamp, LidRoom
from holders.checks.frame.walls import Ledge, Limits, Wall, wall_limits
from holders.checks.making.laser import Bridges
from holders.core.findings import Finding
from holders.design.model import EDGES, HEIGHT_CELLS, Cut, Design, Edges, Part, Rect
from holders.design.parts.roles import frame_parts, is_lid, lid_parts
from holders.design.parts.slices import breaks, covered_at, footprint, slices, solid_above, solid_below
from holders.design.sag import Sag
from holders.facts.tables import film_format
from holders.fittings.lid.check import LidFit, LidFlat
from holders.geometry.outline import rectangle
from holders.preset.resolve import Job
from holders.workshop.budget.contributors import contributors_of, frame_contributors, sharpness
from holders.workshop.budget.framed import framed
from holders.workshop.budget.share import sharp_share
from holders.workshop.stock import stacks_for
from tests.checks.make_design import FEET, job, make, window, with_heights, with_lid


def one(rule: Rule, made: tuple[Job, Design], words: str = "") -> Finding:
    return next(f for f in rule.check(*made) if words in f.subject)


def test_breaks_are_where_sections_change() -> None:
    assert breaks(make().parts) == pytest.approx((0.5, 1.5, 2.3, 3.1, 5.1))
    assert breaks(make("laser").parts) == pytest.approx((0.0, 3.0, 5.0))


def test_slices_add_up_to_the_height_and_the_volume() -> None:
    for part in make().parts:
        assert sum(item.thick for item in slices(part)) == pytest.approx(part.z1 - part.z0)
    low, high = make("knife").parts
    shell = 215 * 296 - 134 * 9.5
    assert sum(item.shape.area * item.thick for item in slices(low)) == pytest.approx(3 * (shell - 95 * 120))
    assert sum(item.shape.area * item.thick for item in slices(high)) == pytest.approx(
        2 * (shell - 101.1 * 126.1)
    )


def test_columns_of_material() -> None:
    parts = make().parts
    spots = [
        (6.5, 10.0),
        (30.0, 150.0),
        (60.0, 150.0),
        (100.0, 150.0),
    ]  # over a foot, plain, on the lip, in the window
    assert solid_below(parts, 3.1, spots) == pytest.approx(
        [1.6, 2.6, 1.6, 0.0]
    )  # the chamfer counts by mid-heights
    assert solid_above(parts, 1.5, spots[:2]) == pytest.approx([3.6, 3.6])


def test_a_repeated_part_covers_every_place() -> None:
    part = with_lid(make()).parts[-1]
    twice = replace(part, quantity=2, places=((0.0, 0.0), (300.0, 0.0)))
    assert footprint(twice).area == pytest.approx(2 * footprint(part).area)
    z = (part.z0 + part.z1) / 2
    assert covered_at((twice,), z).area == pytest.approx(2 * covered_at((part,), z).area)
    assert covered_at((part,), part.z1 + 1).is_empty


def test_lid_and_frame_are_told_apart() -> None:
    made = with_lid(make())
    assert [p.name for p in frame_parts(made)] == ["frame"]
    assert [p.name for p in lid_parts(made)] == ["lid"]
    assert not is_lid(made.parts[0])
    (frame,) = frame_parts(made)
    assert frame.z1 - frame.z0 == pytest.approx(4.6)


@pytest.mark.parametrize(("edge", "lip"), list(zip(EDGES, (1.9, 2.1, 2.3, 2.5), strict=True)))
def test_what_rests_when_film_is_pushed_aside(edge: str, lip: float) -> None:
    """Film 0.5 small in a pocket 0.55 larger each side moves 1.6: from its lip and 0.55 of pocket stay the rest."""
    w = window(lips=Edges(1.9, 2.1, 2.3, 2.5))
    assert rest_mm(w, edge, 0.5) == pytest.approx(lip + 0.55 - 1.6)  # type: ignore[arg-type]
    assert hidden_mm(w, edge) == pytest.approx(lip - 3.0)  # type: ignore[arg-type]


def test_the_worst_window_is_named() -> None:
    two = (window(), window(Rect(58, 240, 100, 40), lips=Edges(2.5, 1.7, 2.5, 2.5)))
    found = one(Lip(), (job(), make(windows=two)), "smallest")
    assert (found.measured, found.where) == (pytest.approx(0.65), "window 2, right edge")
    assert found.limit == 0.8


def test_lip_numbers() -> None:
    made = job(), make()
    assert one(Lip(), made, "largest film enters").measured == pytest.approx(0.6)
    assert (
        one(Lip(), (job(), make(windows=(window(lips=Edges(4.0, 4.0, 4.0, 4.2)),))), "border").measured == 1.2
    )


def test_rebate_is_border_less_shade() -> None:
    w = window(lips=Edges(2.5, 2.5, 1.0, 2.5), shaded=Edges(0, 0, 0.7, 0))
    asked = job(preset={"lip": {"rebate_edge": "head", "rebate_mm": 2.0}})
    assert one(Rebate(), (asked, make(windows=(w,)))).measured == pytest.approx(1.3)


def test_focus_margin_and_doubt() -> None:
    wanted = job(printer={"z_tolerance_mm": 0.15})
    made = with_heights(make(), sharp_plane=3.3)
    under = framed(wanted, made, HEIGHT_CELLS)
    assert under is not None
    found = one(FocusError(), (wanted, made))
    # the middle between cold and warm; standard deviations: focus 0.1, print 0.15/sqrt 3, feet 0.1/sqrt 3 and half of
    # what warmth lifts over sqrt 3 (even limits, GUM 4.3.7)
    middle = 3.3 - under.mean_mm + under.lift_mm / 2
    assert found.measured == pytest.approx(3.7 - middle, abs=1e-4)
    assert found.limit == pytest.approx(
        2 * math.sqrt(0.1**2 + 0.15**2 / 3 + 0.1**2 / 3 + (under.lift_mm / 2) ** 2 / 3), abs=1e-4
    )
    assert f"cold frame sag under the picture {under.mean_mm:.2f} mm, " in found.where
    assert f"warm frame bow under the picture {under.lift_mm:.2f} mm" in found.where
    hanging = with_heights(make(sag=Sag(0.6, 0.3, 2.0, 1.0)), sharp_plane=3.4)
    shift = under.lift_mm / 2 - under.mean_mm  # the film hangs 0.3 mm in the mean
    assert one(FocusError(), (job(), hanging)).measured == pytest.approx(0.6 - abs(shift), abs=1e-4)
    bulging = make(sag=Sag(0.0, -0.3, 3.1, 1.0))
    assert one(FocusError(), (job(), bulging)).measured == pytest.approx(0.3 - shift, abs=1e-4)


def test_focus_doubt_of_a_glued_stack() -> None:
    """Two sheets of 1.5 mm, one caliper reading (±0.03 at two sigma, twice), a glue line of ±0.04."""
    listed = {"material": {"name": "stuff", "sheets_mm": [1.5, 2.0], "glue_spread_mm": 0.04}}
    wanted = job("knife", preset=listed, material={"glue_spread_mm": 0.04}, bed={"face_difference_k": 0.0})
    made = make("knife")
    low, high = made.parts
    ledge = low.slabs[0]
    pair = tuple(
        replace(low, name=f"sheet-{k}", slabs=(replace(ledge, z0=z, z1=z + 1.5),))
        for k, z in ((1, 0.0), (2, 1.5))
    )
    found = one(FocusError(), (wanted, replace(made, parts=(*pair, high))))
    assert found.limit == pytest.approx(2 * math.sqrt(0.1**2 + 0.03**2 + 0.04**2 / 3), abs=1e-4)


def test_chance_of_a_sharp_picture_in_words() -> None:
    """The chances themselves are checked in tests/workshop/test_shop_share.py."""
    sure = job(
        "knife",
        bed={"focus_sigma_mm": 0.3, "face_difference_k": 0.0},
        preset={"material": {"name": "stuff", "sheets_mm": [3.0, 2.0]}},
    )
    made = with_heights(make("knife"), focus_sigma=0.3, sharp_plane=3.4)
    made = replace(made, sag=Sag(0.6, 0.3, 2.4, 1.0, reach_mm=(-0.6, 0.0)))
    (chance,) = Sharpness().check(sure, made)
    found = sharp_share(sure, made)
    assert chance.subject == "chance that at least 90% of the picture is sharp, and free of rings"
    assert chance.measured == pytest.approx(100 * found.most.value, abs=1e-3)
    assert (chance.limit, chance.unit, chance.level) == (90.0, "%", "warn")
    assert f"sharp to the very corners: {100 * found.whole.value:.1f} %" in chance.where
    assert "for film of the usual curl" in chance.where
    assert "most of what moves the picture: focus height" in chance.where
    assert "measure where the scanner is sharpest" in chance.advice
    height = {"bed": {"name": "bed", "focus_height_mm": 3.1}}
    for extra, words in (
        ({}, "measure again where"),
        ({"supposed": ["bed.focus_height_mm = 3.1"]}, "measure where"),
    ):
        preset = sure.preset.model_validate({**sure.preset.model_dump(exclude_unset=True), **height, **extra})
        (again,) = Sharpness().check(replace(sure, preset=preset), made)
        assert again.advice.startswith(words)
    # 0.6 is two sigma of focus, 0.03 of the sheet, 0.3 half of the film's reach: if all of them conspired
    assert "which hardly happens: -0.93 to +0.93 mm from best focus, where -0.60 to +0.60" in worst_words(
        found.stack
    )
    assert "hardly happens" not in chance.where  # a warning has numbers enough
    (flat,) = Sharpness().check(sure, with_heights(make("knife"), sharp_plane=3.1))
    assert "taken as flat" in flat.where
    certain = job(
        "knife", bed={"focus_sigma_mm": 0.01, "face_difference_k": 0.0}, preset=sure.preset.model_dump()
    )
    (good,) = Sharpness().check(certain, with_heights(make("knife"), focus_sigma=0.01, sharp_plane=3.1))
    assert good.level == "pass"
    assert "sharp even if every tolerance were used up the same way" in good.where


def test_what_the_frame_does_is_in_the_stack() -> None:
    stood = job(bed={"face_difference_k": 3.0})
    under = framed(stood, make(), HEIGHT_CELLS)
    assert under is not None
    sag, bow = contributors_of(under)
    assert frame_contributors(stood, make()) == (sag, bow)
    low, high = under.range_mm
    assert (sag.shift_mm, sag.limit_mm) == pytest.approx((-(low + high) / 2, (high - low) / 2))
    assert sag.over_picture
    assert (bow.shift_mm, bow.limit_mm) == pytest.approx((under.lift_mm / 2, under.lift_mm / 2))
    with_frame, without = sharpness(stood, make(), under=under), sharpness(stood, make())
    assert with_frame.worst_low_mm == pytest.approx(without.worst_low_mm - high)
    assert with_frame.worst_high_mm == pytest.approx(without.worst_high_mm - low + under.lift_mm)


def test_layers_and_rounding_share() -> None:
    found = one(Layers(), (job(), with_heights(make(), ledge_wanted=2.69)), "rounded")
    assert found.measured == pytest.approx(0.09)
    assert "sharp over ±0.60 mm" in found.where  # a millimetre beside millimetres, no share of a half width
    assert one(Layers(), (job(), make(foot_recess=0.75)), "recess").measured == pytest.approx(3.75)
    bare = [f.subject for f in Layers().check(job(preset={"feet": None}), make(feet=(), foot_recess=0.0))]
    assert bare == ["ledge rounded to whole layers"]


def test_spread_of_sheets() -> None:
    """Cast acrylic, ISO 7823-1: ± (0.4 + 0.1 t), so 3 mm is ± 0.7 mm (a maker's page on tolerances, read)."""
    cast = job("laser", material={"stock_tolerance_mm": 0.4, "stock_tolerance_share": 0.1})
    spread = one(Stock(), (cast, make("laser")), "spread")
    assert spread.measured == pytest.approx(0.7)
    assert spread.level == "warn"
    assert "nominal" in spread.where
    measured = job("laser", preset={"material": {"name": "stuff", "sheets_mm": [3.0, 2.0]}})
    found = one(Stock(), (measured, make("laser")), "spread")
    assert found.measured == pytest.approx(0.03)
    assert found.level == "pass"


def test_how_a_stack_ranks() -> None:
    def ranked(wanted: float, *sheets: float) -> Finding:
        made = with_heights(make("knife"), ledge_wanted=wanted)
        listed = {"material": {"name": "stuff", "sheets_mm": list(sheets)}}
        bed = {"focus_height_mm": wanted, "focus_band_mm": 0.2}
        return one(Stock(), (job("knife", preset=listed, bed=bed), made), "ranks")

    first = ranked(3.0, 2.0, 3.0)
    assert (first.level, first.measured, first.unit) == (
        "pass",
        1,
        "of 14 stacks",
    )  # C(2+n-1, n) for n = 1..4
    assert "3 mm makes 3.00 mm, +0.00 mm from the best height" in first.where
    worse = ranked(3.3, 2.0, 3.0, 3.3)
    assert worse.level == "warn"
    assert float(worse.measured or 0) > 1
    assert worse.advice == "stack 3.3 mm instead"
    none = ranked(2.5, 2.0, 3.0)
    assert none.level == "warn"
    assert "no stack of these sheets reaches the band 2.30 to 2.70 mm" in none.where
    assert none.advice == TRIED  # the material is sold in 2 and 3 mm only
    bought = one(
        Stock(),
        (
            job(
                "knife",
                preset={"material": {"name": "stuff", "sheets_mm": [3.0]}},
                bed={"focus_height_mm": 2.0, "focus_band_mm": 0.2},
            ),
            with_heights(make("knife"), ledge_wanted=2.0),
        ),
        "ranks",
    )
    assert bought.advice == "get a sheet of 2 mm"
    assert "a sheet of 2 mm would make 2 = 2.00 mm, in the band" in bought.where


def test_distances_on_the_bed() -> None:
    made = job(), make()
    assert one(Calibration(), made).measured == pytest.approx(2.0)
    assert one(GlassFit(), made).measured == pytest.approx(0.5)
    assert one(Lamp(), made).measured == pytest.approx(60.5 - 12)
    covered = one(Calibration(), (job(), make(calibration=Rect(40, 0, 130, 15))))
    assert covered.measured == pytest.approx(130 * 5)
    assert one(LidRoom(), made).measured == pytest.approx(5.1)


def test_a_small_holder_that_nothing_holds_is_set_by_a_ruler() -> None:
    small = job(), make(glass=Rect(-20, -20, 256, 337))
    held = one(GlassFit(), small, "held in its place")
    assert held.level == "warn"
    assert held.measured == pytest.approx(20.5)  # half of what the glass leaves on either side
    assert "20.5 mm from the left rim and 20.5 mm from the home rim" in held.advice
    assert one(GlassFit(), (job(), make()), "held in its place").level == "pass"


def test_overlap_area() -> None:
    found = one(Overlap(), (job(preset={"lid": {}}), with_lid(make(), gap=-0.1)), "parts")
    assert found.measured == pytest.approx(101.3 * 126.3 - 101.1 * 126.1, abs=1e-3)


def test_lid_numbers() -> None:
    found = one(LidFit(), (job(preset={"lid": {}}), with_lid(make(), gap=0.27)), "side")
    assert found.measured == pytest.approx(0.27)


def test_ledge_ignores_a_fingernail_dip_but_not_a_missing_ledge() -> None:
    made = make()
    dip = Cut("scoop", rectangle(55, 140, 4.4, 16), 2.7, 3.1)
    dipped = replace(made, parts=(replace(made.parts[0], cuts=(*made.parts[0].cuts, dip)),))
    assert one(Ledge(), (job(), dipped)).measured == pytest.approx(0.8)


def _limits(of: Job, part: Part) -> Limits:
    return wall_limits(of.material, of.printer, part)


def test_wall_limits_by_route() -> None:
    assert _limits(job(printer={"nozzle_mm": 0.6}), make().parts[0]) == (1.2, 0.6)
    assert _limits(job("laser"), make("laser").parts[0]) == (3.0, 1.0)
    assert _limits(job("laser", material={"min_web_mm": 0.0}), make("laser").parts[0]) == (3.0, 0.5)
    assert _limits(job("knife", material={"min_web_mm": 0.0}), make("knife").parts[0]) == (3.0, 1.5)


def test_wall_and_bridge_agree_on_a_sheet() -> None:
    two = (window(Rect(20, 86, 60, 80)), window(Rect(83.1, 86, 60, 80)))
    made = job("laser"), make("laser", two)
    walls = [f for f in Wall().check(*made) if "wall" in f.where]
    bridges = [f for f in Bridges().check(*made) if "wall" in f.where]
    assert walls[0].measured == pytest.approx(2.0, abs=0.01)
    assert bridges[0].measured == pytest.approx(2.0, abs=1e-6)


def test_feet_numbers() -> None:
    made = job(), make()
    assert one(Feet(), made, "stand out").measured == pytest.approx(0.5)
    assert one(Feet(), made, "above a foot").measured == pytest.approx(3.6)
    assert one(Feet(), made, "one line").measured == pytest.approx(203.0)
    half_off = (replace(FEET[0], x=0.5), *FEET[1:])
    bare = one(Feet(), (job(), make(feet=half_off)), "behind")
    assert bare.measured == pytest.approx(0.5, abs=2e-3)
    under = (replace(FEET[0], x=100.0, y=150.0), *FEET[1:])
    assert one(Feet(), (job(), make(feet=under)), "off windows").measured == pytest.approx(
        math.pi * 9, rel=2e-3
    )


def test_a_slip_in_a_size_is_told_with_the_format_that_it_is() -> None:
    wanted = replace(
        job(preset={"film": {"format": "4x5", "cut_width_mm": 127.0, "cut_height_mm": 177.5}}),
        film=film_format("4x5").model_copy(update={"cut_width_mm": 127.0, "cut_height_mm": 177.5}),
    )
    found = one(FilmSize(), (wanted, make()))
    assert 'film.format = "5x7" is of this size' in found.advice
    strip = film_format("35mm-strip").model_copy(update={"image_height_mm": 24.0})
    half = replace(job(preset={"film": {"format": "35mm-strip", "image_height_mm": 24.0}}), film=strip)
    assert one(FilmSize(), (half, make())).level == "skip"  # a strip has what frames its camera made


def test_advice_on_stock_never_names_a_sheet_that_would_not_help() -> None:
    """One sheet of 3 mm: whether a further thickness helps is asked of the search, in all findings alike."""
    for wanted, buyable in ((3.6, (2.0, 3.0)), (3.6, (3.0, 3.5)), (9.7, (2.0, 3.0))):
        made = with_heights(make("knife"), ledge_wanted=wanted)
        listed = {"material": {"name": "stuff", "sheets_mm": [3.0]}}
        holder = job("knife", material={"stock_mm": buyable}, preset=listed, bed={"focus_height_mm": wanted})
        more = stacks_for(holder, made).one_more
        told = [f.advice for f in Stock().check(holder, made) if f.subject == "ledge made of whole sheets"]
        assert told
        assert ("get a sheet of" in told[0]) == (more is not None)
        if more is not None:
            assert f"{more.thickness_mm:g} mm" in told[0]


def test_a_lid_that_is_cut_through_is_no_missing_lid() -> None:
    assert [f.advice for f in LidFlat().check(job(), make())] == ["the holder has no lid"]


def test_a_lid_with_nothing_to_it_has_no_clearance() -> None:
    """Its hole is as large as its body (seen when odd designs were tried)."""
    lidded = with_lid(make())
    part = lidded.parts[-1]
    slab = part.slabs[0]
    hollow = replace(part, slabs=(replace(slab, region=replace(slab.region, holes=(slab.region.outer,))),))
    made = replace(lidded, parts=(*lidded.parts[:-1], hollow))
    found = [f for f in LidFit().check(job(preset={"lid": {}}), made) if "side clearance" in f.subject]
    assert [f.level for f in found] == ["skip"]
