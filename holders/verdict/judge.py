"""From the odds and the findings to one sentence that no finding below it contradicts."""

from __future__ import annotations

from collections.abc import Sequence

from holders.core.findings import CONTRAST, Finding, per_hundred, with_consequences
from holders.verdict.model import FilmChance, Verdict
from holders.workshop.budget.odds import Odds, spoiled_words

OWN = "sharpness"  # the finding that says this very chance
DANGERS = frozenset(
    {"laser-material", "nitrate", "wet-mount"}
)  # what may hurt someone is said before all else
DOUBTS = {  # how the name of a contributor begins -> the doubt as a photographer would say it
    "focus height": "where your scanner is sharpest",
    "rounding to layers": "the height of the printer's layers",
    "rounding to sheets": "the thickness of the sheets you have",
    "aimed off focus": "the ledge, which is aimed beside the focus height",
    "printer's height": "how exactly the printer makes the ledge",
    "test piece's stair": "how exactly the test piece was measured",
    "sheet of": "how thick your sheets really are",
    "glue line": "how thick the glue between the sheets comes out",
    "feet": "how high the feet really stand",
    "film thickness": "how thick the film's base is",
    "film in its mount": "where in its mount the film lies",
    "thickness of the glass": "how thick the glass under the film is",
    "layer of fluid": "how thick the layer of fluid is",
    "base of the film": "how thick the film's base is",
    "thickness of the film": "how thick the film is",
    "frame's own sag": "how far the frame sags between its feet",
    "frame's warm bow": "how far the frame bows when one side is warm",
    "sag of the film": "how the film sags",
}


def judged(
    odds: Odds,
    findings: Sequence[Finding],
    films: Sequence[FilmChance] = (),
    supposed: Sequence[str] = (),
) -> Verdict:
    """The judgement on one holder, without next steps.

    Parameters
    ----------
    odds:
        The chance of a good scan, and what it was found from.
    findings:
        All findings of the checks; a stop or warnings among them stand in the sentence.
    films:
        The chance of each kind of film in the holder; of several, the sentence names the worst, whose ``odds`` these
        are, and what the others come to.
    supposed:
        What the chance rests on that nobody has measured yet, each as the words after "if".
    """
    doubt, several = doubt_words(odds), tuple(films) if len(films) > 1 else ()
    head = _head(odds.chance, findings, several, supposed)
    return Verdict(odds.chance, f"{head} Largest doubt: {doubt}.", doubt, films=several)


def doubt_words(odds: Odds) -> str:
    """What takes most of the chance, in words."""
    beside = spoiled_words(odds)
    if beside:
        return beside
    name = odds.sharp.stack.largest
    return next((words for start, words in DOUBTS.items() if name.startswith(start)), name)


def _of_films(films: Sequence[FilmChance]) -> str:
    """Scans of which film, and how the others do."""
    if not films:
        return ""
    worst = min(films, key=lambda one: one.chance)
    others = ", ".join(f"{per_hundred(one.chance)} of the {one.film}" for one in films if one is not worst)
    return f" of the {worst.film} ({others})"


def _head(
    chance: float, findings: Sequence[Finding], films: Sequence[FilmChance], supposed: Sequence[str]
) -> str:
    stops = [finding for finding in findings if finding.level == "stop"]
    warned = [finding for finding in findings if finding.level == "warn"]
    rings = any(
        finding.unit == CONTRAST for finding in warned
    )  # where film touches glass, which no chance counts
    warnings = sum(finding.unit != CONTRAST and finding.code != OWN for finding in warned)
    clear = (
        "sharp, but rings may show on any of them (see the warning)" if rings else "sharp and free of rings"
    )
    sharp = f"{per_hundred(chance).capitalize()} of 100 scans{_of_films(films)} will be {clear}"
    ifs = [f"{' and '.join(supposed)} (supposed, not measured yet)"] if supposed else []
    if stops:
        sharp += "".join(f", if {words}" for words in ifs)
        causes = [
            cause for cause, _ in with_consequences(stops)
        ]  # what follows from one is no further reason
        first = min(causes, key=lambda finding: finding.code not in DANGERS)
        many = "" if len(causes) == 1 else f" and {len(causes) - 1} more"
        return f"Do not make it like this: {first.title}{many}. ({sharp}.)"
    other = "other " if rings else ""
    if warnings:
        ifs.append(f"the {other}warning does no harm" if warnings == 1
                   else f"the {warnings} {other}warnings do no harm")  # fmt: skip
    return f"{sharp}, if {', and if '.join(ifs)}." if ifs else f"{sharp}."
