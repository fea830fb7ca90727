"""Frames on feet: beams of handbooks, feet and glass that only push, domes, and what more feet do."""

from __future__ import annotations

import math
from dataclasses import replace

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError, NotConverged
from holders.design.model import Design, Foot, Part, Rect, Slab, Window
from holders.design.parts.members import (
    Fill,
    Layer,
    SectionMaterial,
    beams_of,
    core_of,
    section_of,
    stretches_of,
)
from holders.geometry.outline import Region, rectangle
from holders.workshop.budget.framed import coons, framed, over_window
from holders.workshop.stiffness.onfeet import Lying, Stand, loads, lying, stand_of, with_foot
from holders.workshop.stiffness.standing import hanging
from tests.checks.make_design import FILM, job, make, with_heights, with_lid

W, H, RAIL, T = 200.0, 280.0, 20.0, 5.0
STUFF = SectionMaterial(2000.0, 0.38, 1270.0)
LX, LY = W - RAIL, H - RAIL  # between the middles of the rails
Q = RAIL * T * 1270 * 9.80665e-9
EI = 2000.0 * RAIL * T**3 / 12


def ring(room: float = 1e9, share: float = 1.0, stuff: SectionMaterial = STUFF) -> Stand:
    """A plain frame without feet yet: four rails of 20 x 5 mm."""
    hole = rectangle(RAIL, RAIL, W - 2 * RAIL, H - 2 * RAIL)
    part = Part("f", "f", "knife", "m", 1, (Slab("s", 0.0, T, Region(rectangle(0, 0, W, H), (hole,))),))
    inside = Rect(RAIL, RAIL, W - 2 * RAIL, H - 2 * RAIL)
    return Stand(*beams_of(stretches_of([part], [inside], ((), ())), stuff), (), room, share)


def stood(
    spots: list[tuple[float, float]], room: float = 1e9, share: float = 1.0, stuff: SectionMaterial = STUFF
) -> Stand:
    stand = ring(room, share, stuff)
    for spot in spots:
        stand = with_foot(stand, spot)
    return stand


CORNERS = [(x, y) for x in (10.0, 190.0) for y in (10.0, 270.0)]


def side_mm(found: Lying, share: float, x: float = 10.0) -> float:
    """Depth along the left rail at that share of its length."""
    return float(found.at([(x, 10.0 + share * LY)])[0])


# --- beams: Roark's Formulas for Stress and Strain and tables of continuous beams (from memory; exact for beams) ------


def test_each_side_on_corner_feet_is_a_beam_on_two_supports() -> None:
    """By symmetry both ends of a rail turn alike, so none twists: each side is free at its ends, 5 q L⁴/(384 E I)."""
    found = lying(stood(CORNERS))
    assert side_mm(found, 0.5) == pytest.approx(5 * Q * LY**4 / (384 * EI), rel=1e-9)
    assert float(found.at([(100.0, 10.0)])[0]) == pytest.approx(5 * Q * LX**4 / (384 * EI), rel=1e-9)
    assert found.deepest_mm == pytest.approx(side_mm(found, 0.5))
    assert found.lifted == found.grounded == ()


def test_a_foot_in_the_middle_of_each_side_leaves_two_spans() -> None:
    """Beam over two equal spans: q L⁴/(185 E I) at 0.4215 L from its outer end, and nothing at its middle support."""
    found = lying(stood([*CORNERS, (10.0, 140.0), (190.0, 140.0)]))
    half = LY / 2
    assert side_mm(found, 0.5) == pytest.approx(0.0, abs=1e-9)
    assert side_mm(found, 0.4215 / 2) == pytest.approx(Q * half**4 / (184.6 * EI), rel=1e-3)
    four = 5 * Q * LY**4 / (384 * EI)
    assert found.deepest_mm < 0.5 * four  # the short side is now the deepest: 5 q LX⁴/(384 E I)
    assert found.deepest_mm == pytest.approx(5 * Q * LX**4 / (384 * EI), rel=1e-9)


