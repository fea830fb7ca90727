"""Every rule passes a good holder and finds what is wrong with a bad one."""

from __future__ import annotations

import pytest

from holders.checks.rules import RULES
from holders.checks.runner import run
from tests.checks.case import Case
from tests.checks.cases import CASES
from tests.checks.make_design import job, make, with_lid

MAY_SKIP_ONLY = {
    "rebate",
    "film-size",
    "sag",
    "lid-fit",
    "cover",
    "wet-mount",
    "two-glasses",
    "open-ends",
    "insert",
    "one-board",
    "grip",
    "channel",
    "bridges",
    "laser-material",
    "seam",
    "layers",
    "stock",
    "feet",
    "frame-sag",
    "soft-stock",
    "lid-flat",
    "passes",
    "mask",
    "mount",
    "bars",
}

CAUTIOUS = {"laser-material", "lid-fit"}  # a caution about fumes or magnets stands with a pass too


@pytest.mark.parametrize("case", CASES, ids=str)
def test_a_rule_finds_what_is_wrong(case: Case) -> None:
    rule = next(rule for rule in RULES if rule.code == case.code)
    found = [f for f in rule.check(*case.make()) if case.words in f.subject]
    hits = [f for f in found if f.level == case.level]
    assert hits, [(f.level, f.title, f.measured, f.limit, f.where) for f in found]
    assert case.field is None or hits[0].field == case.field
    if case.level in ("warn", "stop"):
        assert hits[0].advice, "a warning without a way out"
        assert hits[0].field
    if case.level == "pass" and case.code not in CAUTIOUS:
        assert not hits[0].advice, "a way out of nothing"
    if case.level == "skip":
        assert hits[0].advice, "a skip without its reason"


@pytest.mark.parametrize("route", ["print", "laser", "knife"])
def test_a_good_holder_passes_everything(route: str) -> None:
    findings = run(job(route), make(route))
    assert {f.level for f in findings} == {"pass", "skip"}, [
        f for f in findings if f.level not in ("pass", "skip")
    ]
    answered = {f.code for f in findings if f.level != "skip"}
    assert {rule.code for rule in RULES} - answered <= MAY_SKIP_ONLY
    assert {f.code for f in findings} == {rule.code for rule in RULES}


def test_a_good_lid_passes() -> None:
    findings = run(job(preset={"lid": {}}), with_lid(make()))
    lid = [f for f in findings if f.code == "lid-fit"]
    assert [f.level for f in lid] == ["pass", "pass", "skip", "skip"]  # no film surface here, no magnets
    assert lid[0].measured == pytest.approx(0.3, abs=1e-6)


def test_every_rule_can_fail() -> None:
    failing = {case.code for case in CASES if case.level in ("warn", "stop")}
    assert failing == {rule.code for rule in RULES}


def test_every_rule_that_can_skip_is_seen_to_skip() -> None:
    skipped = {case.code for case in CASES if case.level == "skip"}
    assert skipped >= MAY_SKIP_ONLY


def test_every_rule_is_seen_to_pass() -> None:
    passed = {case.code for case in CASES if case.level == "pass"}
    for made in ((job(), make()), (job("laser"), make("laser")), (job(preset={"lid": {}}), with_lid(make()))):
        passed |= {f.code for f in run(*made) if f.level == "pass"}
    assert passed == {rule.code for rule in RULES}


def test_each_rule_says_what_it_is() -> None:
    codes = [rule.code for rule in RULES]
    assert len(set(codes)) == len(codes)
    for rule in RULES:
        assert rule.code == rule.code.lower()
        assert rule.code.replace("-", "").isalpha()
        assert min(len(rule.title), len(rule.why), len(rule.source)) > 3
        assert type(rule).__doc__
