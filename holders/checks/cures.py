"""What would cure a finding, tried: the key that it names is changed, the holder designed and looked at again."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Iterator, Mapping, Sequence
from typing import TYPE_CHECKING

from holders.checks.again import Again
from holders.checks.base import TRIED, UNTRIED, Rule
from holders.checks.film.film_fit import HIDDEN
from holders.checks.film.lips_tried import lips_tried
from holders.core.findings import Finding
from holders.design.draft.lips import SET_BACK_MM
from holders.design.model import Design
from holders.facts.tables import process

if TYPE_CHECKING:
    from holders.preset.resolve import Job

Values = Callable[[float], Iterable[float]]
LID_LIPS = (3.0, 4.0, 5.0)  # tried together with the lip under the film
MOST = 4  # values of one key: each is a design and its check, a tenth of a second

TRIES: Mapping[str, Values] = {
    "carrier.clearance_mm": lambda _: (0.25,),
    "carrier.key_mm": lambda now: (now + 2, now + 4, now + 8),
    "carrier.ledge_mm": lambda now: (now - 1, now - 2, now + 1, now + 2),
    "channel.radius_mm": lambda now: (1.5 * now, 2 * now, 0.75 * now),
    "cover.catches": lambda now: (2, 4) if now < 2 else (),
    "cover.clearance_mm": lambda _: (0.5,),
    "cover.thickness_mm": lambda now: (1.5, 2.0, 3.0) if now < 1.5 else (),
    "feet.count": lambda now: (4, 6, 8) if now < 8 else (6, 4),
    "feet.diameter_mm": lambda now: (0.75 * now, 0.5 * now),
    "feet.recess_mm": lambda now: (now - 0.5, now - 0.8),
    "layout.clearance_mm": lambda now: (now + 0.1, now + 0.25),
    "layout.pocket_depth_mm": lambda now: (now - 0.4, now - 0.8),
    "layout.slide_gap_mm": lambda now: (now + 0.5, now + 1, now + 1.5),
    "layout.wall_mm": lambda now: (now + 1, now + 2, now + 4),
    "lid.clearance_mm": lambda _: (0.3, 0.2),
    "lid.lip_mm": lambda now: (now + 1, now + 2),
    "lid.thickness_mm": lambda now: (now - 1, now - 2, now - 4, now / 2),
    "split.clearance_mm": lambda now: (now / 2, now / 4),
}
CODES = frozenset({"bridges", "channel", "cover", "feet", "insert", "lid-fit", "lid-room", "seam", "wall"})
OF_A_FIELD = frozenset({("expansion", "layout.slide_gap_mm")})  # the same for one field of a rule alone
FINGERS = "layout.finger_notches"
# times the wall: room in which notches go deep enough, or for one beside the opening over the calibration zone
WALLS = (1.2, 1.5, 2.0, 0.84)


def with_cures(
    job: Job, design: Design, rule: Rule, found: Iterable[Finding], beside: Sequence[Rule] = ()
) -> Iterator[Finding]:
    """The findings of a rule; where one warns or stops, its advice is a value that was tried and cures it, or says that
    what it names was not tried.

    ``beside`` are the rules that a cure must leave as they are, where it changes what they look at.
    """
    every = list(found)
    stopped = frozenset(finding.subject for finding in every if finding.level == "stop")
    for finding in every:
        if finding.subject == HIDDEN and finding.level == "warn":
            words = lips_tried(Again(job, design), rule, beside)
            yield finding.model_copy(update={"advice": words}) if words else finding
            continue
        by_hand = finding.code == "grip" and finding.field in (FINGERS, "cover.thickness_mm")
        changes = finding.code in CODES or (finding.code, finding.field) in OF_A_FIELD or by_hand
        if not changes or finding.level not in ("warn", "stop"):
            yield finding
            continue
        words = _cure(job, design, rule, finding, stopped)
        if by_hand:  # what it says otherwise is done by hand and needs no trial
            yield finding.model_copy(update={"advice": "; or ".join(filter(None, (words, finding.advice)))})
        elif words:
            yield finding.model_copy(update={"advice": words})
        elif finding.advice and TRIED not in finding.advice:
            yield finding.model_copy(update={"advice": UNTRIED + finding.advice})
        else:
            yield finding


def _cure(job: Job, design: Design, rule: Rule, finding: Finding, stopped: frozenset[str]) -> str:
    """The first value of the finding's own key that turns it into a pass and brings the rule no new stop."""
    table, _, key = finding.field.rpartition(".")
    row = getattr(job.preset, table, None) if table else None
    values = TRIES.get(finding.field)
    if row is None:
        return ""
    now = getattr(row, key)
    now = _as_made(design, finding.field) if now is None else now
    if now is None:
        return ""

    def cures(changed: Mapping[str, bool | float]) -> bool:
        made = Again(job, design).changed(changed)
        found = (made.found((rule,)) if made else None) or []
        same = {one.level for one in found if one.subject == finding.subject} - {
            "skip"
        }  # of a part that has no such place
        worse = any(one.level == "stop" and one.subject not in stopped for one in found)
        return same == {"pass"} and not worse

    if finding.field == FINGERS:
        wall = job.preset.layout.wall_mm or process(job.preset.route).wall_mm
        return _for_fingers(bool(now), wall, cures)
    whole = isinstance(getattr(row, key), int)
    for value in [] if values is None else list(values(now))[:MOST]:
        if cures({finding.field: int(value) if whole else round(value, 3)}):
            return f"set {finding.field} = {value:g}: tried on this holder, it cures this"
    if finding.field == "lid.lip_mm":  # the lip under the film must reach as far
        for value in LID_LIPS:
            lip = max(job.preset.lip.all_mm or 0.0, value + SET_BACK_MM)
            if value > now and cures({"lid.lip_mm": value, "lip.all_mm": lip}):
                return (
                    f"set lid.lip_mm = {value:g} and lip.all_mm = {lip:g}: tried on this holder, it cures this, "
                    "but covers more of the picture's edge"
                )
    return ""


def _for_fingers(opened: bool, wall_mm: float, cures: Callable[[Mapping[str, bool | float]], bool]) -> str:
    """Notches where there are none, else a wall that leaves room for deep ones."""
    if not opened:
        return f"set {FINGERS} = true: tried on this holder, it cures this" if cures({FINGERS: True}) else ""
    for wall in (round(wall_mm * share, 2) for share in WALLS):
        if cures({"layout.wall_mm": wall}):
            return f"set layout.wall_mm = {wall:g}: tried on this holder, it cures this"
    return ""


def _as_made(design: Design, field: str) -> float | None:
    """What the design made of a key that the preset leaves open."""
    if field == "layout.pocket_depth_mm":
        return design.pocket_depth
    if field == "feet.recess_mm":
        return design.foot_recess
    return None