def test_two_feet_on_each_side_leave_three_spans() -> None:
    """Beam over three equal spans: end span 0.00688, middle span 0.00052 of q L⁴/(E I)."""
    thirds = [(x, 10.0 + LY * k / 3) for x in (10.0, 190.0) for k in (1, 2)]
    found = lying(stood([*CORNERS, *thirds]))
    span = LY / 3
    assert side_mm(found, 0.446 / 3) == pytest.approx(0.00688 * Q * span**4 / EI, rel=2e-3)
    assert side_mm(found, 0.5) == pytest.approx(0.00052 * Q * span**4 / EI, rel=0.01)


def test_a_load_counts_in_proportion_and_a_softer_frame_hangs_more() -> None:
    plain, heavy = lying(stood(CORNERS)), lying(stood(CORNERS, share=1.7))
    assert heavy.deepest_mm == pytest.approx(1.7 * plain.deepest_mm)
    assert lying(stood(CORNERS), 0.5).deepest_mm == pytest.approx(2 * plain.deepest_mm)


def test_a_foot_beside_its_rail_holds_it_by_an_arm() -> None:
    """The arm stays straight; the rail may turn about its foot, so its own middle line moves a little."""
    beside = [(x + (6.0 if x < 100 else -6.0), y) for x, y in CORNERS]
    found = lying(stood(beside))
    assert [float(found.at([spot])[0]) for spot in beside] == pytest.approx([0.0] * 4, abs=1e-4)
    assert side_mm(found, 0.5) == pytest.approx(5 * Q * LY**4 / (384 * EI), rel=0.1)


# --- contact ---------------------------------------------------------------------------------------------------------


def test_a_limp_frame_comes_down_on_the_glass() -> None:
    free = lying(stood(CORNERS)).deepest_mm
    found = lying(stood(CORNERS, room=free / 2))
    assert found.deepest_mm == pytest.approx(free / 2, abs=1e-6)
    assert found.grounded
    assert lying(stood(CORNERS, room=1.01 * free)).grounded == ()


def test_a_dome_without_weight_is_a_sphere() -> None:
    """Curvature alike both ways bends no beam against another: the frame lies on a paraboloid through its feet."""
    light = stood(CORNERS, stuff=replace(STUFF, density_kg_m3=1e-6))
    kappa = 0.03  # per m
    found = lying(light, 1.0, kappa)

    def height(x: float, y: float) -> float:
        return kappa / 2000 * ((x - 10) * (190 - x) + (y - 10) * (270 - y))

    spots = [(10.0, 140.0), (100.0, 10.0), (20.0, 77.0), (180.0, 260.0)]
    assert [-float(d) for d in found.at(spots)] == pytest.approx([height(*s) for s in spots], rel=1e-6)


@pytest.mark.parametrize("arc", [0.5, 0.9, 1.1, 2.0])
def test_a_warm_frame_lifts_off_its_middle_feet_where_its_arc_is_higher_than_its_sag(arc: float) -> None:
    """kappa L²/8 against 5 q L⁴/(384 E I)."""
    kappa = arc * 1000 * 8 / LY**2 * 5 * Q * LY**4 / (384 * EI)
    stand = stood([*CORNERS, (10.0, 140.0), (190.0, 140.0)])
    found = lying(stand, 1.0, kappa)
    assert (len(found.lifted) == 2) == (arc > 1)
    if arc > 1:
        assert side_mm(found, 0.5) == pytest.approx(-(arc - 1) * 5 * Q * LY**4 / (384 * EI), rel=1e-6)


@settings(max_examples=25, deadline=None)
@given(st.floats(0.05, 2.0), st.floats(0.0, 0.1), st.floats(0.2, 3.0))
def test_nothing_goes_through_the_glass_and_no_foot_pulls(room: float, kappa: float, share: float) -> None:
    stand = stood([*CORNERS, (10.0, 140.0)], room=room, share=share)
    found = lying(stand, 1.0, kappa)
    assert found.deepest_mm <= room + 1e-6
    assert all(found.depth[n] <= 1e-6 for n in stand.feet)
    assert all(found.depth[n] < 1e-6 for n in found.lifted)


