"""A new preset is short, and what holds its film was found by trying."""

from __future__ import annotations

import re
from dataclasses import replace
from pathlib import Path

import pytest
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.core.findings import per_hundred
from holders.core.lines import Choice
from holders.design.model import Role
from holders.design.plan.anchor import holding
from holders.face.cli.main import app
from holders.preset.load import load, parse
from holders.preset.template import short_template, template
from holders.search import propose
from holders.search.propose import GOOD, WORTH, proposed
from holders.search.smaller import as_good
from holders.search.ways import Way, Ways
from holders.study import study
from holders.workshop.cost import print_costs, print_hours

VALUES = {
    "title": "weir",
    "route": "print",
    "bed": {"name": "a4-wide"},
    "film": {"format": "4x5", "emulsion": "down"},
    "material": {"name": "petg"},
    "printer": {"name": "p300"},
    "layout": {"count": 1},
}
A_PAGE = 60  # lines of a page of A4 at ten points: common practice, no source


def test_a_short_preset_is_a_page_and_the_same_holder() -> None:
    short = short_template(VALUES, "weir.toml")
    assert len(short.splitlines()) <= A_PAGE
    assert parse(short, "weir.toml") == parse(template(VALUES, "weir.toml"), "weir.toml")
    assert "holders new --full" in short


def test_what_is_added_gains_and_what_was_asked_for_stays() -> None:
    plain = study(parse(template(VALUES), "p"), template(VALUES))
    values, added = proposed(VALUES, template)
    new = study(parse(template(values), "p"), template(values))
    gains = not added.startswith(("A light frame", "A frame of"))
    for name, given in VALUES.items():
        assert values[name] == given or given.items() <= values[name].items()  # what was asked for stays
    if added and gains:
        assert new.verdict.chance >= plain.verdict.chance + WORTH or len(new.stops) < len(plain.stops)
    else:
        layout = {"count": values["layout"]["count"]}  # a small or light frame only saves plastic
        assert values | {"layout": layout} == VALUES
        assert (plain.ok and plain.verdict.chance >= GOOD) or new.verdict.chance == pytest.approx(
            plain.verdict.chance
        )
    lid = VALUES | {"lid": {"thickness_mm": 6.0, "play_mm": 0.0}}
    kept, _ = proposed(lid, template)
    assert kept["lid"].items() >= {"play_mm": 0.0}.items()
    assert "cover" not in kept


def test_a_lid_on_a_mount_is_not_offered(tmp_path: Path) -> None:
    path = tmp_path / "mount.toml"
    done = CliRunner().invoke(app, ["new", "--format", "mount-50", "--lid", str(path)])
    assert done.exit_code == 2
    assert "--lid" in done.stderr
    assert not path.exists()


def test_full_has_every_key_and_plain_adds_nothing(tmp_path: Path) -> None:
    path = tmp_path / "weir.toml"
    assert CliRunner().invoke(app, ["new", "--full", "--plain", str(path)]).exit_code == 0
    assert "# clearance_mm" in path.read_text(encoding="utf-8")
    found = load(path)
    assert (found.lid, found.cover) == (None, None)


def test_film_larger_than_the_lamp_area_is_proposed_in_passes() -> None:
    small = VALUES | {"bed": {"name": "a4-small"}, "film": {"format": "5x7"}}
    values, added = proposed(small, template)
    assert values["passes"] == {}
    assert added.startswith("the holder is moved by steps, and the film scanned in two or more passes")
    assert study(parse(template(values), "p"), template(values)).ok
    assert "passes" not in proposed(VALUES, template)[0]
    wide = small | {"bed": {"name": "a4-narrow"}, "film": {"format": "8x10"}}  # no room to move on
    assert proposed(wide, template) == (wide, "")


def _laid(chosen: dict[str, object]) -> float:
    found = study(parse(template(chosen), "p"), template(chosen))
    assert found.ok
    costs = print_costs(found.job.material, found.job.printer, found.design)
    return sum(cost.laid_mm3 * cost.quantity for cost in costs)


