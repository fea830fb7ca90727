"""The strip channel: rails on their arc, clear of the picture, and the strip between them as a beam would bend."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path
from typing import Any

import numpy as np
import pytest
import shapely
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holders.checks.runner import run
from holders.core.errors import InputError, NotConverged
from holders.design.held.film_in_holder import designed
from holders.design.model import Design
from holders.design.parts.sections import section as cut
from holders.design.pieces.pose import print_pose
from holders.design.resolve import design
from holders.facts.constants import GRAVITY_M_S2
from holders.fittings.channel import section as channel_section
from holders.fittings.channel.arc import Channel, drop_mm, where_mm
from holders.fittings.channel.film import strip_under
from holders.fittings.channel.section import bounds_mm, section
from holders.fittings.channel.strip import strip
from holders.output.draw.film import film_sheet
from holders.output.draw.sheet import drawing
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from tests.checks.make_channel import STRIP, channelled
from tests.design.test_laws import keep_laws
from tests.presets_made import changed as smallest
from tests.presets_made import job, kept_or_refused

PRESET = Path(__file__).parent.parent.parent / "presets" / "35mm-channel.toml"
SKIN = 1e-3


def keep_channel_laws(wanted: Job, made: Design) -> None:
    arc, printer = made.find(Channel), wanted.printer
    assert arc is not None
    assert printer is not None
    ledge = made.heights.drawn_ledge
    thick = wanted.film.thickness_mm
    wall = 2 * printer.nozzle_mm
    # corners on the arc, to the picometre of arithmetic; the upper ones above it by film and play
    for k, corner in enumerate(arc.low):
        assert drop_mm(arc.radius, arc.inner, corner) == pytest.approx(k * arc.layer, abs=1e-9)
    for k, corner in enumerate(arc.high, 1):
        over = arc.roof - k * arc.layer - (thick - drop_mm(arc.radius, arc.inner, corner))
        assert over >= arc.play - 1e-9
    # nothing reaches over a window, and rails are as wide as the printer makes walls
    assert min(arc.low[0], arc.lid_edge, *arc.high) > arc.window
    assert arc.low[0] - arc.window == pytest.approx(wanted.preset.channel.rail_mm, abs=1e-9)  # type: ignore[union-attr]
    # terraces from the floor up to the ledge, bars from the lid's underside down: whole layers, as many as told
    frame = [slab for part in made.parts if part.in_frame for slab in part.slabs if slab.name == "rail"]
    steps = {
        (round(ledge - k * arc.layer, 6), round(ledge - (k - 1) * arc.layer, 6))
        for k in range(1, len(arc.low))
    }
    assert {(slab.z0, slab.z1) for slab in frame} == steps
    largest = arc.half + wanted.film.tolerance_mm / 2
    assert drop_mm(arc.radius, arc.inner, largest) <= (len(arc.low) - 1) * arc.layer + 1e-9
    keep_clear(made, arc, ledge, thick)
    for lid in (p for p in made.parts if p.name.startswith("lid") and not p.whole):
        assert not lid.grooves
        bars = {(slab.z0, slab.z1) for slab in lid.slabs if slab.name == "rail"}
        under = min(slab.z0 for slab in lid.slabs if slab.name != "rail")
        roof = [under - k * arc.layer for k in range(len(arc.high) + 1)]
        assert bars == {(round(low, 6), round(low + arc.layer, 6)) for low in roof[1:]}
        assert print_pose(lid).turned  # its rails face up, so that none hangs in the air
        for rail in lid.slabs[1:]:
            x0, _, x1, _ = shapely.Polygon([(v.x, v.y) for v in rail.region.outer.vertices]).bounds
            assert x1 - x0 >= wall - 1e-6


def keep_clear(made: Design, arc: Channel, ledge: float, thick: float) -> None:
    """Nothing stands in a window or on the arc between the rails."""
    for window in made.windows:
        o = window.opening
        opening = shapely.box(o.x, o.y, o.right, o.top).buffer(-0.7).buffer(0.699)  # its corners are rounded
        y = window.film.y + 0.31 * window.film.height
        middle = window.film.x + window.film.width / 2
        steps = [float(x) for x in np.linspace(0.0, arc.half, 30)]
        for part, (dx, dy) in [(p, place) for p in made.parts for place in p.places]:
            bare = replace(part, cuts=(), grooves=())
            for z in {(slab.z0 + slab.z1) / 2 for slab in part.slabs}:
                assert shapely.affinity.translate(cut(bare, z), dx, dy).intersection(opening).area < 1e-3
            for x in steps:
                z = ledge - drop_mm(arc.radius, arc.inner, x)
                for height in (z + SKIN, z + thick - SKIN):
                    body = shapely.affinity.translate(cut(bare, height), dx, dy)
                    assert not body.contains(shapely.Point(middle + x, y)), (part.name, x)
                    assert not body.contains(shapely.Point(middle - x, y)), (part.name, -x)


@pytest.mark.parametrize(
    "changes",
    [
        {},
        {"layout": {"count": 3}},
        {"channel": {"radius_mm": 150.0}, "printer": {"layer_mm": 0.15}},
        {"film": {"format": "roll-6x6"}, "lip": {"all_mm": 2.6}, "channel": {"radius_mm": 130.0, "rail_mm": 0.8},
         "lid": {"lip_mm": 2.2}},
        {"carrier": {"insert_width_mm": 80.0, "insert_length_mm": 248.0}},
    ],
    ids=["plain", "three", "coarser", "roll", "insert"],
)  # fmt: skip
def test_these_are_made(changes: dict[str, Any]) -> None:
    wanted, made = channelled(**changes)
    keep_laws(wanted, made)
    keep_channel_laws(wanted, made)


@st.composite
def strips(draw: st.DrawFn) -> dict[str, Any]:
    def length(low: float, high: float) -> float:
        return round(draw(st.floats(low, high)), 2)

    return smallest(
        film={"format": draw(st.sampled_from(("35mm-strip", "roll-6x6", "roll-6x9")))},
        printer={"name": "p300", "layer_mm": draw(st.sampled_from((0.1, 0.12, 0.15, 0.2)))},
        lip={"all_mm": length(2, 5.4), "head_mm": 2.0, "foot_mm": 2.0},
        lid={"lip_mm": length(1, 5), "play_mm": length(0, 0.3), "clearance_mm": length(0.1, 0.4)},
        layout={"turn": "never", "count": draw(st.integers(1, 3))},
        channel={"radius_mm": length(80, 500), "rail_mm": length(0.8, 2)},
    )


@settings(
    max_examples=25, deadline=None, suppress_health_check=[HealthCheck.too_slow, HealthCheck.filter_too_much]
)
@given(strips())
def test_any_channel_keeps_the_laws_or_is_refused(data: dict[str, Any]) -> None:
    kept_or_refused(data, keep_channel_laws)


@pytest.mark.parametrize(
    ("field", "changes"),
    [
        ("channel", {"film": {"format": "4x5"}}),
        ("film.emulsion", {"film": {"emulsion": "up"}}),
        (
            "layout.turn",
            {"layout": {"turn": "always"}, "film": {"format": "roll-6x6"}, "lip": {"all_mm": 2.6}},
        ),
        ("lip.left_mm", {"lip": {"left_mm": 4.0}}),
        ("channel.radius_mm", {"channel": {"radius_mm": 1500.0}}),
        (
            "channel.radius_mm",
            {"channel": {"radius_mm": 60.0}, "film": {"format": "roll-6x6"}, "lip": {"all_mm": 2.6}},
        ),
        ("channel.rail_mm", {"channel": {"rail_mm": 4.6}}),
    ],
)
def test_what_cannot_be_is_refused_with_its_key(field: str, changes: dict[str, Any]) -> None:
    with pytest.raises(InputError) as refusal:
        channelled(**changes)
    assert refusal.value.field == field


def test_it_needs_a_lid_a_printer_and_no_glass() -> None:
    without = {key: table for key, table in STRIP.items() if key != "lid"}
    with pytest.raises(InputError, match="lid"):
        design(job(**without, channel={}))
    cut_tables = {key: table for key, table in STRIP.items() if key != "printer"}
    with pytest.raises(InputError, match="channel"):
        design(job(**cut_tables, route="laser", material={"name": "acrylic-cast"}, channel={}))
    with pytest.raises(InputError, match="cover"):
        design(job(**STRIP, channel={}, cover={}))


def test_arc_and_its_inverse() -> None:
    for x in (13.49, 15.0, 17.49):
        assert where_mm(200.0, 13.49, drop_mm(200.0, 13.49, x)) == pytest.approx(x, abs=1e-9)


def _arc(made: Design) -> Channel:
    assert made.find(Channel) is not None
    return made.find(Channel)


def test_a_strip_of_the_arcs_own_curl_lies_on_it() -> None:
    """Curl 1/R: the middle rises x0²/2R = 0.455 mm over the rail, less what gravity takes."""
    wanted, made = channelled(base={"curl_per_m": 5.0})
    arc = _arc(made)
    found = section(wanted.base, arc, 1000.0 / arc.radius)
    rise = arc.inner**2 / (2 * arc.radius)
    assert found.w[0] == pytest.approx(rise, abs=0.02)
    assert found.residual < 1e-8


def test_a_weightless_strip_without_a_lid_keeps_its_curl() -> None:
    wanted, made = channelled()
    arc = replace(_arc(made), roof=50.0)
    light = replace(wanted, base=wanted.base.model_copy(update={"density_kg_m3": 1e-3}))
    for curl in (0.0, 2.0, 4.0):
        found = section(light.base, arc, curl)
        expected = curl * 1e-3 / 2 * (arc.inner**2 - found.x**2)
        assert found.w == pytest.approx(expected, abs=2e-4)


def test_gravity_bends_it_as_a_beam() -> None:
    """A flat strip on two supports 2 x0 apart with free ends: the middle hangs by beam theory's superposition.

    Span L = 2 x0, overhangs a: w = 5 q L⁴/(384 D) - q a² L²/(16 D). Roark's Formulas for Stress and Strain, from
    memory.
    """
    wanted, made = channelled()
    arc = replace(_arc(made), roof=50.0, low=(_arc(made).inner, 30.0, 31.0), high=(40.0,), lid_edge=39.0)
    heavy = replace(wanted, base=wanted.base.model_copy(update={"density_kg_m3": 1290.0 * 5}))
    base = heavy.base
    t = base.thickness_mm
    stiff = base.modulus_mpa * t**3 / (12 * (1 - base.poisson**2))
    q = base.density_kg_m3 * 1e-9 * 9.80665 * t
    # the rail is 1 mm wide: a strip that hangs between lies on its inner corner
    span, over = 2 * arc.window, arc.half - arc.window
    expected = 5 * q * span**4 / (384 * stiff) - q * over**2 * span**2 / (16 * stiff)
    found = section(heavy.base, arc, 0.0)
    assert -found.w[0] == pytest.approx(expected, rel=0.1)


def test_a_flatter_strip_is_bent_by_both_rails_as_a_beam_is() -> None:
    """Rail at x0, lid at u = x0 + a: the moment m that brings the drop, m (x0 a + a²/3) = drop - curl (x0 a + a²/2)."""
    wanted, made = channelled(lid={"play_mm": 0.0})
    arc = _arc(made)
    light = replace(wanted, base=wanted.base.model_copy(update={"density_kg_m3": 1e-3}))
    t, u, x0 = wanted.base.thickness_mm, arc.high[-1], arc.inner
    drop = -(arc.roof - len(arc.high) * arc.layer - t)
    assert drop > 0
    a = u - x0
    for curl in (0.0, 1e-3):
        moment = (drop - curl * (x0 * a + a**2 / 2)) / (x0 * a + a**2 / 3)
        expected = (curl + moment) * x0**2 / 2
        assert section(light.base, arc, curl * 1e3).w[0] == pytest.approx(expected, rel=0.03)


@settings(max_examples=30, deadline=None)
@given(st.floats(-10, 25), st.floats(0.09, 0.14))
def test_no_strip_enters_a_rail(curl: float, thick: float) -> None:
    wanted, made = channelled()
    arc = _arc(made)
    found = section(wanted.base, arc, curl, thick)
    low, high = bounds_mm(arc, found.x, thick)
    assert (found.w >= low - 0.01).all()
    assert (found.w <= high + 0.01).all()


@pytest.mark.parametrize(("radius", "layer"), [(200.0, 0.01), (60.0, 0.05)])
@pytest.mark.parametrize("curl", [1.0, 9.0])
def test_places_left_out_do_not_move_the_strip(
    radius: float, layer: float, curl: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Thin layers make more places than are looked at; all of them looked at says the same."""
    thin, made = channelled(printer={"name": "p300", "layer_mm": layer}, channel={"radius_mm": radius})
    arc = _arc(made)
    some = section(thin.base, arc, curl)
    monkeypatch.setattr(channel_section, "MOST_NODES", 10_000)
    every = section(thin.base, arc, curl)
    assert some.iterations < every.iterations
    assert np.abs(some.w - every.w).max() < 1e-4