def test_what_tips_over_finds_no_rest() -> None:
    with pytest.raises(NotConverged):
        lying(stood([(10.0, 10.0), (10.0, 100.0), (30.0, 10.0)]))
    with pytest.raises(InputError):
        with_foot(Stand((), (), (), 1.0), (0.0, 0.0))


# --- how a print is filled -------------------------------------------------------------------------------------------


def test_a_filled_bar_by_hand() -> None:
    """A bar of 20 x 6 mm, walls 1.5, skins 1, and a core of 17 x 4 at a quarter; I = b h³/12 of both."""
    fill = Fill(1.5, 1.0, 0.25)
    found = section_of([Layer(20, 0, 6)], fill)
    assert found.bending == pytest.approx(20 * 6**3 / 12 - 0.75 * 17 * 4**3 / 12)
    assert found.area == pytest.approx(120 - 0.75 * 68)
    solid = section_of([Layer(20, 0, 6)])
    assert found.torsion / solid.torsion == pytest.approx(found.bending / solid.bending)
    assert section_of([Layer(20, 0, 6)], replace(fill, share=1.0)) == solid


def test_a_thin_bar_is_solid_whatever_its_fill() -> None:
    fill = Fill(1.35, 0.8, 0.25)
    assert core_of([Layer(20, 0, 1.6)], fill) == []
    assert core_of([Layer(2.7, 0, 9)], fill) == []


def test_a_step_keeps_a_skin_over_what_it_leaves_bare() -> None:
    """A ledge 20 wide under a wall 10 wide: the ledge's core ends a skin below its top, the wall's runs on into it."""
    core = core_of([Layer(20, 0, 4), Layer(10, 4, 8)], Fill(1.0, 1.0, 0.0))
    spans = [(c.width, round(c.z0, 6), round(c.z1, 6)) for c in core]
    assert sum((b - a) * w for w, a, b in spans) == pytest.approx(18 * 2 + 8 * 4)  # 1 to 3, then 3 to 7
    assert min(a for _, a, _ in spans) == pytest.approx(1.0)
    assert max(b for _, _, b in spans) == pytest.approx(7.0)


# --- whole holders ---------------------------------------------------------------------------------------------------


def test_more_feet_change_the_number() -> None:
    made = make()
    six = (*made.feet, *(replace(made.feet[0], x=x, y=148.5) for x in (6.5, 209.5)))
    eight = (*six, *(replace(made.feet[0], x=108.0, y=y) for y in (20.0, 287.0)))
    depths = []
    for feet in (made.feet, six, eight):
        found = hanging(job(), replace(made, feet=feet))
        assert found is not None
        depths.append((found.now_mm, found.session_mm))
    assert depths[1][0] < 0.6 * depths[0][0]
    assert depths[2][0] < depths[1][0]
    assert all(now < session for now, session in depths)


def test_lid_film_and_glass_are_carried() -> None:
    made = with_lid(make())
    plain, lidded = loads(job(), make()), loads(job(), made)
    film = 100 * 125 * 0.18 * 1390 * 9.80665e-9
    assert plain.film == pytest.approx(film)
    assert plain.loose == 0.0
    lid = made.parts[-1].slabs[0]
    hole = made.windows[0].opening.grown(0.3)
    body = made.windows[0].pocket.grown(-0.3)
    volume = (body.width * body.height - hole.width * hole.height) * (lid.z1 - lid.z0)
    assert lidded.loose == pytest.approx(volume * 1270 * 9.80665e-9)
    assert lidded.share(lidded.own) == pytest.approx(1 + (lidded.loose + film) / lidded.own)
    # filled to half the weight, the lid weighs half too, but the film does not
    assert lidded.share(lidded.own / 2) == pytest.approx(
        1 + lidded.loose / lidded.own + 2 * film / lidded.own
    )


def test_a_holder_that_lies_flat_does_not_hang() -> None:
    assert stand_of(job("laser"), make("laser")) is None
    assert hanging(job("laser"), make("laser")) is None


