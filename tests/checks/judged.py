"""One rule against holders that are wrong in one way each: the finding it must make."""

from __future__ import annotations

from collections.abc import Callable

from holders.checks.base import Rule
from holders.core.findings import Finding, Level
from holders.design.model import Design
from holders.preset.resolve import Job

Made = tuple[Job, Design]
Wrong = tuple[str, Level, Callable[[], Made], str]  # words of the title, level, the holder, the key to change


def one(rule: Rule, made: Made, words: str) -> Finding:
    """The rule's only finding with these words in what it looks at."""
    (found,) = [f for f in rule.check(*made) if words in f.subject]
    return found


def expect(rule: Rule, case: Wrong) -> None:
    """The rule finds what is wrong, at its level, with a way out and the key to change."""
    words, level, made, field = case
    finding = one(rule, made(), words)
    assert finding.level == level, finding
    assert finding.advice
    assert finding.field == field


def named(case: Wrong) -> str:
    """What the test of a case is called."""
    return f"{case[1]}-{case[0].replace(' ', '_')}"
