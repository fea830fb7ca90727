"""Joints in plan: the gap is what was asked for, walls hold, tongues hold, and the wrong way round does not go in."""

from __future__ import annotations

import math

import pytest
import shapely
from hypothesis import given, settings
from hypothesis import strategies as st
from shapely.affinity import scale, translate

from holders.design.parts.sections import polygon
from holders.design.pieces.joint import (
    HOLD_MM,
    LONGEST_MM,
    SHORT_MM,
    WIDEST_MM,
    JointRules,
    Shape,
    lap,
    rounded,
    tongue,
)
from holders.design.pieces.seams import Body, _places, body_of, find, line_at
from holders.design.resolve import design
from holders.geometry.outline import area, bounds
from tests.presets_made import job

RULES = JointRules(wall_mm=0.85, clearance_mm=0.1)
rules = st.builds(JointRules, wall_mm=st.floats(0.45, 2.0), clearance_mm=st.floats(0.02, 0.3))


def cheeks(joint: Shape, low: float, high: float) -> shapely.Polygon:
    """The rail's other side with the socket in it."""
    rail = shapely.box(low, 0, high, 30)
    return rail.difference(polygon(joint.socket, 1e-4))


@settings(max_examples=80, deadline=None)
@given(rules=rules, more=st.floats(0, 30), short=st.booleans())
def test_a_tongue_keeps_its_walls_and_gap(rules: JointRules, more: float, short: bool) -> None:
    rail = rules.least_tongue_mm + more
    joint = tongue(10.0, 0.0, rail, rules, short)
    plug = polygon(joint.tongue, 1e-4)
    low, high = 10 - rail / 2, 10 + rail / 2
    around = cheeks(joint, low, high)
    assert plug.intersection(shapely.box(-99, 1e-6, 99, 99)).distance(around) == pytest.approx(
        rules.clearance_mm, abs=2e-3
    )
    x0, _, x1, y1 = bounds(joint.tongue)
    assert x0 - rules.clearance_mm - low >= rules.wall_mm - 1e-9  # cheeks
    assert high - x1 - rules.clearance_mm >= rules.wall_mm - 1e-9
    neck = [x for x, y in polygon(joint.tongue).exterior.coords if abs(y) < 1e-9]
    assert x1 - x0 <= WIDEST_MM + 1e-9
    assert max(neck) - x0 >= rules.wall_mm - 1e-9
    # the lean outruns both gaps; the rounded tip takes at most 0.1 mm of it
    assert x1 - max(neck) >= 2 * rules.clearance_mm + HOLD_MM - 0.1
    assert y1 == pytest.approx(joint.reach_mm)
    assert SHORT_MM <= joint.reach_mm <= LONGEST_MM
    assert area(joint.tongue) > 0


@settings(max_examples=80, deadline=None)
@given(rules=rules, more=st.floats(0, 3))
def test_a_lap_halves_the_rail(rules: JointRules, more: float) -> None:
    rail = rules.least_lap_mm + more
    joint = lap(5.0, 5.0 + rail, 8.0 + rail, 0.0, rules)
    plug, around = polygon(joint.tongue), cheeks(joint, 5.0, 8.0 + rail)
    ahead = plug.intersection(shapely.box(-99, 1e-6, 99, 99))
    assert ahead.distance(around) == pytest.approx(rules.clearance_mm, abs=1e-9)
    core = shapely.box(5.0, 1e-6, 5.0 + rail, joint.reach_mm - 1e-6)
    halves = [core.intersection(plug), core.intersection(around)]
    for half in halves:
        x0, _, x1, _ = half.bounds
        assert x1 - x0 >= rules.wall_mm - 1e-9
    assert sum(half.area for half in halves) == pytest.approx(
        core.area - rules.clearance_mm * core.bounds[3], abs=1e-3
    )
    assert math.isinf(joint.play_mm)  # it keeps pieces in line, it does not hold them


