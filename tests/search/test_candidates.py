"""Which changes are tried on a holder: only those that are not made already, each with the keys it says."""

from __future__ import annotations

from dataclasses import replace
from itertools import islice
from types import SimpleNamespace
from typing import Any, cast

import pytest

from holders.core.lines import Candidate
from holders.fittings.base import Rivals
from holders.fittings.lid.kind import LidKind
from holders.preset.load import parse
from holders.preset.resolve import Job, resolve
from holders.search import tried as trying
from holders.search.candidates import candidates
from holders.search.effort import Effort
from holders.search.halves import in_halves
from holders.study import Study


@pytest.fixture(autouse=True)
def no_smaller_frame(monkeypatch: pytest.MonkeyPatch) -> None:
    """It looks at a whole design, which these holders have not: tests/search/test_small_frame.py."""
    monkeypatch.setattr("holders.search.candidates.small_frame", lambda _: None)


def job_of(**tables: dict[str, Any]) -> Job:
    lines = [
        'holders_preset = 2\ntitle = "x"\nroute = "print"\nbed.name = "a4-wide"\nfilm.format = "4x5"',
        'material.name = "petg"',
    ]
    lines += [f"{table}.{key} = {value}" for table, keys in tables.items() for key, value in keys.items()]
    return resolve(parse("\n".join(lines) + "\n", "x"))


def keys(job: Job) -> list[dict[str, object]]:
    """What would be tried on it; its lips are 3 mm."""
    windows = [SimpleNamespace(lips=SimpleNamespace(of=lambda _: 3.0))]
    found = SimpleNamespace(job=job, design=SimpleNamespace(windows=windows, mine=windows, sag=None))
    return [dict(one.keys) for one in candidates(cast(Study, found))]


def test_layers_are_made_finer_where_they_are_not() -> None:
    assert {"printer.layer_mm": 0.1} in keys(job_of(printer={"layer_mm": 0.2}))
    assert not [k for k in keys(job_of(printer={"layer_mm": 0.1})) if "printer.layer_mm" in k]


@pytest.mark.parametrize(("have", "offered"), [(0, [2, 4]), (2, [4]), (3, [4]), (4, [])])
def test_magnets_are_offered_until_there_are_four(have: int, offered: list[int]) -> None:
    more = [k for k in keys(job_of(lid={"magnets": have})) if "lid.magnets" in k]
    assert more == [{"lid.magnets": n, "lid.play_mm": 0.0} for n in offered]
    assert not [k for k in keys(job_of()) if "lid.magnets" in k]


def test_a_weight_is_offered_for_a_cut_lid_alone() -> None:
    """A lid cut from sheets has no magnets and weighs grams; 2.5, 5 and 10 N are 255, 510 and 1020 g."""

    def laid(material: str, extra: float) -> list[object]:
        lid = f"lid.extra_weight_n = {extra}\n"
        route = "print" if material == "petg" else "laser"
        lines = (
            f'holders_preset = 2\ntitle = "x"\nroute = "{route}"\nbed.name = "a4-wide"\nfilm.format = "4x5"\n'
        )
        made = resolve(parse(f'{lines}material.name = "{material}"\n{lid}', "x"))
        every = [one.keys for one in LidKind().changes(made, Rivals({}, "lid"))]
        return [k["lid.extra_weight_n"] for k in every if "lid.extra_weight_n" in k]

    assert [laid("plywood-birch", extra) for extra in (0.0, 2.5, 7.0, 10.0)] == [[2.5], [5.0], [10.0], []]
    assert laid("petg", 0.0) == []


def test_a_cut_lid_gets_a_weight_and_no_sheet_thicker_than_its_rails_are_wide() -> None:
    def made(route: str, material: str, more: str = "") -> Job:
        lines = (
            f'holders_preset = 2\ntitle = "x"\nroute = "{route}"\nbed.name = "a4-wide"\nfilm.format = "4x5"\n'
        )
        return resolve(parse(f'{lines}material.name = "{material}"\n{more}', "x"))

    cut = [one.keys for one in LidKind().choices(made("laser", "acrylic-cast"), Rivals({}, ""))]
    assert [keys["lid.thickness_mm"] for keys in cut] == [2.0, 2.0]
    assert [keys.get("lid.extra_weight_n") for keys in cut] == [None, 2.5]
    printed = [one.keys for one in LidKind().choices(made("print", "petg"), Rivals({}, ""))]
    assert [keys["lid.thickness_mm"] for keys in printed] == [6.0, 10.0, 6.0]
    lidded = made("laser", "acrylic-cast", "lid.thickness_mm = 2.0\nlid.lip_mm = 3.0\n")
    thick = [one.keys.get("lid.thickness_mm") for one in LidKind().changes(lidded, Rivals({}, "lid"))]
    assert not any(thick)


