"""What fittings know of themselves, in words and in small steps."""

from __future__ import annotations

import pytest

from holders.core.errors import NotConverged
from holders.design.height.sheets import sheet_thicknesses
from holders.design.held.held_film import picture_of
from holders.design.model import Fitted
from holders.design.resolve import design
from holders.fittings.carrier.insert import Carrier
from holders.fittings.channel import film as channel_film
from holders.fittings.channel.arc import Channel
from holders.fittings.channel.film import _curled
from holders.fittings.channel.section import _apart
from holders.fittings.cover.pane import Pane
from holders.fittings.cover.plate import THICKER_MM, catch_thicknesses
from holders.fittings.glasses.sandwich import Sandwich
from holders.fittings.lid.fitted import LidFrame
from holders.fittings.passes.made import Passes
from holders.fittings.roll.passed import OpenEnds
from holders.fittings.wet.mounted import Mounted
from tests.checks.make_channel import channelled
from tests.presets_made import job


def test_only_an_insert_is_the_frame_itself() -> None:
    kinds: tuple[type[Fitted], ...] = (
        Carrier, Channel, LidFrame, Mounted, OpenEnds, Pane, Passes, Sandwich,
    )  # fmt: skip
    assert [kind for kind in kinds if kind.is_frame] == [Carrier]
    assert not Fitted.is_frame


@pytest.mark.parametrize(("side", "words"), [("over", "in fluid above it"), ("under", "in fluid below it")])
def test_the_note_on_wet_glass_says_on_which_side_the_film_lies(side: str, words: str) -> None:
    made = design(job(wet={"flammable": "no", "side": side}))
    mounted = made.find(Mounted)
    assert mounted is not None
    assert words in mounted.notes()[0]


@pytest.mark.parametrize(
    ("lamp_mm", "places", "words"), [(70.0, 2, "both step blocks"), (60.0, 3, "two step blocks")]
)
def test_of_two_places_both_blocks_are_carried_and_of_more_two(
    lamp_mm: float, places: int, words: str
) -> None:
    """A 4x5 sheet along a lamp area of 70 mm is seen in two places; of 60 mm, in three."""
    bed = {"name": "a4-wide", "lamp_y_mm": 120.0, "lamp_length_mm": lamp_mm}
    made = design(job(bed=bed, layout={"turn": "never"}, passes={})).find(Passes)
    assert made is not None
    assert made.moves.along.count == places
    assert f"carry {words} of {made.moves.along.step:.1f} mm" in made.scanning(1)


def test_places_from_the_middle_to_the_edge_hold_both() -> None:
    assert _apart([7.0, 0.0, 2.0, 2.05, 5.0, -1.0, 5.5], 5.0, 0.1) == [0.0, 2.0, 5.0]


def test_a_curl_without_a_shape_is_left_out_and_no_other(monkeypatch: pytest.MonkeyPatch) -> None:
    wanted, made = channelled()
    real = channel_film.strip_under

    def some(*given: object) -> object:
        if given[2] == 3.0:
            raise NotConverged("no shape")
        return real(*given)  # type: ignore[arg-type]

    monkeypatch.setattr(channel_film, "strip_under", some)
    monkeypatch.setattr(
        channel_film,
        "odds_curls",
        lambda _: [(1.0, 0.0, True), (3.0, 0.4, True), (5.0, 0.7, True), (9.0, 1.0, True)],
    )
    picture = picture_of(wanted.film, made.windows[0])
    found = _curled(wanted, made, picture, made.heights.drawn_ledge)
    assert [one.across_per_m for one in found] == [1.0, 5.0, 9.0]


def test_of_sheets_for_catches_the_nearest_is_tried_and_those_a_little_thicker() -> None:
    sheets = [2.0, 3.0, 3.0 + THICKER_MM / 2, 3.0 + THICKER_MM, 3.5 + THICKER_MM, 29.0]
    wanted = job(route="laser", material={"name": "plywood-birch", "sheets_mm": sheets}, cover={})
    at_hand = sheet_thicknesses(wanted.material, wanted.preset)
    found = catch_thicknesses(wanted.printer, at_hand, 3.1)
    assert found == (3.0, 3.0 + THICKER_MM / 2, 3.0 + THICKER_MM)
