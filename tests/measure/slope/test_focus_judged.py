"""`focus` judged by a simulator written apart from it: the short form of scripts/judge_focus.py."""

from __future__ import annotations

import importlib.util
import sys
from pathlib import Path

import pytest

_path = Path(__file__).parents[3] / "scripts" / "judge_focus.py"
_spec = importlib.util.spec_from_file_location("judge_focus", _path)
judge = sys.modules.setdefault("judge_focus", importlib.util.module_from_spec(_spec))
_spec.loader.exec_module(judge)

# the smallest scan of each class among seeds 100 to 399; the long form has forty of each
SHORT = {
    "clean": 178,
    "asymmetric": 243,
    "curved_field": 118,
    "content": 248,
    "sagging": 240,
    "processed": 202,
    "narrow": 150,
    "grain": 288,
    "text": 121,
    "beyond": 348,
}


LONG = {"clean", "processed", "text"}  # which other tests measure too


@pytest.mark.parametrize(
    ("kind", "seed"),
    [pytest.param(*one, marks=[pytest.mark.slow] if one[0] in LONG else []) for one in sorted(SHORT.items())],
)
def test_no_wrong_number_without_a_word(kind, seed):
    row = judge.judge_one(kind, seed)
    if "refused" in row:
        pytest.fail(f"a usable target was refused: {row['refused']}")
    assert row["at_edge"] == (not row["inside"])
    if not row["at_edge"]:
        assert abs(row["error"]) <= 3.0 * row["sigma"]
        assert abs(row["error"]) <= judge.NEAR_MM or row["warnings"]


def test_a_strip_of_film_with_gaps_between_its_frames_is_no_ruling():
    """The gaps' sharp rims pass for ticks 10 mm apart, and hold no grain; the frames between them do."""
    row = judge.judge_one("grain", 2003)
    assert abs(row["error"]) <= 2.0 * row["sigma"]
    assert 0.1 < row["sigma"] < 0.25
    assert row["warnings"]


@pytest.mark.slow
def test_long_form():
    rows = [judge.judge_one(kind, seed) for seed in range(40) for kind in judge.slope_scan.CLASSES]
    print("\n" + judge.table(rows))
    given = [r for r in rows if "error" in r and not r["at_edge"]]
    unwarned = sum(abs(r["error"]) > judge.NEAR_MM and not r["warnings"] for r in given)
    assert unwarned <= len(rows) / 200
    held = sum(abs(r["error"]) <= 2.0 * r["sigma"] for r in given) / len(given)
    assert held >= 0.92
