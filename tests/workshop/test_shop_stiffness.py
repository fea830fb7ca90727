"""Stiffness in the hand: beams against closed forms, frames against a plate solution, verdicts and cures."""

from __future__ import annotations

import math
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.core.errors import InputError, NotConverged
from holders.design.model import Part, Rect, Slab
from holders.design.parts.grillage import Beam, deflect
from holders.design.parts.members import (
    Layer,
    SectionMaterial,
    beams_of,
    openings_of,
    section_of,
    stretches_of,
)
from holders.design.resolve import design
from holders.facts.habits import habit
from holders.facts.tables import material
from holders.fittings.lid.flat import _side_of, lid_flatness
from holders.geometry.outline import Region, rectangle, region_area
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from holders.workshop.stiffness.creep import creep_factor, creep_share
from holders.workshop.stiffness.stiffness import (
    held_by_each_edge,
    in_hand,
    judge,
    sag_of,
    stuff_of,
)
from holders.workshop.stiffness.warm import warmth
from tests.presets_made import SHIPPED, job

EI, GJ, Q, L = 2.0e6, 1.1e6, 0.003, 240.0


def line(n: int, length: float = L, load: float = Q) -> tuple[list[tuple[float, float]], list[Beam]]:
    return [(length * k / n, 0.0) for k in range(n + 1)], [Beam(k, k + 1, EI, GJ, load) for k in range(n)]


# --- beams: Roark's Formulas for Stress and Strain, beams; Timoshenko, Strength of Materials (from memory; exact) -----


def test_cantilever_under_its_weight() -> None:
    nodes, beams = line(3)
    found = deflect(nodes, beams, clamped=[0])
    assert found.w[-1] == pytest.approx(Q * L**4 / (8 * EI), rel=1e-9)
    assert found.slope_x[-1] == pytest.approx(Q * L**3 / (6 * EI), rel=1e-9)
    assert found.residual < 1e-6


def test_cantilever_with_a_load_at_its_end() -> None:
    nodes, beams = line(4, load=0.0)
    found = deflect(nodes, beams, clamped=[0], point_loads=[(4, 0.5)])
    assert found.w[-1] == pytest.approx(0.5 * L**3 / (3 * EI), rel=1e-9)


def test_simple_supports() -> None:
    # a beam along x may still roll about its own axis: a clamp on that is the far end's twist, so use a cross bar
    nodes, beams = line(4)
    nodes = [*nodes, (0.0, 50.0)]
    beams = [*beams, Beam(0, 5, EI, 1e-9, 0.0)]
    found = deflect(nodes, beams, clamped=[], supported=[0, 4, 5])
    assert found.w[2] == pytest.approx(5 * Q * L**4 / (384 * EI), rel=1e-6)


def test_both_ends_clamped() -> None:
    nodes, beams = line(4)
    assert deflect(nodes, beams, clamped=[0, 4]).w[2] == pytest.approx(Q * L**4 / (384 * EI), rel=1e-9)


def test_right_angle_bend_twists_its_first_leg() -> None:
    # P a³/3EI + P b³/3EI + P a b²/GJ: bending of both legs and twist of the first (statics of a bent cantilever)
    a, b, p = 150.0, 90.0, 0.4
    nodes = [(0.0, 0.0), (a, 0.0), (a, b)]
    beams = [Beam(0, 1, EI, GJ, 0.0), Beam(1, 2, EI, GJ, 0.0)]
    found = deflect(nodes, beams, clamped=[0], point_loads=[(2, p)])
    want = p * a**3 / (3 * EI) + p * b**3 / (3 * EI) + p * a * b**2 / GJ
    assert found.w[2] == pytest.approx(want, rel=1e-9)