def test_a_printed_frame_is_light_where_that_saves_two_fifths_and_nobody_said_otherwise() -> None:
    """One 50 mm mount in a frame as large as the glass, its size set by hand; four 4x5 sheets fill it."""
    mount = VALUES | {"film": {"format": "mount-50"}}
    values, added = proposed(mount, template, ("layout.outer_width_mm",))
    assert values["layout"].get("light") is True
    assert "less plastic" in added
    assert _laid(values) <= 0.6 * _laid(mount)
    heavy = mount | {"layout": {"count": 1, "light": False}}
    assert proposed(heavy, template)[0]["layout"]["light"] is False
    full = mount | {"layout": {"count": "fill"}}
    assert "light" not in proposed(full, template)[0]["layout"]
    cut = {key: value for key, value in mount.items() if key != "printer"} | {
        "route": "laser",
        "material": {"name": "mdf"},
    }
    assert "light" not in proposed(cut, template)[0]["layout"]


def test_a_sheet_on_a_small_printer_gets_a_small_frame_in_one_piece() -> None:
    """A frame as large as the glass needs two pieces there, with a seam through the film's ledge."""
    asked = VALUES | {"printer": {"name": "p220"}}
    values, added = proposed(asked, template)
    large = {**values, "layout": asked["layout"]}
    small, before = (study(parse(template(one), "p"), template(one)) for one in (values, large))
    pieces = [sum(p.quantity for p in one.design.parts if p.role.in_frame) for one in (small, before)]
    assert pieces == [1, 2]
    assert small.ok
    assert small.verdict.chance >= before.verdict.chance - 0.01
    assert {f.code for f in small.findings if f.level == "warn"} <= {
        f.code for f in before.findings if f.level == "warn"
    }
    outer, glass = small.design.outer, small.design.glass
    assert outer.width % 5 == 0 == outer.height % 5
    assert outer.width < 0.7 * glass.width
    assert not outer.overlaps(small.design.calibration)
    assert None not in holding(small.design)
    lamp, window = small.design.lamp, small.design.windows[0].opening
    assert lamp.x <= window.x < window.right <= lamp.right
    assert lamp.y <= window.y < window.top <= lamp.top
    catches = [sum(p.quantity for p in d.design.parts if p.role is Role.CATCH) for d in (small, before)]
    assert catches[0] == catches[1] > 0
    lettered = [
        {g.text for p in one.design.parts if p.role.in_frame for g in p.grooves} for one in (small, before)
    ]
    assert "this side up - emulsion down" in lettered[0] & lettered[1]
    assert f"a frame of {outer.width:g} x {outer.height:g} mm: one piece instead of 2, " in added
    hours = [
        print_hours(one.job.printer, one.design, print_costs(one.job.material, one.job.printer, one.design))
        for one in (small, before)
    ]
    assert hours[0] < 0.5 * hours[1]
    assert re.search(
        r"([0-9.]+) h of printing instead of ([0-9.]+) h; it lies over the middle of the glass", added
    )
    shown = re.search(r"([0-9.]+) h of printing instead of ([0-9.]+) h", added)
    assert [float(one) for one in shown.groups()] == pytest.approx(hours, abs=0.06)


@pytest.mark.parametrize(
    "change",
    [
        {"film": {"format": "8x10", "emulsion": "down"}},  # fills the glass
        {"layout": {"count": "fill"}, "film": {"format": "mount-50"}},
        {"layout": {"count": 1, "light": True}, "film": {"format": "mount-50"}},
        {"layout": {"count": 1, "outer_width_mm": 150.0}, "film": {"format": "mount-50"}},
        {"layout": {"count": 1, "shift_room_mm": 20.0}, "film": {"format": "mount-50"}},
    ],
)
def test_a_frame_that_cannot_be_less_or_was_asked_for_keeps_its_size(change: dict[str, object]) -> None:
    asked = VALUES | {"printer": {"name": "p220"}} | change
    layout = proposed(asked, template)[0]["layout"]
    assert {key: value for key, value in layout.items() if key != "light"} == {
        key: value for key, value in asked["layout"].items() if key != "light"
    }