@pytest.mark.filterwarnings("error")
@pytest.mark.parametrize("curl", [1e80, 1e157, 1e300])
def test_a_curl_beyond_all_reason_is_told_and_warns_nobody(curl: float) -> None:
    """It overflows the search for the shape; the answer would be no number."""
    wanted, made = channelled()
    with pytest.raises(NotConverged):
        section(wanted.base, _arc(made), curl)


def test_the_ledge_puts_the_arc_in_the_middle_of_the_band() -> None:
    wanted = resolve(load(PRESET))
    made, film = designed(wanted)
    assert made.sag is not None
    assert film.grid is not None
    keep_channel_laws(wanted, made)
    low, high = made.sag.reach_mm
    plane = made.heights.sharp_plane
    middle = plane + (low + high) / 2
    assert middle == pytest.approx(made.heights.focus, abs=made.heights.step)
    assert made.sag.in_band_fraction == 1.0
    assert "its ends under the lid" in film.grid.method
    assert not [f for f in run(wanted, made) if f.level == "stop"]
    levels = [f.level for f in run(wanted, made) if f.code == "channel"]
    assert set(levels) == {"pass", "skip"}  # no curl along is stated, so nothing is said of it
    assert levels.count("skip") == 1
    assert b"on its arc" in drawing(made)[1]
    assert film_sheet(made, film).count(b"<path") > 10