@pytest.mark.parametrize("rail", [3.2, 5.3, 5.8, 12.0, 40.0])
def test_a_tongue_cannot_be_drawn_out(rail: float) -> None:
    """Moved back by its play it can just be set free of its socket sideways; 0.05 mm more and it bites everywhere."""
    joint = tongue(0.0, 0.0, rail, RULES)
    plug = polygon(joint.tongue, 1e-4).intersection(shapely.box(-99, 0, 99, 99))
    around = cheeks(joint, -rail / 2, rail / 2)
    sideways = [k * 0.005 for k in range(-60, 61)]

    def least(back: float) -> float:
        return min(translate(plug, s, -back).intersection(around).area for s in sideways)

    assert joint.play_mm > 0
    assert least(0.9 * joint.play_mm) < 1e-3
    assert least(joint.play_mm + 0.15) > 1e-3
    worst = max(joint.play_mm + 0.15, joint.reach_mm - 0.8)
    assert least(worst) > 0.01  # and until it is nearly out there is no way round


@pytest.mark.parametrize("rail", [3.2, 5.3, 12.0])
def test_turned_over_it_does_not_go_in(rail: float) -> None:
    joint = tongue(0.0, 0.0, rail, RULES)
    plug = polygon(joint.tongue).intersection(shapely.box(-99, 0, 99, 99))
    over = scale(plug, xfact=-1, origin=(0, 0))
    around = cheeks(joint, -rail / 2, rail / 2)
    bites = [translate(over, k * 0.01, 0).intersection(around).area for k in range(-200, 201)]
    assert plug.intersection(around).area < 1e-9
    assert min(bites) > 0.05


def test_too_narrow_is_refused() -> None:
    with pytest.raises(ValueError, match="too narrow for a tongue"):
        tongue(0.0, 0.0, RULES.least_tongue_mm - 0.01, RULES)
    with pytest.raises(ValueError, match="too narrow for a lap"):
        lap(0.0, RULES.least_lap_mm - 0.01, 5.0, 0.0, RULES)


def test_without_clearance_tongue_and_socket_are_one_line() -> None:
    joint = tongue(0.0, 0.0, 8.0, JointRules(0.85, 0.0))
    assert joint.tongue == joint.socket
    assert joint.play_mm == 0


def test_rounded_corners_are_tangent_arcs_of_the_radius() -> None:
    square = rounded([(0, 0), (10, 0), (10, 10), (0, 10)], (0.0, 2.0, 2.0, 0.0))
    assert area(square) == pytest.approx(100 - 2 * (1 - math.pi / 4) * 4)
    assert bounds(square) == pytest.approx((0, 0, 10, 10))


@pytest.mark.parametrize("wall", [0.8, 2.0, 5.5, 9.0, 30.0])
def test_tongues_along_a_wide_crossing_are_never_narrower_than_their_walls_ask(wall: float) -> None:
    plate = shapely.box(0, 0, 120, 300)
    rules = JointRules(wall, 0.1)
    line = line_at(Body(plate, plate, ()), 150.0, (0.0, 120.0), rules)
    if line is None:
        assert 2 * rules.least_tongue_mm > 120
        return
    widths = [box[2] - box[0] for box in (bounds(joint.tongue) for joint in line.drawn())]
    assert len(widths) >= 2
    assert min(widths) >= wall


@pytest.mark.parametrize(
    ("edge", "runs"), [(150.0, False), (150.5, False), (149.5, False), (150.9, True), (144.0, True)]
)
def test_a_seam_keeps_a_wall_from_a_pit_at_any_height(edge: float, runs: bool) -> None:
    """A round pit of 5 mm begins at ``edge``, above it the pocket: under a lid's tab, beside the rail's own joint."""
    rules = JointRules(0.85, 0.1)
    full, pocket = shapely.box(0, 0, 44, 300), shapely.box(34, 100, 44, 200)
    pit = shapely.Point(39, edge + 2.5).buffer(2.5)
    levels = full.difference(pit), full.difference(pocket)
    body = Body(full, levels[0].intersection(levels[1]), (), levels)
    assert (line_at(body, 150.0, (0.0, 44.0), rules) is not None) == runs


