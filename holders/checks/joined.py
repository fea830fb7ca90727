"""Findings that have one cause become one, and what is already counted in the chance of a good scan warns only once.

The chance of a good scan (rule ``sharpness``) counts how the film sags, how well the focus height is known, how much
sheets may differ and how far the lamp's warmth bows the holder. A second warning about one of these would say the same
thing twice; its numbers stay in the list, with the reason why it does not warn.
"""

from __future__ import annotations

from collections.abc import Sequence

from holders.core.findings import Finding, amount, is_outside

CHANCE = "sharpness"
RANK = "how the stack of sheets ranks"
# the same cause as a low chance: said in its finding
CAUSES = (
    "share of the film surface in focus",
    "share in focus of the worst sensible film",
    "share in focus of the film on the warm bed",
    "film plane inside the focus band",
    "ledge rounded to whole layers",
    "ledge made of whole sheets",
)
# a ledge at the wrong height, from the cause to what comes of it: where one of these stops, the later ones and the low
# chance only follow from it
HEIGHT = (
    "ledge rounded to whole layers",
    "ledge made of whole sheets",
    "film plane inside the focus band",
    "share of the film surface in focus",
)
SAME_PLACE = "the same place as the bridge between two laser cuts"
DAMP = "bow of the holder with one damp face"
COUNTED = "counted in the chance of a good scan"
# facts of the material and its route, true of every holder made like this, and why each needs no warning
FACTS = {
    "bow of the holder with one warm face": COUNTED,
    "spread of the sheets' thickness": COUNTED,
    "share in focus of the worst sensible film": COUNTED + ", as are all curls that this film may have",
    "share in focus of the film on the warm bed": COUNTED + ", as far as such film is likely",
    "growth of the holder in the glass's rim": "it still fits, as the gap to the rim is wider than this",
    DAMP: "not judged, since it depends on how the holder was kept",
}


def joined(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings, those of one cause as one; only those of one place where the chance of a scan was not judged."""
    findings = _following(_of_one_place(findings))
    chance = next((f for f in findings if f.code == CHANCE and f.level != "skip"), None)
    if chance is None:
        return tuple(findings)
    low = chance.level in ("warn", "stop")
    folded = [f for f in findings if low and f.level == "warn" and (f.subject in CAUSES or _best_stack(f))]
    found = []
    for finding in findings:
        if finding is chance:
            found.append(_with_causes(finding, folded))
        elif any(finding is one for one in folded):
            found.append(_fact(finding, COUNTED))
        elif finding.level == "warn" and finding.subject in FACTS:
            cure = f": {finding.advice}" if finding.subject == DAMP else ""
            found.append(_fact(finding, FACTS[finding.subject] + cure))
        else:
            found.append(finding)
    return tuple(found)


def _following(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """The findings, each that only follows from a stop on the ledge's height with the title of that."""
    stops = {finding.subject: finding for finding in findings if finding.level == "stop"}
    first = next((stops[subject] for subject in HEIGHT if subject in stops), None)
    if first is None:
        return tuple(findings)
    later = HEIGHT[HEIGHT.index(first.subject) + 1 :]
    return tuple(
        f.model_copy(update={"follows_from": first.title})
        if f.level in ("warn", "stop") and (f.subject in later or f.code == CHANCE)
        else f
        for f in findings
    )


def _of_one_place(findings: Sequence[Finding]) -> tuple[Finding, ...]:
    """A laser's narrow bridge is a thin wall too: the wall does not warn where a bridge of that part and width does."""
    narrow = {_part_and_width(f) for f in findings if f.code == "bridges" and f.level in ("warn", "stop")}
    return tuple(
        _fact(f, SAME_PLACE) if f.code == "wall" and f.level == "warn" and _part_and_width(f) in narrow else f
        for f in findings
    )


def _part_and_width(finding: Finding) -> tuple[str, float]:
    width = finding.measured if isinstance(finding.measured, (int, float)) else float("nan")
    return finding.where.partition(",")[0], round(float(width), 1)


def _best_stack(finding: Finding) -> bool:
    """Whether the sheets at hand are stacked as well as they can be, and only miss the height."""
    return finding.subject == RANK and finding.measured == finding.limit


def is_counted(finding: Finding) -> bool:
    """Whether what lies outside its limit without a warning is in the chance of a good scan already."""
    return is_outside(finding) and finding.advice.startswith(COUNTED)


def _fact(finding: Finding, why: str) -> Finding:
    return finding.model_copy(update={"level": "skip", "advice": why, "follows_from": ""})


def _with_causes(chance: Finding, folded: Sequence[Finding]) -> Finding:
    """The finding on the chance, with the numbers of what is folded into it."""
    words = [
        f"{one.number}: {amount(one.measured, one.unit)}"
        for one in folded
        if one.number and one.subject != RANK
    ]
    if not words:
        return chance
    return chance.model_copy(update={"where": "; ".join((*words, chance.where))})