@settings(max_examples=30, deadline=None)
@given(st.integers(1, 5), st.integers(1, 5), st.floats(0.1, 3), st.floats(10, 200))
def test_maxwell_reciprocity(one: int, two: int, twist: float, side: float) -> None:
    # what a load at i does at j, the same load at j does at i (Maxwell, Betti)
    nodes = [(0.0, 0.0), (100.0, 0.0), (100.0, side), (0.0, side), (-40.0, side), (50.0, -30.0)]
    beams = [Beam(a, b, EI, twist * GJ, 0.0) for a, b in ((0, 1), (1, 2), (2, 3), (3, 0), (3, 4), (1, 5))]
    there = deflect(nodes, beams, [0], point_loads=[(one, 1.0)]).w[two]
    back = deflect(nodes, beams, [0], point_loads=[(two, 1.0)]).w[one]
    assert there == pytest.approx(back, rel=1e-6, abs=1e-12)


def test_a_grid_that_nothing_holds_is_refused() -> None:
    nodes, beams = line(2)
    with pytest.raises(NotConverged):
        deflect(nodes, beams, clamped=[])
    with pytest.raises(NotConverged):
        deflect([*nodes, (500.0, 0.0), (600.0, 0.0)], [*beams, Beam(3, 4, EI, GJ, Q)], clamped=[0])


# --- sections --------------------------------------------------------------------------------------------------------


def test_layers_joined_make_one_rectangle() -> None:
    whole, split = section_of([Layer(40, 0, 5)]), section_of([Layer(40, 0, 2), Layer(40, 2, 5)])
    assert whole.bending == pytest.approx(40 * 5**3 / 12)
    assert (split.area, split.bending, split.torsion) == pytest.approx(
        (whole.area, whole.bending, whole.torsion)
    )


def test_tee_section_by_hand() -> None:
    # flange 60 x 10 on a web 10 x 60: axis 20 mm below the top; I = 60·10³/12 + 600·15² + 10·60³/12 + 600·20²
    # (parallel axis theorem: axis at (600·65 + 600·30)/1200 = 47.5, so arms of 17.5 each)
    found = section_of([Layer(10, 0, 60), Layer(60, 60, 70)])
    want = 10 * 60**3 / 12 + 600 * 17.5**2 + 60 * 10**3 / 12 + 600 * 17.5**2
    assert found.bending == pytest.approx(want)
    assert found.area == 1200


@pytest.mark.parametrize(
    ("ratio", "k"),
    # torsion constant / (w h³) of a rectangle by its sides' ratio: Timoshenko and Goodier, Theory of Elasticity, and
    # Roark's table of torsion (from memory)
    [(1.0, 0.141), (2.0, 0.229), (3.0, 0.263), (4.0, 0.281), (5.0, 0.291), (10.0, 0.312)],
)
def test_torsion_of_a_rectangle(ratio: float, k: float) -> None:
    assert section_of([Layer(ratio, 0, 1)]).torsion / ratio == pytest.approx(k, rel=0.005)
    assert section_of([Layer(1, 0, ratio)]).torsion / ratio == pytest.approx(k, rel=0.005)  # standing on edge


def test_nothing_has_no_section() -> None:
    assert section_of([]).area == 0


# --- frames ----------------------------------------------------------------------------------------------------------


def ring(w: float, h: float, window: Rect, t: float) -> Part:
    hole = rectangle(window.x, window.y, window.width, window.height)
    return Part("f", "f", "knife", "m", 1, (Slab("s", 0.0, t, Region(rectangle(0, 0, w, h), (hole,))),))


def sag(part: Part, window: Rect, stuff: SectionMaterial, grip_middle: float) -> float:
    half = habit("hand-grip") / 2
    lines = (grip_middle - half, grip_middle, grip_middle + half)
    return sag_of(stretches_of([part], [window], (lines, ())), stuff, "head")[0]