def test_a_frame_on_feet_in_one_corner_tips_down_to_the_glass() -> None:
    """Statics: its centre of mass lies outside the feet, so that the far side comes down until the glass bears it."""
    huddled = (Foot(6.5, 10.0, 6.0), Foot(6.5, 60.0, 6.0), Foot(20.0, 10.0, 6.0))
    found = hanging(job(), replace(make(), feet=huddled))
    assert found is not None
    assert found.span_mm == pytest.approx(math.hypot(13.5, 50.0))
    assert found.now_mm == pytest.approx(found.room_mm)
    assert found.room_mm == 0.5


# --- the frame under the picture -------------------------------------------------------------------------------------


def test_coons_patch_is_exact_for_a_sum_of_two_curves() -> None:
    """f(u) + g(v) is its own Coons patch, and so is a bilinear twist."""
    s = np.linspace(0, 1, 33)
    u, v = np.array([0.0, 0.25, 0.5, 1.0]), np.array([0.0, 0.5, 0.75])

    def f(x: object, y: object) -> object:
        return 3 * x * (1 - x) + 2 * y**2 + 0.7 * x * y + 1  # type: ignore[operator]

    edges = np.array([f(s, 0 * s), f(s, 0 * s + 1), f(0 * s, s), f(0 * s + 1, s)])
    want = [[f(a, b) for a in u] for b in v]
    assert coons(edges, s, u, v) == pytest.approx(np.array(want), abs=2e-3)  # linear between 33 points


def test_the_picture_is_as_deep_as_its_frame() -> None:
    made = make()
    stand = stand_of(job(), made)
    assert stand is not None
    found = lying(stand)
    depth = over_window(found, made.windows[0], 24)
    assert depth.shape == (24, 24)
    w = made.windows[0].opening
    rim = found.at([(w.x, w.y + w.height / 2), (w.right, w.y + w.height / 2)])
    assert depth[12, 0] == pytest.approx(float(rim[0]), rel=0.05)
    corner = made.windows[0].picture
    # the cells' middles lie half a cell inside: carried on to the corner, first across, then down
    near, next_ = 1.5 * depth[:2, 0] - 0.5 * depth[:2, 1]
    assert 1.5 * near - 0.5 * next_ == pytest.approx(float(found.at([(corner.x, corner.top)])[0]), rel=0.05)
    under = framed(job(), made, 24)
    assert under is not None
    low, high = under.range_mm
    assert low == pytest.approx(float(depth.min()))
    assert high == pytest.approx(float(depth.max()))
    assert low < under.mean_mm < high


def test_a_warm_picture_rises_by_the_sphere_under_it() -> None:
    """Four corner feet push cold and warm, so that the difference is the paraboloid alone."""
    made = make()
    under = framed(job(), made, 24)
    assert under is not None
    kappa = 65e-6 * 1 / 4.6e-3  # per m
    f = made.feet
    assert {(p.x, p.y) for p in f} == {(6.5, 10.0), (209.5, 10.0), (6.5, 287.0), (209.5, 287.0)}
    picture = FILM.inset(3.0, 3.0, 3.0, 3.0)
    u = (np.arange(24) + 0.5) / 24
    x, y = picture.x + u * picture.width, picture.top - u * picture.height
    want = kappa / 2000 * ((x - 6.5) * (209.5 - x))[None, :] + kappa / 2000 * ((y - 10) * (287 - y))[:, None]
    assert under.cold[0] - under.warm[0] == pytest.approx(want, rel=2e-3)
    assert under.lift_mm == pytest.approx(float(want.mean()), rel=1e-3)


def test_a_flat_holder_has_no_depth_when_cold() -> None:
    under = framed(job("laser"), make("laser"), 24)
    assert under is not None
    assert under.range_mm == (0.0, 0.0)
    assert under.lift_mm >= 0
    assert framed(job(), replace(make(), windows=()), 24) is None


def moved(design: Design, by: float) -> Window:
    return replace(design.windows[0], opening=design.windows[0].opening.grown(by))


def test_a_frame_that_is_no_grid_moves_the_picture_as_one() -> None:
    made = with_heights(replace(make(), windows=(moved(make(), 200.0),)), foot_protrusion=0.5)
    under = framed(job(), made, 24)
    assert under is not None
    found = hanging(job(), made)
    assert found is not None
    assert under.range_mm == pytest.approx((found.now_mm, found.now_mm))