@pytest.mark.parametrize("format_", ["4x5", "35mm-strip", "8x10"])
@pytest.mark.parametrize("notches", [True, False])
def test_the_best_seam_is_found_without_looking_at_all(format_: str, notches: bool) -> None:
    """Places that a lower bound of their cost rules out are passed over; the seam is the best of all all the same."""
    made = design(
        job(
            film={"format": format_},
            printer={"name": "p300"},
            layout={"count": "fill", "finger_notches": notches},
            split={"mode": "never"},
        )
    )
    corners = [(x, y) for w in made.windows for x in (w.film.x, w.film.right) for y in (w.film.y, w.film.top)]
    tried = 0
    for body in (body_of(made.parts[0], corners), body_of(made.parts[0], corners).transposed()):
        x0, y0, x1, y1 = body.full.bounds
        window, across = (y0 + 20, y1 - 20), (x0 - 50, x1 + 50)
        for target in (y0 + 0.31 * (y1 - y0), (y0 + y1) / 2):
            every = [(v, line_at(body, v, across, RULES)) for v in _places(target, window)]
            costs = [abs(v - target) + line.cost for v, line in every if line is not None]
            found = find(body, target, window, across, RULES)
            assert (found is None) == (not costs)
            if found is not None:
                assert abs(found.at - target) + found.cost == min(costs)
                tried += 1
    assert tried


def test_a_tie_is_broken_as_if_every_place_were_looked_at() -> None:
    """Four laps here cost the same as three laps 30 mm further, but for the last bit of arithmetic."""
    target, wide = 57.701443038084555, (RULES.least_lap_mm + RULES.least_tongue_mm) / 2
    rails = [shapely.box(10 + 20 * k, 0, 10 + 20 * k + wide, 200) for k in range(4)]
    full = shapely.union_all([*rails, shapely.box(70, target + 31, 80, 200)])
    body, across, window = Body(full, full, ()), (-50.0, 250.0), (2.0, target + 34.5)
    blocked = [(-100.0, target - 2.5, 200.0, target + 2.5)]
    every = [(v, line_at(body, v, across, RULES, blocked)) for v in _places(target, window)]
    costs = {v: abs(v - target) + line.cost for v, line in every if line is not None}
    found = find(body, target, window, across, RULES, blocked)
    assert found is not None
    assert costs[found.at] == min(costs.values())
    assert sorted(costs.values())[1] - min(costs.values()) < 1e-12


@pytest.mark.parametrize(
    ("nozzle", "clearance", "rail"),
    [(0.4, 0.1, 3.96), (0.4, 0.3, 3.96), (0.6, 0.3, 5.16), (0.6, 0.5, 5.96), (0.8, 0.3, 6.36)],
)
@pytest.mark.parametrize("deep", [1.0, 1.25, 2.0])
def test_a_wall_stays_between_a_socket_and_a_notch_beyond_its_tip(
    nozzle: float, clearance: float, rail: float, deep: float
) -> None:
    """A notch that just fails to be noticed leaves two lines of the nozzle beyond the socket, wide gaps or not."""
    rules = JointRules(2 * nozzle + 0.05, clearance)
    notch = shapely.box(rail - deep, 40.0, rail + 1, 50.0)
    full = shapely.box(0, 0, rail, 80).difference(notch)
    body = Body(full, full, ())
    taken = [line_at(body, 25 + k / 100, (-5.0, rail + 5), rules) for k in range(1300)]
    walls = [polygon(shape.socket).distance(notch) for line in taken if line for shape in line.drawn()]
    assert len(walls) > 300
    assert min(walls) >= 2 * nozzle
    assert min(walls) < 2 * nozzle + 1  # the nearest places were tried