def test_at_the_focus_height_if_the_preset_says_so() -> None:
    wanted, _ = channelled()
    preset = wanted.preset.model_copy(update={"ledge": "focus"})
    made, _ = designed(replace(wanted, preset=preset), ranges=False)
    assert made.heights.sharp_plane == pytest.approx(made.heights.focus, abs=made.heights.step)


@pytest.mark.parametrize("curl", [9.0, 12.0, 20.0])
def test_what_a_strip_pushes_with_is_the_slope_of_its_energy(curl: float) -> None:
    """Virtual work: raising the lid by d gives d times the push; and the rails below carry that and the weight."""
    wanted, made = channelled()
    arc, step = _arc(made), 1e-3
    here = section(wanted.base, arc, curl)
    low, high = (section(wanted.base, replace(arc, roof=arc.roof + d), curl).energy_n for d in (-step, step))
    assert here.push_n_per_mm == pytest.approx((low - high) / (2 * step), rel=0.02)
    assert here.push_n_per_mm > 1e-5
    base = wanted.base
    weight = base.density_kg_m3 * 1e-9 * GRAVITY_M_S2 * base.thickness_mm * 2 * arc.half
    # gravity is a pull toward a place 10 mm below: 10 % off for a strip that arches by a millimetre
    assert here.carried_n_per_mm - here.push_n_per_mm == pytest.approx(weight, rel=0.15)


def test_a_strip_lifts_its_lid_until_both_push_alike() -> None:
    wanted, made = channelled()
    arc = _arc(made)
    lies = strip_under(wanted, made, 1000.0 / arc.radius)
    assert lies.lid is not None
    assert lies.lid.rise_mm == 0.0
    lifts = strip_under(wanted, made, 20.0)
    assert lifts.lid is not None
    assert lifts.lid.needed_n > lifts.lid.held_n > 0
    assert lifts.lid.rise_mm > 0.05
    assert lifts.strip.push_n == pytest.approx(lifts.lid.held_n, rel=0.1)  # rise to 3 micrometres
    assert lifts.strip.w[60, 0] > strip(wanted.base, arc, 20.0).w[60, 0]
    more = {"thickness_mm": 2.0, "lip_mm": 4.5, "play_mm": 0.1, "extra_weight_n": 50.0}
    heavy, held = channelled(lid=more)
    down = strip_under(heavy, held, 20.0).lid
    assert down is not None
    assert (down.rise_mm, down.held_n > 50) == (0.0, True)
