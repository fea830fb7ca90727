"""Run every rule over a finished design."""

from __future__ import annotations

from collections.abc import Mapping, Sequence
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
    odds: Sequence[Odds] = (),
    cures: bool = False,
) -> tuple[Finding, ...]:
    """All findings of all rules, in the order of the rules, those of one cause as one; none stops the others.

    In a holder for several kinds of film a rule about the film is asked of each, and its finding names that film where
    the films differ.

    Parameters
    ----------
    ignore:
        Codes of rules to leave out, each with its reason in words; the reason stands in the finding.
    odds:
        The odds of this design, where they are known already: one for each kind of film.
    cures:
        Try what a finding advises on this very design (the job and the design belong together).

    Raises
    ------
    InputError
        For a code that no rule has, or a reason left empty.
    """
    ignored = dict(ignore or {})
    _known(ignored, tuple(rule.code for rule in rules))
    if not design.kinds:
        return joined([one for each in _by_rule(job, design, rules, ignored, odds, cures) for one in each])
    return _of_all(job, design, rules, ignored, odds, cures)


def _by_rule(
    job: Job,
    design: Design,
    rules: tuple[Rule, ...],
    ignored: Mapping[str, str],
    odds: Sequence[Odds],
    cures: bool,
) -> list[list[Finding]]:
    """What each rule finds of the film that is looked at and its holder."""
    found = []
    for rule in rules:
        if rule.code in ignored:
            found.append([rule.skipped(f"skipped at your request: {ignored[rule.code].strip()}")])
        else:
            known = bool(odds) and isinstance(rule, Sharpness)
            one = Sharpness(odds[design.kind]) if known else rule
            each = one.check(job, design)
            found.append(list(with_cures(job, design, one, each, rules) if cures else each))
    return found


def _of_all(
    job: Job,
    design: Design,
    rules: tuple[Rule, ...],
    ignored: Mapping[str, str],
    odds: Sequence[Odds],
    cures: bool,
) -> tuple[Finding, ...]:
    """The findings of a holder for several kinds of film: rules about the film of each, the others once."""
    shared = tuple(rule for rule in rules if not rule.per_film)
    once = dict(
        zip((rule.code for rule in shared), _by_rule(job, design, shared, ignored, odds, cures), strict=True)
    )
    own = tuple(rule for rule in rules if rule.per_film)
    by_film: list[list[list[Finding]]] = []
    for one, mine in zip(job.each, design.each, strict=True):
        asked = dict(
            zip((rule.code for rule in own), _by_rule(one, mine, own, ignored, odds, cures), strict=True)
        )
        lists = [once[rule.code] if rule.code in once else asked[rule.code] for rule in rules]
        flat = iter(joined([finding for each in lists for finding in each]))
        by_film.append([[next(flat) for _ in each] for each in lists])
    found: list[Finding] = []
    for number, rule in enumerate(rules):
        if not rule.per_film:
            found += by_film[design.kind][number]
        else:
            found += _named(job.each, [lists[number] for lists in by_film])
    return tuple(found)


def _named(films: Sequence[Job], by_film: Sequence[Sequence[Finding]]) -> list[Finding]:
    """The findings of one rule on each film, with the film's name; once and without it where all are alike."""
    first = list(by_film[0])
    if all(list(other) == first for other in by_film[1:]):
        return first
    return [
        finding.model_copy(
            update={
                "title": f"{one.film_called}: {finding.title}",
                "field": one.own_key(finding.field),
                "follows_from": f"{one.film_called}: {finding.follows_from}" if finding.follows_from else "",
            }
        )
        for one, mine in zip(films, by_film, strict=True)
        for finding in mine
    ]


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
