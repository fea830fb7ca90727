"""Stack-up: worked examples of worst case, root sum of squares and Monte Carlo; laws; contributors of real holders."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError
from holders.design.held.film_in_holder import designed
from holders.design.resolve import design
from holders.preset.load import load
from holders.preset.resolve import resolve
from holders.workshop.budget.contributors import contributors, sharpness, sheets_below
from holders.workshop.budget.tolerance import (
    Contributor,
    draw,
    normal_inside,
    root_sum_square,
    shift,
    stack_up,
    standard_deviation,
    worst_case,
)
from tests.presets_made import SHIPPED, job
from tests.tolerance import within

# Motor assembly, gap between shaft and bearing cap: P. Drake (ed.), Dimensioning and Tolerancing Handbook (1999), ch. 9
# "Traditional approaches to analyzing mechanical tolerance stacks", from memory; the sums below bear it out.
# (sensitivity x nominal, plus or minus), inch
MOTOR = (
    (-0.3595, 0.0155), (0.0320, 0.0020), (0.0600, 0.0030), (0.4305, 0.0075), (0.1200, 0.0050), (1.5030, 0.0070),
    (0.1200, 0.0050), (0.4305, 0.0075), (0.4500, 0.0070), (-3.0250, 0.0060), (0.3000, 0.0300),
)  # fmt: skip


def motor() -> list[Contributor]:
    return [Contributor(f"item {k}", limit, nominal) for k, (nominal, limit) in enumerate(MOTOR)]


def test_handbook_motor_assembly() -> None:
    parts = motor()
    assert shift(parts) == pytest.approx(0.0615, abs=5e-5)
    low, high = worst_case(parts)
    assert (high - low) / 2 == pytest.approx(0.0955, abs=5e-5)
    assert low == pytest.approx(-0.0340, abs=5e-5)  # worst case: the parts may interfere
    assert high == pytest.approx(0.1570, abs=5e-5)
    assert root_sum_square(parts) == pytest.approx(0.0381, abs=5e-5)
    assert shift(parts) - root_sum_square(parts) > 0  # statistically they do not


def test_gum_end_gauge() -> None:
    # JCGM 100:2008 H.1: 25, 9.7, 2.9 and 16.6 nm combine to 32 nm (from memory)
    parts = [
        Contributor(name, 2 * u, law="normal")
        for name, u in (("standard", 25.0), ("difference", 9.7), ("expansion", 2.9), ("temperature", 16.6))
    ]
    assert standard_deviation(parts) == pytest.approx(32, abs=0.5)
    assert stack_up(parts, -100, 100, 2000).largest == "standard"


@pytest.mark.parametrize(("law", "factor"), [("even", 3), ("triangular", 6)])
def test_gum_type_b_divisors(law: str, factor: float) -> None:
    # JCGM 100:2008 4.3.7 and 4.3.9: a/sqrt(3) and a/sqrt(6) (from memory); the draw agrees
    part = Contributor("a", 0.6, law=law)  # type: ignore[arg-type]
    assert part.sigma_mm == pytest.approx(0.6 / math.sqrt(factor))
    assert np.std(draw([part], 200_000)) == pytest.approx(part.sigma_mm, rel=5e-3)


def test_gum_supplement_four_rectangles() -> None:
    # JCGM 101:2008 9.2.3: four rectangular quantities of unit standard deviation; the shortest 95 % interval of the sum
    # is +-3.88 (closed form 2 sqrt(3) (2 - (3/5)^(1/4))), while a normal sum would say +-3.92 (from memory)
    parts = [Contributor(f"x{k}", math.sqrt(3)) for k in range(4)]
    closed = 2 * math.sqrt(3) * (2 - (3 / 5) ** 0.25)
    assert closed == pytest.approx(3.88, abs=0.005)
    sums = draw(parts, 1_000_000)
    assert np.quantile(np.abs(sums), 0.95) == pytest.approx(closed, abs=0.01)
    found = stack_up(parts, -closed, closed, 1_000_000)
    assert found.chance.value == pytest.approx(0.95, abs=4 * found.chance.error)
    assert found.chance_normal == pytest.approx(math.erf(closed / 2 / math.sqrt(2)))
    assert found.chance_normal < found.chance.value


def test_two_rectangles_make_a_triangle() -> None:
    # the sum of two even errors of +-a lies within +-a with chance 3/4 (area under a triangle, exact)
    found = stack_up([Contributor("a", 0.1), Contributor("b", 0.1)], -0.1, 0.1)
    assert within(found.chance.value - 0.75, 4 * found.chance.error)
    assert found.chance_point == found.chance


def test_sag_must_fit_as_a_whole() -> None:
    # the picture reaches from -0.3 to 0.1 about its ledge; a band of +-0.4 leaves the ledge -0.1 .. 0.3; even +-0.4
    parts = [Contributor("ledge", 0.4), Contributor("sag", 0.2, -0.1, over_picture=True)]
    found = stack_up(parts, -0.4, 0.4)
    assert within(found.chance.value - 0.4 / 0.8, 4 * found.chance.error)
    assert found.chance_point.value > found.chance.value


def test_shift_alone_is_sharp_or_not() -> None:
    assert stack_up([Contributor("rounding", 0.0, 0.05)], -0.1, 0.1).chance.value == 1.0
    miss = stack_up([Contributor("rounding", 0.0, 0.15)], -0.1, 0.1)
    assert miss.chance.value == 0.0
    assert miss.chance.error > 0  # no estimate is certain
    assert not miss.surely_sharp
    assert miss.largest == "rounding"


def test_same_seed_same_answer_and_streams_of_their_own() -> None:
    parts = [Contributor("a", 0.1), Contributor("b", 0.2, law="normal")]
    assert stack_up(parts, -0.1, 0.1) == stack_up(parts, -0.1, 0.1)
    assert stack_up(parts, -0.1, 0.1) != stack_up(parts, -0.1, 0.1, seed=7)
    alone, both = draw(parts[:1], 1000), draw(parts, 1000)
    assert np.std(both - alone) == pytest.approx(0.1, rel=0.1)


@pytest.mark.parametrize(
    ("parts", "band", "samples"),
    [
        ([], (-1, 1), 1000),
        ([Contributor("a", 0.1)], (1, 1), 1000),
        ([Contributor("a", 0.1)], (-1, 1), 10),
        ([Contributor("a", -0.1)], (-1, 1), 1000),
        ([Contributor("a", 0.1, math.nan)], (-1, 1), 1000),
    ],
)
def test_refusals(parts: list[Contributor], band: tuple[float, float], samples: int) -> None:
    with pytest.raises(InputError):
        stack_up(parts, *band, samples)


lengths = st.floats(0.0, 0.5).map(lambda x: round(x, 6))
some = st.lists(
    st.builds(
        Contributor,
        st.just("x"),
        lengths,
        st.floats(-0.2, 0.2).map(lambda x: round(x, 6)),
        st.sampled_from(("even", "normal", "triangular")),
        st.sampled_from((1.0, 2.0)),
    ),
    min_size=1,
    max_size=6,
)


@settings(max_examples=60, deadline=None)
@given(some, st.floats(0.05, 1.0))
def test_laws_of_the_stack_up(parts: list[Contributor], half: float) -> None:
    found = stack_up(parts, -half, half, 4000)
    reach = (found.worst_high_mm - found.worst_low_mm) / 2
    assert found.rss_mm <= reach + 1e-12
    assert found.sigma_mm <= found.rss_mm + 1e-12
    assert found.worst_low_mm <= found.shift_mm <= found.worst_high_mm
    assert 0 <= found.chance.value <= 1
    assert sum(share for _, share in found.shares) == pytest.approx(
        1.0 if found.sigma_mm or any(p.shift_mm for p in parts) else 0.0
    )
    wider = stack_up(parts, -2 * half, 2 * half, 4000)
    assert wider.chance.value >= found.chance.value
    if found.surely_sharp and all(p.law != "normal" for p in parts):
        assert found.chance.value == 1.0
    assert root_sum_square([*parts, Contributor("more", 0.1)]) > found.rss_mm


@settings(max_examples=30, deadline=None)
@given(
    st.lists(
        st.builds(Contributor, st.just("x"), lengths, st.floats(-0.2, 0.2), st.just("normal")), min_size=1
    )
)
def test_normal_sums_agree_with_the_closed_form(parts: list[Contributor]) -> None:
    found = stack_up(parts, -0.3, 0.3, 40_000)
    assert within(found.chance.value - found.chance_normal, 5 * found.chance.error + 1e-3)


def test_normal_inside_two_sigma() -> None:
    assert normal_inside(0, 1, -1.959964, 1.959964) == pytest.approx(0.95, abs=1e-6)  # the 95 % point
    assert normal_inside(0, 0, -1, 1) == 1.0
    assert normal_inside(2, 0, -1, 1) == 0.0


# --- real holders ----------------------------------------------------------------------------------------------------


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: Path(p).stem)
def test_shifts_add_up_to_the_design(path: Path) -> None:
    made = resolve(load(path))
    holder = design(made)
    parts = contributors(made, holder)
    film = sum(p.shift_mm for p in parts if p.name.startswith("film"))
    assert shift(parts) - film == pytest.approx(holder.heights.sharp_plane - holder.heights.focus)
    for part in parts:
        assert part.source
    found = sharpness(made, holder, samples=5000)
    assert found.chance.value > 0.5  # a shipped preset is more likely sharp than not
    assert found.largest in {p.name for p in parts}


def test_layers_of_one_sheet_count_together() -> None:
    made = job(
        route="laser",
        material={"name": "plywood-birch", "sheets_mm": [1.5]},
        bed={"name": "a4-wide", "focus_height_mm": 3.0},
    )
    holder = design(made)
    assert sheets_below(holder) == pytest.approx((1.5, 1.5))
    sheet = next(p for p in contributors(made, holder) if p.name.startswith("sheet"))
    assert sheet.times == 2
    assert sheet.reach_mm == pytest.approx(0.06)
    (glue,) = (p for p in contributors(made, holder) if p.name.startswith("glue"))
    # the design counts the line itself: only what it may be off is left
    assert (glue.shift_mm, glue.reach_mm) == (0.0, 0.04)
    assert holder.heights.ledge_height == pytest.approx(3.05)


def test_each_route_names_its_own() -> None:
    printed = job(film={"format": "4x5", "emulsion": "up"}, feet={"count": 4, "thickness_mm": 1.0})
    names = {p.name for p in contributors(printed, design(printed), (-0.2, 0.0))}
    assert names == {
        "focus height", "rounding to layers", "printer's height", "feet", "film thickness", "sag of the film",
    }  # fmt: skip
    aimed = design(printed, wanted_plane_mm=3.3)
    parts = contributors(printed, aimed)
    assert next(p.shift_mm for p in parts if p.name == "aimed off focus") == pytest.approx(
        3.3 - aimed.heights.focus
    )
    # known sag: what the ledge was aimed off focus is what meets it, and counts with it
    met = contributors(printed, aimed, (-0.5, -0.1))
    assert "aimed off focus" not in {p.name for p in met}
    sag = next(p for p in met if p.name == "sag of the film")
    assert sag.shift_mm == pytest.approx(3.3 - aimed.heights.focus - 0.3)
    assert shift(met) == pytest.approx(shift(parts) - 0.3)


def test_a_design_brings_its_film_along() -> None:
    made = job(film={"format": "8x10"})
    holder, film = designed(made)
    assert film.grid is not None
    assert holder.sag is not None
    assert holder.sag.reach_mm is not None
    assert contributors(made, holder) == contributors(made, holder, holder.sag.reach_mm)
    # emulsion down and no mount: the surface is the film's own underside, read from the same grid
    ledge = holder.heights.drawn_ledge
    low, high = holder.sag.reach_mm
    assert ledge + low == pytest.approx(float(film.grid.z.min()), abs=0.002)
    assert -0.02 < high < 0.1


def test_an_unmeasured_cast_sheet_is_the_largest() -> None:
    made = job(
        route="laser", material={"name": "acrylic-cast"}, bed={"name": "a4-wide", "focus_sigma_mm": 0.05}
    )
    found = sharpness(made, design(made), samples=5000)
    assert found.largest.startswith("sheet of 3 mm")
    measured = job(
        route="laser",
        material={"name": "acrylic-cast", "sheets_mm": [3.0]},
        bed={"name": "a4-wide", "focus_sigma_mm": 0.05},
    )
    better = sharpness(measured, design(measured), samples=5000)
    assert better.chance.value > found.chance.value
    assert not better.largest.startswith("sheet")


def test_a_range_upside_down_is_refused() -> None:
    made = job()
    with pytest.raises(InputError, match="lower end first"):
        contributors(made, design(made), (0.1, -0.1))


def test_an_insert_on_a_carrier_stacks_two_printed_heights() -> None:
    made = resolve(load(next(p for p in SHIPPED if Path(p).stem == "4x5-insert")))
    printed = [p for p in contributors(made, design(made)) if p.name.startswith("printer's height")]
    assert made.printer is not None
    assert [p.limit_mm for p in printed] == [made.printer.z_tolerance_mm] * 2