def test_beams_weigh_what_the_frame_weighs() -> None:
    window = Rect(30, 40, 150, 200)
    part = ring(215, 296, window, 3.0)
    nodes, beams = beams_of(stretches_of([part], [window], ((), ())), SectionMaterial(2000, 0.3, 700))
    weight = sum(b.load * math.dist(nodes[b.start], nodes[b.end]) for b in beams)
    assert weight == pytest.approx(region_area(part.slabs[0].region) * 3.0 * 700 * 9.80665e-9, rel=1e-6)


def plate_sag(w: float, h: float, window: Rect, t: float, stuff: SectionMaterial, step: float) -> float:
    """The same frame as a thin plate, gripped at the middle of its head: scikit-fem, Morley triangles."""
    skfem = pytest.importorskip("skfem")
    helpers = pytest.importorskip("skfem.helpers")
    half = habit("hand-grip") / 2
    xs = sorted(
        {*np.arange(0, w + 1e-9, step).round(6), window.x, window.right, w, w / 2 - half, w / 2 + half}
    )
    ys = sorted({*np.arange(0, h + 1e-9, step).round(6), window.y, window.top, h})
    mesh = skfem.MeshTri.init_tensor(np.array(xs), np.array(ys))
    cx, cy = mesh.p[:, mesh.t].mean(axis=1)
    hole = (cx > window.x) & (cx < window.right) & (cy > window.y) & (cy < window.top)
    mesh = mesh.restrict(np.nonzero(~hole)[0])
    basis = skfem.Basis(mesh, skfem.ElementTriMorley())
    nu = stuff.poisson
    rigid = stuff.modulus_mpa * t**3 / 12 / (1 - nu**2)

    def energy(u, v, _):  # type: ignore[no-untyped-def]
        a, b = helpers.dd(u), helpers.dd(v)
        return rigid * ((1 - nu) * helpers.ddot(a, b) + nu * helpers.trace(a) * helpers.trace(b))

    def weight(v, _):  # type: ignore[no-untyped-def]
        return stuff.density_kg_m3 * 9.80665e-9 * t * v

    held = mesh.facets_satisfying(
        lambda x: (abs(x[1] - h) < 1e-6) & (abs(x[0] - w / 2) <= half + 1e-6), boundaries_only=True
    )
    u = skfem.solve(
        *skfem.condense(
            skfem.BilinearForm(energy).assemble(basis),
            skfem.LinearForm(weight).assemble(basis),
            D=basis.get_dofs(held).all(),
        )
    )
    return float(u[basis.nodal_dofs[0]].max())


@pytest.mark.parametrize(
    ("window", "low", "high"),
    # measured on a 5 mm mesh: 0.971, 0.872, 0.983 of the plate's sag; wide members are shorter than they count
    [
        (Rect(12, 26, 191, 244), 0.95, 1.0),
        (Rect(40, 40, 135, 200), 0.85, 1.0),
        (Rect(8, 20, 199, 260), 0.96, 1.01),
    ],
)
def test_frames_against_a_plate_solution(window: Rect, low: float, high: float) -> None:
    stuff = SectionMaterial(2000.0, 0.3, 700.0)
    beams = sag(ring(215, 296, window, 3.0), window, stuff, 107.5)
    assert low < beams / plate_sag(215, 296, window, 3.0, stuff, 8.0) < high


@settings(max_examples=20, deadline=None)
@given(st.floats(1.0, 6.0), st.floats(500, 4000), st.floats(100, 1500))
def test_scaling_laws(t: float, modulus: float, density: float) -> None:
    window = Rect(30, 40, 150, 200)
    base = sag(ring(215, 296, window, t), window, SectionMaterial(modulus, 0.3, density), 107.5)
    # in proportion to weight and compliance, exactly; to 1/t² as nearly as the members are thin
    assert sag(
        ring(215, 296, window, t), window, SectionMaterial(2 * modulus, 0.3, density), 107.5
    ) == pytest.approx(base / 2)
    assert sag(
        ring(215, 296, window, t), window, SectionMaterial(modulus, 0.3, 2 * density), 107.5
    ) == pytest.approx(base * 2)
    assert sag(
        ring(215, 296, window, 2 * t), window, SectionMaterial(modulus, 0.3, density), 107.5
    ) == pytest.approx(base / 4, rel=0.06)


