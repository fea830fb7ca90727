"""Running all rules; leaving one out needs a reason; the list of rules and the script that writes it."""

from __future__ import annotations

import importlib.util
import subprocess
import sys
from collections import Counter
from collections.abc import Iterator
from pathlib import Path
from types import ModuleType

import pytest

from holders.checks.base import Rule, at_least, at_most, gathered
from holders.checks.catalogue import markdown, rows
from holders.checks.rules import RULES
from holders.checks.runner import run, stops, worst_first
from holders.core.errors import InputError
from holders.core.findings import Finding, Level
from holders.design.model import Design
from holders.preset.resolve import Job
from tests.checks.make_design import job, make

ROOT = Path(__file__).parent.parent.parent


def test_all_rules_run_although_many_stop() -> None:
    bad = job(material={"limit_c": 20.0}, bed={"lid_room_mm": 2.0}, printer={"build_z_mm": 1.0})
    found = run(bad, make())
    assert {f.code for f in found} == {rule.code for rule in RULES}
    assert {f.code for f in stops(found)} == {"softening", "lid-room", "machine-fit"}
    order = ["stop", "warn", "pass", "skip"]
    levels = [order.index(f.level) for f in worst_first(found)]
    assert levels == sorted(levels)
    assert sorted(map(repr, worst_first(found))) == sorted(map(repr, found))


def test_leaving_a_check_out_keeps_its_reason() -> None:
    found = run(job(material={"limit_c": 20.0}), make(), ignore={"softening": " a cold room "})
    (left,) = [f for f in found if f.code == "softening"]
    assert left.level == "skip"
    assert left.advice == "skipped at your request: a cold room"


def test_leaving_a_check_out_needs_a_reason() -> None:
    with pytest.raises(InputError, match="reason"):
        run(job(), make(), ignore={"softening": "  "})


def test_an_unknown_check_is_named_with_the_nearest() -> None:
    with pytest.raises(InputError, match='did you mean "softening"'):
        run(job(), make(), ignore={"softning": "because"})
    with pytest.raises(InputError, match="holders list checks"):
        run(job(), make(), ignore={"qqq": "because"})


def test_a_rule_that_crashes_is_not_hidden() -> None:
    class Broken(Rule):
        code, title, why, source = "broken", "broken", "broken", "broken"

        def check(self, job: Job, design: Design) -> Iterator[Finding]:  # noqa: ARG002
            raise ZeroDivisionError

    with pytest.raises(ZeroDivisionError):
        run(job(), make(), rules=(Broken(),))


def test_limits_exactly_met_pass() -> None:
    assert (at_most(1.0, 1.0, 2.0), at_most(1.1, 1.0, 2.0), at_most(2.1, 1.0, 2.0)) == (
        "pass",
        "warn",
        "stop",
    )
    assert (at_least(1.0, 1.0, 0.5), at_least(0.9, 1.0, 0.5), at_least(0.4, 1.0, 0.5)) == (
        "pass",
        "warn",
        "stop",
    )
    assert at_most(0.1 + 0.2, 0.3, 0.3) == "pass"


def test_numbers_are_short_and_units_only_with_numbers() -> None:
    rule = RULES[0]
    assert rule.found("pass", measured=-1e-9).measured == 0.0
    assert str(rule.found("pass", measured=-1e-9).measured) == "0.0"
    assert rule.found("pass", measured=1 / 3, limit=2).measured == 0.3333
    assert rule.skipped("why").unit == ""


def test_the_list_is_complete_and_light() -> None:
    listed = rows()
    assert [row["code"] for row in listed] == [rule.code for rule in RULES]
    assert all(set(row) == {"code", "title", "why", "source"} for row in listed)
    code = (
        "import sys, holders.checks.catalogue; print([m for m in ('shapely', 'numpy', 'cadquery') "
        "if m in sys.modules])"
    )
    done = subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=True, cwd=ROOT)
    assert done.stdout.strip() == "[]"


def test_no_rule_leans_on_a_standard_without_numbers() -> None:
    """ISO/ASTM 52910 says itself that process-specific data are not supported: it has no least wall."""
    assert "52910" not in "".join(row["source"] for row in rows())


@pytest.fixture
def script() -> ModuleType:
    spec = importlib.util.spec_from_file_location("list_checks", ROOT / "scripts" / "list_checks.py")
    assert spec is not None
    assert spec.loader is not None
    module = importlib.util.module_from_spec(spec)
    spec.loader.exec_module(module)
    return module


def test_the_script_writes_the_list_and_sees_drift(script: ModuleType, tmp_path: Path) -> None:
    readme = tmp_path / "README.md"
    before = "# Title\n\n<!-- checks:begin -->\nold\n<!-- checks:end -->\n\ntail\n"
    readme.write_text(before, encoding="utf-8")
    assert script.main(["--check", "--readme", str(readme)]) == 1
    assert readme.read_text(encoding="utf-8") == before
    assert script.main(["--readme", str(readme)]) == 0
    assert script.main(["--check", "--readme", str(readme)]) == 0
    text = readme.read_text(encoding="utf-8")
    assert text.startswith("# Title\n\n<!-- checks:begin -->\n| check |")
    assert text.endswith("<!-- checks:end -->\n\ntail\n")
    assert markdown() in text
    assert text.count("\n| `") == len(RULES)


@pytest.mark.parametrize("text", ["no markers", "<!-- checks:end -->\n<!-- checks:begin -->"])
def test_the_script_refuses_a_file_without_markers(script: ModuleType, tmp_path: Path, text: str) -> None:
    readme = tmp_path / "README.md"
    readme.write_text(text, encoding="utf-8")
    assert script.main(["--readme", str(readme)]) == 2
    assert readme.read_text(encoding="utf-8") == text
    assert script.main(["--readme", str(tmp_path / "none.md")]) == 2


def test_findings_alike_are_gathered_the_worst_first() -> None:
    rule = RULES[0]

    def one(level: Level, name: str, measured: float) -> tuple[float, str, Finding]:
        return (
            measured,
            name,
            rule.found(level, measured=measured, where=name, advice="" if level == "pass" else "do"),
        )

    found = list(
        gathered(
            [one("pass", "a", 3.0), one("warn", "b", 0.9), one("pass", "c", 2.0), one("warn", "d", 0.5)]
            + [one("warn", f"e{k}", 0.8) for k in range(5)]
        )
    )
    assert [(f.level, f.measured) for f in found] == [("pass", 2.0), ("warn", 0.5)]
    assert found[0].where == "c; worst of 2 parts"
    assert found[1].where == "d; also b, e0, e1, e2 and 2 more"
    assert next(gathered([one("pass", "a", 3.0)])).where == "a"


def test_no_two_rules_share_a_code() -> None:
    """Findings, docs and JSON know a rule by its code alone."""
    shared = {code for code, count in Counter(rule.code for rule in RULES).items() if count > 1}
    assert shared == set()
    assert len({id(rule) for rule in RULES}) == len(RULES)