def test_a_small_frame_is_not_taken_where_a_check_warns_or_the_chance_falls() -> None:
    text = template(VALUES | {"film": {"format": "mount-50"}})
    found = study(parse(text, "p"), text)
    verdict = found.verdict
    warned = replace(
        found,
        findings=(*found.findings, found.findings[0].model_copy(update={"code": "new", "level": "warn"})),
    )
    stopped = replace(
        found, findings=(*found.findings, found.findings[0].model_copy(update={"level": "stop"}))
    )
    assert as_good(found, found)
    assert as_good(replace(found, verdict=replace(verdict, chance=verdict.chance - 0.009)), found)
    assert not as_good(replace(found, verdict=replace(verdict, chance=verdict.chance - 0.011)), found)
    assert not as_good(warned, found)
    assert not as_good(stopped, found)


def test_more_films_than_a_small_frame_takes_are_refused_with_what_helps() -> None:
    small = VALUES | {"layout": {"count": 2, "outer_width_mm": 125.0, "outer_length_mm": 150.0}}
    with pytest.raises(InputError) as refused:
        study(parse(template(small), "p"), template(small))
    said = str(refused.value)
    assert "at most 1 of 4x5 in sheet fit a frame of 125 x 150 mm" in said
    assert "leave out layout.outer_width_mm and layout.outer_length_mm" in said
    helped = small | {"layout": {"count": 2}}
    assert study(parse(template(helped), "p"), template(helped)).design.windows[1]
    many = small | {"layout": {**small["layout"], "count": 60}}
    with pytest.raises(InputError) as refused:
        study(parse(template(many), "p"), template(many))
    assert "leave out" not in str(refused.value)


def test_of_ways_about_as_likely_the_one_with_fewest_warnings_is_proposed(
    monkeypatch: pytest.MonkeyPatch,
) -> None:
    """A thicker glass that gains 1 in 100 and brings thin walls is not what a craftsman would choose."""
    text = template(VALUES)
    found = study(parse(text, "p"), text)
    thick = Way("Thick", 0.70, 9.0, None, 0.0, {"cover.thickness_mm": 4.0}, text, frozenset({"glass"}), 2)
    thin = replace(thick, text="Thin", chance=0.69, keys={"cover.thickness_mm": 2.0}, warnings=0)
    poor = replace(thin, text="Poor", chance=0.69 - 2 * WORTH, warnings=0)
    monkeypatch.setattr(propose, "search", lambda *_, **__: Ways(3, (thick, thin, poor)))
    best = propose._best(replace(found, verdict=replace(found.verdict, chance=0.2)), ())
    assert best is not None
    assert best.text == "Thin"


@pytest.mark.parametrize(
    "material",
    [
        "acrylic-cast",
        pytest.param("mdf", marks=pytest.mark.slow),
        pytest.param("mounting-board", marks=pytest.mark.slow),
    ],
)
def test_a_laser_holder_is_proposed_without_thin_walls(material: str) -> None:
    """Its glass was held by catches with 1.5 mm between their pins, which a check stops: so no glass was offered, and
    thick lids with rails of 2 mm were.
    """
    made, said = proposed(
        VALUES | {"route": "laser", "material": {"name": material}, "printer": {}}, template
    )
    text = template(made)
    found = study(parse(text, "p"), text)
    assert said
    assert found.ok
    assert {one.code for one in found.findings if one.level == "warn"} <= {"sharpness", "focus-error"}
    assert f"-> {per_hundred(found.verdict.chance)} of 100" in said


@pytest.mark.parametrize(
    ("path", "kept", "touched"),
    [
        ("lid", {"lid"}, True),  # the table itself
        ("lid.lip_mm", {"lid"}, True),  # a key in it
        ("lid", {"lid.lip_mm"}, True),  # taken away with the key that stays
        ("cover", {"lid", "lip.all_mm"}, False),
        ("lip.all_mm", {"lip.all_mm"}, True),
        ("lip.left_mm", {"lip.all_mm"}, False),
        ("lids", {"lid"}, False),
    ],
)
def test_what_was_set_by_hand_is_not_touched(path: str, kept: set[str], touched: bool) -> None:
    assert propose._touches(path, kept) is touched
    choice = Choice("some", {"layout.count": 1, path: None})
    assert propose._allowed([choice], kept) == (() if touched else (choice,))