def test_the_grain_runs_across_the_long_rails_of_a_plywood_frame() -> None:
    """Birch plywood of three plies: 8200 MPa along and 1200 across the grain of its faces (their sources stand in the
    table of materials). Held by its head, the long sides carry the frame, so it hangs nearly as if all were 1200.
    """
    window = Rect(12, 26, 191, 244)
    along, across = SectionMaterial(8200, 0.3, 650), SectionMaterial(1200, 0.3, 650)
    grained = SectionMaterial(8200, 0.3, 650, across_mpa=1200)
    stiff, soft, mixed = (
        sag(ring(215, 296, window, 3.0), window, one, 107.5) for one in (along, across, grained)
    )
    assert soft == pytest.approx(stiff * 8200 / 1200)
    assert 0.8 * soft < mixed < soft
    nodes, beams = beams_of(stretches_of([ring(215, 296, window, 3.0)], [window], ((), ())), grained)
    plain = beams_of(stretches_of([ring(215, 296, window, 3.0)], [window], ((), ())), along)[1]
    for one, other in zip(beams, plain, strict=True):
        (ax, _), (bx, _) = nodes[one.start], nodes[one.end]
        assert one.bending == pytest.approx(other.bending * (1200 / 8200 if ax == bx else 1))
        assert one.torsion == pytest.approx(other.torsion * 1200 / 8200)


def test_a_plain_plate_is_no_frame() -> None:
    part = Part("f", "f", "knife", "m", 1, (Slab("s", 0.0, 3.0, Region(rectangle(0, 0, 100, 100))),))
    with pytest.raises(InputError, match="window"):
        stretches_of([part], [], ((), ()))


# --- what people know from their hands -------------------------------------------------------------------------------


def board(name: str, thickness: float) -> Job:
    return job(
        route="knife",
        film={"format": "8x10"},
        material={"name": name, "sheets_mm": [thickness]},
        bed={"name": "a4-wide", "focus_height_mm": max(thickness, 2.0)},
        layout={"pocket_depth_mm": 0.3},
    )


def base_sheet(made: Job) -> list[Part]:
    """The ledge sheet alone, as one handles it before gluing."""
    return [p for p in design(made).parts if p.name.startswith("sheet-1")]


def verdict(made: Job) -> str:
    parts, holder = base_sheet(made), design(made)
    half = habit("hand-grip") / 2
    middle = made.bed.glass_width_mm / 2
    stretches = stretches_of(parts, openings_of(holder), ((middle - half, middle, middle + half), ()))
    return judge(stretches, stuff_of(made), "head", parts[0].z1 - parts[0].z0).shape


def test_two_millimetre_foam_will_not_keep_its_shape() -> None:
    assert verdict(board("eva-foam", 2.0)) == "will not keep its shape"


def test_three_millimetre_board_is_right() -> None:
    assert verdict(board("mounting-board", 3.0)) == "keeps its shape"


def test_thin_board_is_soft() -> None:
    assert verdict(board("mounting-board", 1.4)) in ("soft", "will not keep its shape")


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: Path(p).stem)
def test_shipped_holders_are_judged(path: Path) -> None:
    made = resolve(load(path))
    found = in_hand(made, design(made))
    assert 0 < found.sag_mm < found.hangs_mm  # none of them hangs
    assert found.limit_mm == pytest.approx(habit("hand-sag-share") * found.free_length_mm)
    assert (found.shape == "keeps its shape") == (found.sag_mm <= found.limit_mm)
    if found.shape == "keeps its shape":
        assert found.least_share == 1.0
        assert found.rib_height_mm == 0.0
    else:
        assert found.least_share is not None
        assert found.least_share > 1
        assert found.rib_height_mm is None or found.rib_height_mm > 0
        assert "would do" in found.words or "another edge" in found.words


