"""Printed heights: a first layer of its own height, then whole layers, for every part that begins on the plate."""

from __future__ import annotations

import pytest
from hypothesis import given, settings
from hypothesis import strategies as st

from holders.checks.focus.heights import Layers
from holders.design.draft.levels import levels
from holders.design.height.heights import foot_recess, rise
from holders.design.height.printed import layers_in, least_height, printed_below, printed_height
from holders.design.resolve import design
from holders.facts.models import Printer
from holders.facts.tables import printer as known
from holders.fittings.carrier.insert import Carrier
from holders.fittings.lid.frame import lid_levels
from holders.fittings.lid.table import Lid
from tests.presets_made import job


def printer(layer: float, first: float) -> Printer:
    return known("p300").model_copy(update={"layer_mm": layer, "first_layer_mm": first})


@pytest.mark.parametrize(
    ("wish", "layer", "first", "made"),
    [  # by hand: what a slicer makes of a wish, first + n * layer
        (2.80, 0.2, 0.20, 2.80),
        (2.80, 0.2, 0.25, 2.85),  # 0.25 + 13 * 0.2; 12 layers would give 2.65
        (2.76, 0.2, 0.30, 2.70),
        (2.84, 0.2, 0.30, 2.90),
        (0.05, 0.2, 0.30, 0.30),  # nothing is thinner than the first layer
    ],
)
def test_a_height_is_its_first_layer_and_whole_layers(
    wish: float, layer: float, first: float, made: float
) -> None:
    assert printed_height(printer(layer, first), wish) == pytest.approx(made, abs=1e-9)


def test_two_parts_on_one_another_have_two_first_layers() -> None:
    # 0.3 + 4 * 0.2 below, 0.3 + 7 * 0.2 above
    assert printed_height(printer(0.2, 0.3), 2.8, pieces=2) == pytest.approx(2.8, abs=1e-9)
    assert printed_height(printer(0.2, 0.3), 2.7, pieces=2) in (2.6, 2.8)


def test_least_and_greatest() -> None:
    assert least_height(printer(0.2, 0.3), 3) == pytest.approx(0.7)
    assert printed_below(printer(0.2, 0.3), 1.0) == pytest.approx(0.9)
    assert printed_below(printer(0.2, 0.3), 0.9) == pytest.approx(0.9)
    assert printed_below(printer(0.2, 0.3), 0.29) == 0.0
    assert layers_in(printer(0.2, 0.3), 0.9) == pytest.approx(4.0)


@settings(max_examples=200, deadline=None)
@given(st.floats(0.5, 12.0), st.floats(0.05, 0.4), st.floats(0.05, 0.4), st.integers(1, 2))
def test_no_height_that_can_be_made_is_nearer(wish: float, layer: float, first: float, pieces: int) -> None:
    made = printed_height(printer(layer, first), wish, pieces)
    nearest = min(abs(pieces * first + n * layer - wish) for n in range(260))
    assert abs(made - wish) == pytest.approx(nearest, abs=2e-6)


@pytest.mark.parametrize("first", [0.2, 0.25, 0.3, 0.35])
def test_ledge_recess_and_lid_come_in_first_layer_and_layers(first: float) -> None:
    made = job(printer={"first_layer_mm": first}, lid={}, feet={"thickness_mm": 2.0})
    found = rise(made)
    at = lid_levels(made, Lid(), levels(made, found))
    assert at.over is not None
    for height in (found.heights.ledge_height, foot_recess(made), at.over[1] - at.over[0]):
        above = (height - first) / 0.2
        assert above == pytest.approx(round(above), abs=1e-5)
    assert foot_recess(made) <= 1.0
    assert abs(found.heights.ledge_height - found.heights.ledge_wanted) <= 0.1 + 1e-6


def test_the_layers_check_counts_from_the_first_layer() -> None:
    def recess(mm: float) -> str:
        made = job(printer={"first_layer_mm": 0.3}, feet={"thickness_mm": 1.5, "recess_mm": mm})
        found = next(iter(Layers().check(made, design(made))))
        assert found.subject == "foot recess in whole layers"
        return str(found.level)

    assert recess(0.7) == "pass"  # 0.3 + 2 * 0.2
    assert recess(0.6) == "warn"


def test_insert_and_carrier_each_begin_with_a_first_layer() -> None:
    table = {"insert_width_mm": 160.0, "insert_length_mm": 180.0}
    made = design(job(printer={"first_layer_mm": 0.3}, carrier=table, feet=None))
    assert made.find(Carrier) is not None
    under = made.heights.foot_protrusion
    for height in (
        made.find(Carrier).floor - under,
        made.heights.ledge_height + under - made.find(Carrier).floor,
    ):
        above = (height - 0.3) / 0.2
        assert above == pytest.approx(round(above), abs=1e-5)