@pytest.mark.parametrize(
    ("route", "material", "heavier"),
    [
        ("laser", "plywood-birch", "acrylic-cast"),
        ("laser", "acrylic-cast", None),
        ("knife", "mounting-board", "pvc-sheet"),
        ("print", "abs", "petg"),
        ("print", "pla", None),  # PETG weighs 2 % more: nobody would feel it
    ],
)
def test_a_heavier_material_is_offered_for_a_lid(route: str, material: str, heavier: str | None) -> None:
    """Densities of 650 to 1400 kg/m³ as the table of materials gives them, each with its source there."""

    def offered(more: str) -> list[object]:
        lines = (
            f'holders_preset = 2\ntitle = "x"\nroute = "{route}"\nbed.name = "a4-wide"\nfilm.format = "4x5"\n'
        )
        made = resolve(parse(f'{lines}material.name = "{material}"\nlid.thickness_mm = 3.0\n{more}', "x"))
        every = [one.keys for one in LidKind().changes(made, Rivals({}, "lid"))]
        return [k["material.name"] for k in every if "material.name" in k]

    assert offered("") == ([heavier] if heavier else [])
    assert offered('material.finish = "light"\n') == ([heavier] if heavier else [])
    assert offered("material.modulus_mpa = 2100.0\n") == []  # somebody measured that very material


def test_what_a_laser_must_not_cut_goes_under_the_knife_or_is_something_else() -> None:
    made = resolve(
        parse(
            'holders_preset = 2\ntitle = "x"\nroute = "laser"\nbed.name = "a4-wide"\nfilm.format = "4x5"\n'
            'material.name = "eva-foam"\n',
            "x",
        )
    )
    found = cast(Study, SimpleNamespace(job=made))
    first = [dict(one.keys) for one in islice(candidates(found), 3)]
    assert first == [
        {"route": "knife"}, {"material.name": "plywood-birch"}, {"material.name": "mounting-board"}
    ]  # fmt: skip
    assert not [k for k in keys(job_of()) if "route" in k or "material.name" in k]


@pytest.mark.parametrize(("count", "more"), [(4, [6, 8, None]), (6, [8, None]), (8, [None])])
def test_more_feet_are_offered_than_there_are(count: int, more: list[int | None]) -> None:
    offered = [k for k in keys(job_of(feet={"count": count})) if "feet.count" in k or "feet" in k]
    assert offered == [{"feet": None} if n is None else {"feet.count": n} for n in more]


def test_lips_grow_by_one_and_two() -> None:
    assert [k["lip.all_mm"] for k in keys(job_of()) if "lip.all_mm" in k] == [4.0, 5.0]
    assert not [k for k in keys(job_of(lip={"left_mm": 3.0})) if "lip.all_mm" in k]


def test_a_measured_curl_narrows_its_range_on_both_sides() -> None:
    job = job_of(base={"curl_low_per_m": -3.0, "curl_per_m": 1.23456, "curl_high_per_m": 9.0})
    (found,) = [k for k in keys(job) if "base.curl_per_m" in k]
    assert found == {
        "base.curl_per_m": 1.23456,
        "base.curl_low_per_m": 1.0346,
        "base.curl_high_per_m": 1.4346,
    }
    measured = job_of(base={"curl_low_per_m": 1.1, "curl_per_m": 1.2, "curl_high_per_m": 1.3})
    assert not [k for k in keys(measured) if "base.curl_per_m" in k]


def test_a_step_says_what_it_takes_more(monkeypatch: pytest.MonkeyPatch) -> None:
    efforts = {0.5: Effort(minutes=60.0, cost=4.0, hidden_mm2=100.0), 0.8: Effort(90.0, 4.5, 130.0)}
    monkeypatch.setattr(trying, "effort_of", lambda _job, design, _nested: efforts[design])
    old, new = (
        cast(
            Study,
            SimpleNamespace(
                stops=(),
                findings=(),
                verdict=SimpleNamespace(chance=chance),
                job=None,
                design=chance,
                nested=(),
            ),
        )
        for chance in efforts
    )
    change = Candidate("wider lips", {"lip.all_mm": 4.0})
    (step,) = trying.next_steps(old, [trying.Tried(change, "text", new)])
    assert (step.minutes, step.cost, step.hidden_mm2) == (30.0, 0.5, 30.0)
    assert step.gain == pytest.approx(0.3, abs=1e-12)
    efforts[0.8] = replace(efforts[0.8], cost=None)
    (step,) = trying.next_steps(old, [trying.Tried(change, "text", new)])
    assert step.cost is None
    assert trying.next_steps(new, [trying.Tried(change, "text", old)]) == ()


def squares(items: list[int], plus: int) -> list[int]:
    return [item * item + plus for item in items]


def test_halves_come_back_in_order() -> None:
    items = list(range(9))
    assert in_halves(squares, items, 3) == squares(items, 3)
    assert in_halves(squares, items, 3, alike=lambda item: item % 2) == squares(items, 3)
    assert in_halves(squares, items[:2], 3) == squares(items[:2], 3)


def test_measuring_the_focus_says_what_depth_of_focus_its_chance_takes() -> None:
    """The scan that measures the height measures the depth of focus too, which may be less than the usual."""

    def words(job: Job) -> str:
        windows = [SimpleNamespace(lips=SimpleNamespace(of=lambda _: 3.0))]
        found = SimpleNamespace(job=job, design=SimpleNamespace(windows=windows, mine=windows, sag=None))
        every = [one.text for one in candidates(cast(Study, found)) if "bed.focus_sigma_mm" in one.keys]
        return every[0]

    assert words(job_of(bed={"focus_height_mm": 3.1})).endswith(
        "; this is the chance if it stays sharp from 0.6 mm below to as much above"
    )
    assert words(job_of(bed={"focus_band_mm": 0.3})).endswith("(holders ramp, holders focus)")