def test_the_cure_cures_and_no_less_does() -> None:
    window = Rect(12, 26, 191, 244)
    half = habit("hand-grip") / 2
    lines = ((107.5 - half, 107.5, 107.5 + half), ())
    stuff = SectionMaterial(2000, 0.3, 700)
    found = judge(stretches_of([ring(215, 296, window, 2.4)], [window], lines), stuff, "head", 2.4)
    assert found.shape != "keeps its shape"
    assert found.least_thickness_mm is not None
    cured = judge(
        stretches_of([ring(215, 296, window, found.least_thickness_mm)], [window], lines), stuff, "head", 1
    )
    assert cured.shape == "keeps its shape"
    thinner = found.least_thickness_mm * 0.98
    assert (
        judge(stretches_of([ring(215, 296, window, thinner)], [window], lines), stuff, "head", 1).shape
        == "soft"
    )
    # ribs: the same frame with strips of that height along its sides
    assert found.rib_height_mm is not None
    part = ring(215, 296, window, 2.4)
    for height, right in ((found.rib_height_mm + 0.02, True), (found.rib_height_mm * 0.9, False)):
        stretches = [
            s
            if s.start[0] != s.end[0] or min(s.start[0], 215 - s.start[0]) > 20
            else type(s)(s.start, s.end, (*s.layers, Layer(6.0, 2.4, 2.4 + height)))
            for s in stretches_of([part], [window], lines)
        ]
        assert (sag_of(stretches, stuff, "head")[0] <= found.limit_mm) == right


def test_hopeless_stuff_is_told() -> None:
    window = Rect(12, 26, 191, 244)
    half = habit("hand-grip") / 2
    stretches = stretches_of(
        [ring(215, 296, window, 2.0)], [window], ((107.5 - half, 107.5, 107.5 + half), ())
    )
    found = judge(stretches, SectionMaterial(0.1, 0.3, 100), "head", 2.0)
    assert found.shape == "will not keep its shape"
    assert found.least_share is None
    assert found.least_thickness_mm is None
    assert "hangs" in found.words


def test_held_where_there_is_nothing() -> None:
    # a frame that is open at its head: two prongs, and the hand between them
    window = Rect(30, 40, 150, 200)
    whole = stretches_of([ring(215, 296, window, 3.0)], [window], ((), ()))
    head = max(s.end[1] for s in whole)
    prongs = [s for s in whole if not s.start[1] == s.end[1] == head]
    with pytest.raises(InputError, match="take another"):
        sag_of(prongs, SectionMaterial(2000, 0.3, 700), "head")
    apart = [s for s in whole if s.start[1] == s.end[1]]  # two bars that nothing joins
    half = habit("hand-grip") / 2
    joined = stretches_of([ring(215, 296, window, 3.0)], [window], ((105 - half, 105, 105 + half), ()))
    assert len(apart) == 2
    with pytest.raises(InputError, match="another edge"):
        sag_of([s for s in joined if s.start[1] == s.end[1]], SectionMaterial(2000, 0.3, 700), "head")


# --- lids and creep --------------------------------------------------------------------------------------------------


