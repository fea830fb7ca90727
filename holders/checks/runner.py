"""Run every rule over a finished design."""

from __future__ import annotations

from collections.abc import Mapping
from typing import TYPE_CHECKING

from holders.checks.base import Rule
from holders.checks.cures import with_cures
from holders.checks.focus.sharp import Sharpness
from holders.checks.joined import joined
from holders.checks.rules import RULES
from holders.core.errors import InputError
from holders.core.findings import Finding
from holders.design.model import Design
from holders.facts.tables import nearest

if TYPE_CHECKING:
    from holders.preset.resolve import Job
    from holders.workshop.budget.odds import Odds

_ORDER = ("stop", "warn", "pass", "skip")


def run(
    job: Job,
    design: Design,
    *,
    ignore: Mapping[str, str] | None = None,
    rules: tuple[Rule, ...] = RULES,
    odds: Odds | None = None,
    cures: bool = False,
) -> tuple[Finding, ...]:
    """All findings of all rules, in the order of the rules, those of one cause as one; none stops the others.

    Parameters
    ----------
    ignore:
        Codes of rules to leave out, each with its reason in words; the reason stands in the finding.
    odds:
        The odds of this design, where they are known already.
    cures:
        Try what a finding advises on this very design (the job and the design belong together).

    Raises
    ------
    InputError
        For a code that no rule has, or a reason left empty.
    """
    ignored = dict(ignore or {})
    _known(ignored, tuple(rule.code for rule in rules))
    found: list[Finding] = []
    for rule in rules:
        if rule.code in ignored:
            found.append(rule.skipped(f"skipped at your request: {ignored[rule.code].strip()}"))
        else:
            known = odds is not None and isinstance(rule, Sharpness)
            one = Sharpness(odds) if known else rule
            each = one.check(job, design)
            found.extend(with_cures(job, design, one, each) if cures else each)
    return joined(found)


def _known(ignored: Mapping[str, str], codes: tuple[str, ...]) -> None:
    for code, reason in ignored.items():
        if code not in codes:
            close = nearest(code, codes)
            hint = f'did you mean "{close}"? ' if close else ""
            raise InputError("ignore", code, f"{hint}`holders list checks` shows every check that exists")
        if not reason.strip():
            raise InputError(
                f"ignore.{code}", reason, "a check is left out for a reason; give it in a few words"
            )


def stops(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The findings that say stop."""
    return tuple(finding for finding in findings if finding.level == "stop")


def worst_first(findings: tuple[Finding, ...]) -> tuple[Finding, ...]:
    """The same findings, stops before warnings before passes before skips."""
    return tuple(sorted(findings, key=lambda finding: _ORDER.index(finding.level)))
