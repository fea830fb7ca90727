"""A short form of ``scripts/stress_presets.py``: random and mutated presets end in a design or in one clear line."""

from __future__ import annotations

import importlib.util
import sys
import tomllib
from collections import Counter
from pathlib import Path
from types import ModuleType

import pytest

ROOT = Path(__file__).resolve().parents[2]


@pytest.fixture(scope="module")
def stress() -> ModuleType:
    spec = importlib.util.spec_from_file_location("stress_presets", ROOT / "scripts" / "stress_presets.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    sys.modules[spec.name] = module
    spec.loader.exec_module(module)
    return module


@pytest.mark.parametrize("first", [0, 300])
def test_no_preset_breaks_it(stress: ModuleType, first: int) -> None:
    found = [stress.judged(1, n, whole=n % 100 == 0) for n in range(first, first + 300)]
    assert [(one.number, one.words) for one in found if one.kind == "fault"] == []
    kinds = Counter(one.kind for one in found)
    assert kinds["made"] > 30  # cases that get far, too
    assert kinds["refused"] > 75


@pytest.mark.slow
def test_no_preset_of_many_breaks_it(stress: ModuleType) -> None:
    found = stress.outcomes(seed=2, first=0, count=6000, whole=60, jobs=1)
    assert [(one.number, one.words) for one in found if one.kind == "fault"] == []


def test_a_case_can_be_repeated(stress: ModuleType) -> None:
    assert stress.case(3, 17) == stress.case(3, 17)
    assert stress.case(3, 17) != stress.case(4, 17)


def test_what_it_writes_as_toml_reads_back(stress: ModuleType) -> None:
    data = {"a": 1, "b": -0.5, "c": [1.0, "x"], "t": {"d e": True, "u": {"f": "ö\n"}}, "i": float("inf")}
    assert tomllib.loads(stress.toml(data)) == data


def test_a_fault_is_seen(stress: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    def broken(*_: object) -> None:
        raise ZeroDivisionError

    monkeypatch.setattr(stress, "design", broken)
    kinds = [stress.judged(1, n, whole=False) for n in range(60)]
    assert any(one.kind == "fault" and "ZeroDivisionError" in one.words for one in kinds)


def test_a_hang_is_seen(stress: ModuleType, monkeypatch: pytest.MonkeyPatch) -> None:
    def endless(_: object) -> None:
        while True:
            try:
                while True:
                    pass
            except Exception:
                pass

    monkeypatch.setattr(stress, "design", endless)
    monkeypatch.setattr(stress, "LIMIT_S", 1)
    assert any("longer than 1 s" in stress.judged(1, n, whole=False).words for n in range(12))