def test_lid_settles_by_its_weight() -> None:
    made = job(
        film={"format": "5x7"}, lid={"thickness_mm": 2.0, "bevel_mm": 0.0}
    )  # upright, for the sum by hand
    found = lid_flatness(replace(made, printer=None), design(made))  # solid
    assert found is not None
    filled = lid_flatness(made, design(made))
    assert filled is not None
    assert filled.settles_mm < found.settles_mm  # its fill takes more off its weight than off its stiffness
    # both long sides in two steps, 8 mm wide and 1.6 high over 4 mm and 0.4: parallel axes, from the middle of each
    lid = next(p for p in design(made).parts if p.name.startswith("lid"))
    # (those 1.6 in two slabs, between which only the tabs at head and foot differ)
    heights = [(slab.name, round(slab.z1 - slab.z0, 6)) for slab in lid.slabs]
    assert heights == [("lid", 1.2), ("lid below its tabs", 0.4), ("tongue", 0.4)]
    area = 8 * 1.6 + 4 * 0.4
    middle = (8 * 1.6 * 1.2 + 4 * 0.4 * 0.2) / area
    inertia = (
        8 * 1.6**3 / 12 + 8 * 1.6 * (1.2 - middle) ** 2 + 4 * 0.4**3 / 12 + 4 * 0.4 * (0.2 - middle) ** 2
    )
    want = 5 * 1270 * 9.80665e-9 * area * found.side_mm**4 / (384 * 2000 * inertia)
    assert found.settles_mm == pytest.approx(want, rel=1e-6)
    assert found.left_mm == pytest.approx(max(0.0, found.warp_mm - found.settles_mm))
    assert lid_flatness(job(), design(job())) is None


def test_a_lid_with_windows_in_a_row_is_cut_through_one_of_them() -> None:
    """Three windows one after the other along the side leave what one leaves: 2 strips of 10 mm of the 100."""
    stuff = SectionMaterial(2000.0, 0.38, 1270.0)

    def lid(windows: int) -> Part:
        holes = tuple(rectangle(10.0, 10.0 + 100 * k, 80.0, 80.0) for k in range(windows))
        slab = Slab("lid", 0.0, 2.0, Region(rectangle(0.0, 0.0, 100.0, 300.0), holes))
        return replace(next(p for p in design(job(lid={})).parts if p.name.startswith("lid")), slabs=(slab,))

    weight, stiff = _side_of(lid(3), stuff, upright=True)
    assert stiff == pytest.approx(2000.0 * 20.0 * 2.0**3 / 12)
    assert weight == pytest.approx(20.0 * 2.0 * 1270e-9 * 9.80665, rel=1e-3)
    assert _side_of(lid(1), stuff, upright=True) == pytest.approx((weight, stiff))


def test_a_stiff_warped_lid_stays_warped() -> None:
    made = job(
        route="laser", film={"format": "4x5"}, material={"name": "mdf", "sheets_mm": [3.0]}, lid={"tabs": 1}
    )
    found = lid_flatness(made, design(made))
    assert found is not None
    assert found.left_mm > 0


def test_creep_follows_its_power_law() -> None:
    pla = material("pla")
    assert creep_share(pla, 1000.0) == pytest.approx(habit("creep-plastic"))
    assert creep_factor(pla, 1000.0) == pytest.approx(0.5)  # half the modulus after 1000 h (from memory)
    n = habit("creep-exponent")
    assert creep_share(pla, 2000.0) / creep_share(pla, 1000.0) == pytest.approx(2**n)
    assert creep_share(pla, 0.0) == 0.0
    assert creep_share(material("mdf"), 1000.0) == pytest.approx(2.25)  # EN 1995-1-1 table 3.2 (from memory)


def test_creep_grows_with_warmth_and_ends_at_softening() -> None:
    pla = material("pla")
    assert creep_share(pla, 100.0, 45.0) > creep_share(pla, 100.0, 23.0)
    with pytest.raises(InputError, match="softened"):
        creep_share(pla, 100.0, 58.8)
    with pytest.raises(InputError):
        creep_share(pla, -1.0)


@given(st.floats(0, 1e5), st.floats(0, 1e5), st.floats(-10, 55))
def test_creep_never_heals(one: float, two: float, warm: float) -> None:
    low, high = sorted((one, two))
    petg = material("petg")
    assert creep_factor(petg, high, warm) <= creep_factor(petg, low, warm) <= 1.0


def test_crept_frame_sags_more() -> None:
    made = job(film={"format": "8x10"})
    assert stuff_of(made, 1000.0).modulus_mpa < stuff_of(made).modulus_mpa


