"""The short form of ``scripts/stress_grammar.py``; ``--slow`` runs twenty thousand texts."""

from __future__ import annotations

import pytest

from tests.stress.test_stress_images import script


def test_three_hundred_attacks_on_the_grammar() -> None:
    assert script("stress_grammar").run(300, seed=2) == []


@pytest.mark.slow
def test_twenty_thousand_attacks_on_the_grammar() -> None:
    assert script("stress_grammar").run(20_000, seed=3) == []


def test_the_judge_sees_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    stress = script("stress_grammar")
    assert stress.fault("a = 1") == ""
    monkeypatch.setattr(stress, "LIMIT_S", -1.0)
    assert "processor" in stress.fault(stress.BASE + stress.END)

    def broken(*_: object) -> None:
        raise RuntimeError("weir")

    monkeypatch.setattr(stress, "parse", broken)
    assert stress.fault("a = 1") == "RuntimeError: weir"
