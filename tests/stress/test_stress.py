"""The short form of ``scripts/stress.py`` and ``scripts/stress_extremes.py``: combined extremes, in pieces taken up."""

from __future__ import annotations

import os
import time
from dataclasses import replace
from pathlib import Path

import pytest

from tests.stress.test_stress_images import script

pytestmark = pytest.mark.skipif(not hasattr(os, "fork"), reason="blocks are forked")

for needed in ("stress_presets", "stress_grammar", "stress_carriers", "stress_images", "stress_extremes"):
    script(needed)
stress = script("stress")


def words(state) -> list[tuple[int, str]]:  # type: ignore[no-untyped-def]
    return [(number, text[-800:]) for number, text in state.faults]


@pytest.mark.parametrize(("name", "count"), [("flat", 20), ("whole", 4)])
def test_combined_extremes_end_in_a_design_or_a_line(name: str, count: int) -> None:
    state = stress.run(name, 5, list(range(count)), stress.State())
    assert words(state) == []
    assert state.done == count


@pytest.mark.slow
def test_many_combined_extremes_end_in_a_design_or_a_line() -> None:
    state = stress.run("whole", 6, list(range(300)), stress.State())
    assert words(state) == []
    assert len(state.kept) > 20  # accepted ones among them


@pytest.mark.slow
def test_what_check_accepts_make_completes() -> None:
    extremes = script("stress_extremes")
    accepted = [n for n in range(60) if not isinstance(stress._whole(5, n)[1], type(None))][:4]
    assert accepted
    assert words(stress.run("made", 5, accepted, stress.State())) == []
    del extremes


def test_a_case_is_the_same_again() -> None:
    extremes = script("stress_extremes")
    assert [extremes.case(1, n) for n in range(30)] == [extremes.case(1, n) for n in range(30)]
    assert len({extremes.case(1, n) for n in range(30)}) > 25


def test_what_goes_wrong_in_a_block_is_the_fault_of_its_case(monkeypatch: pytest.MonkeyPatch) -> None:
    """A process that dies, one that holds too much, one that takes too long: the rest goes on."""

    def judge(_seed: int, number: int) -> tuple[str, object]:
        if number == 1:
            os._exit(9)
        if number == 3:
            bytearray(300 << 20)[::4096] = b"x" * (300 << 8)
        if number == 4:
            end = time.process_time() + 0.3
            while time.process_time() < end:
                pass
        return ("", number) if number != 5 else ("said so", None)

    bad = stress.Attack("weir", judge, 0.2, 250.0)
    monkeypatch.setitem(stress.ATTACKS, "flat", bad)
    state = stress.run("flat", 1, list(range(7)), stress.State())
    found = dict(state.faults)
    assert state.done == 7
    assert sorted(found) == [1, 3, 4, 5]
    assert "ended with 9" in found[1]
    assert "MiB" in found[3]
    assert "processor" in found[4]
    assert found[5] == "said so"


def test_a_case_without_an_answer_is_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setitem(
        stress.ATTACKS, "flat", stress.Attack("weir", lambda *_: time.sleep(60), 9.0, 4096.0, 1.0)
    )
    state = stress.run("flat", 1, [7], stress.State())
    assert "no answer within 1 s" in dict(state.faults)[7]


def test_it_goes_on_where_it_stopped(tmp_path: Path, monkeypatch: pytest.MonkeyPatch) -> None:
    quick = stress.Attack("weir", lambda _seed, number: ("odd" if number % 2 else "", number), 5.0, 4096.0)
    monkeypatch.setitem(stress.ATTACKS, "flat", quick)
    path = tmp_path / "kept" / "flat-1.json"

    def run(count: int):  # type: ignore[no-untyped-def]
        state = stress.loaded(path)
        left = stress.numbers_of("flat", 1, state, count)
        return left, stress.run("flat", 1, left, state, lambda one: stress.stored(path, one))

    first, _ = run(5)
    second, state = run(9)
    assert (first, second) == (list(range(5)), list(range(5, 9)))
    assert (state.done, state.count_of_faults, [n for n, _ in state.kept]) == (9, 4, list(range(9)))
    assert "9 cases, 4 faults" in stress.row("flat", 1, state, "a day, abc")
    for done, at in ((5, "a day, abc"), (7, "next day, def"), (9, "next day, def")):
        state.done = done
        stress.noted(state, at)
    assert stress.row("flat", 1, state, "unused").endswith("to 5: a day, abc; to 9: next day, def |")
    monkeypatch.setattr(stress, "KEPT", tmp_path)
    stress.stored(tmp_path / "whole-1.json", replace(stress.State(), kept=[(3, 1.0), (8, 9.0), (5, 2.0)]))
    assert stress.numbers_of("made", 1, stress.State(done=1), 3) == [5, 3]


def test_every_guard_of_the_table_of_faults_stands_once_and_the_table_in_the_docs() -> None:
    faults = script("stress_faults")
    root = Path(__file__).parents[2]
    for row in faults.ROWS:
        assert (root / row.file).read_text(encoding="utf-8").count(row.guard) == 1, row.fault
        file, test = row.test.split("::")
        assert f"def {test}(" in (root / file).read_text(encoding="utf-8")
    assert faults.table() in (root / "docs" / "reliability.md").read_text(encoding="utf-8")