# --- every edge, and frames that are none ----------------------------------------------------------------------------


def test_each_edge_that_can_be_held_is_judged() -> None:
    made = resolve(load(next(p for p in SHIPPED if p.stem == "8x10-printed")))
    holder = design(made)
    held = held_by_each_edge(made, holder)
    assert {edge for edge, _, _ in held} <= {"left", "right", "head", "foot"}
    assert [sag / limit for _, sag, limit in held] == sorted(
        (sag / limit for _, sag, limit in held), reverse=True
    )
    for edge, sag, limit in held:
        found = in_hand(made, holder, edge)
        assert (found.sag_mm, found.limit_mm) == pytest.approx((sag, limit))
    assert held[0][0] == "foot"  # the calibration zone leaves little there to hold


def test_frames_that_are_none_are_refused_by_name() -> None:
    plate = ring(215, 296, Rect(30, 40, 150, 200), 3.0)
    with pytest.raises(InputError, match="past the frame"):
        stretches_of([plate], [Rect(-10, -10, 400, 400)], ((), ()))
    with pytest.raises(InputError, match="reaches away"):
        sag_of([], SectionMaterial(2000, 0.3, 700), "head")
    limp = [
        type(s)(s.start, s.end, s.layers) for s in stretches_of([plate], [Rect(30, 40, 150, 200)], ((), ()))
    ]
    nodes, beams = beams_of(limp, SectionMaterial(2000, 0.3, 700))
    with pytest.raises(NotConverged, match="no stiffness"):
        deflect(nodes, [type(b)(b.start, b.end, 0.0, 0.0, b.load) for b in beams], [0])


def test_wood_far_past_charring_has_nothing_left() -> None:
    hot = job(route="laser", material={"name": "mdf"}, bed={"name": "a4-wide", "lamp_rise_k": 190.0})
    assert warmth(hot).modulus_left is None


def test_torsion_of_a_rib_on_a_plate_is_that_of_a_tee() -> None:
    # Roark, torsion of a tee (from memory): flange a b³ (1/3 - 0.21 b/a (1 - b⁴/12a⁴)) twice, plus alpha D⁴ where they
    # meet; without the fillet alpha = (t/t1) 0.15, D = ((b)² + d²/4)/b with b the flange, d the stem's thickness
    flange, stem = (20.0, 5.0), (15.0, 6.0)
    parts = sum(a * b**3 * (1 / 3 - 0.21 * b / a * (1 - b**4 / (12 * a**4))) for a, b in (flange, stem))
    d = (5.0**2 + 6.0**2 / 4) / 5.0
    tee = parts + 0.15 * 5 / 6 * d**4
    found = section_of([Layer(20.0, 0.0, 5.0), Layer(6.0, 5.0, 20.0)])
    assert found.torsion == pytest.approx(tee, rel=0.15)
    # layers of one width are one rectangle
    fused = section_of([Layer(20.0, 0.0, 3.0), Layer(20.0, 3.0, 5.0)])
    assert fused.torsion == pytest.approx(section_of([Layer(20.0, 0.0, 5.0)]).torsion)


@given(st.lists(st.tuples(st.floats(0.5, 40), st.floats(0.2, 40)), min_size=1, max_size=4))
def test_no_section_untwists_by_itself(sizes: list[tuple[float, float]]) -> None:
    """A taller or wider section is never less stiff, and none is negative (a rib on a plate once was)."""
    layers, z = [], 0.0
    for width, height in sizes:
        layers.append(Layer(width, z, z + height))
        z += height
    found = section_of(layers)
    assert found.torsion > 0
    assert found.bending > 0
    higher = section_of([*layers, Layer(max(w for w, _ in sizes), z, z + 1.0)])
    assert higher.bending > found.bending
    assert higher.torsion > found.torsion * (1 - 1e-9)
