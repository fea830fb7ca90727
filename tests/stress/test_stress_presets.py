"""A short form of ``scripts/stress_presets.py``: random and mutated presets end in a design or in one clear line."""

from __future__ import annotations

import importlib.util
import os
import re
import subprocess
import sys
import tomllib
from collections import Counter
from pathlib import Path
from types import ModuleType

import pytest

from holders.core.errors import InputError
from holders.preset.load import parse

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


@pytest.mark.parametrize("first", [0, pytest.param(300, marks=pytest.mark.slow)])
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


def test_a_case_is_the_same_in_every_process() -> None:
    """The order of a set differs from process to process, and a case must not hang on it."""
    code = (
        "import sys, hashlib; sys.path.insert(0, 'scripts'); import stress_presets as s;"
        "print(hashlib.sha256(''.join(s.case(1, n) for n in range(120)).encode(errors='replace')).hexdigest())"
    )
    told = {
        subprocess.run(
            [sys.executable, "-c", code], cwd=ROOT, env={**os.environ, "PYTHONHASHSEED": seed},
            capture_output=True, text=True, check=True,
        ).stdout
        for seed in ("1", "2", "3")
    }  # fmt: skip
    assert len(told) == 1


def test_layers_that_no_printer_lays_are_refused() -> None:
    """Found by the stress run: terraces of a channel in layers of a millionth of a millimetre never ended."""
    text = (ROOT / "presets" / "35mm-channel.toml").read_text(encoding="utf-8")
    parse(text, "channel.toml")
    thin = re.sub(r"layer_mm = [0-9.]+", "layer_mm = 1e-9", text)
    assert thin != text
    with pytest.raises(InputError, match=r"printer\.layer_mm = 1e-09: must be at least 0\.01"):
        parse(thin, "channel.toml")


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
