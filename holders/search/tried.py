"""Changes applied to a preset, designed and judged: only what gains is named."""

from __future__ import annotations

from collections.abc import Callable, Iterable, Sequence
from dataclasses import dataclass, replace

from holders.core.errors import HoldersError
from holders.core.findings import Finding, per_hundred
from holders.core.limits import MANY_WINDOWS, MOST_WINDOWS_TRIED
from holders.core.lines import Candidate
from holders.measure.bed.record import Measured
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.tables.supposed import with_entry
from holders.search.candidates import FRAME, MEASURE, candidates, film_keys
from holders.search.effort import Effort, effort_of
from holders.search.halves import in_halves
from holders.search.smaller import as_good
from holders.search.ways import search
from holders.study import Study, study
from holders.verdict.model import Step

LEAST_GAIN = 0.01
# stops that another way to hold the film may lift
HELD_BADLY = frozenset({"focus-error", "lid-room", "sag", "sharpness", "wall"})
MOST_STEPS = 5


@dataclass(frozen=True, slots=True)
class Tried:
    """A change that could be designed, and what came of it."""

    candidate: Candidate
    preset: str
    found: Study


def tried(found: Study, change: Candidate, places: Sequence[Measured] = ()) -> Tried | None:
    """The change applied to a study's preset, designed and checked; None where it cannot be made or breaks more.

    It breaks more where a check says stop that did not before.
    """
    try:
        text = with_values(found.preset_text, _written(found, change))
        new = study(parse(text, found.preset_file or "preset"), text, places, extremes=False)
    except HoldersError:
        return None
    before = {finding.code for finding in found.stops}
    if any(finding.code not in before for finding in new.stops):
        return None
    return Tried(change, text, replace(new, preset_file=found.preset_file))


def _written(found: Study, change: Candidate) -> dict[str, object]:
    """The keys of a change as they are written; of one to measure with a note that its values are only supposed."""
    keys = dict(change.keys)
    if change.family != MEASURE:
        return keys
    values = dict(keys)
    if "bed.focus_sigma_mm" in values:  # measured together
        values["bed.focus_height_mm"] = found.job.bed.focus_height_mm
    return {**keys, "supposed": with_entry(found.job.whole_preset, values)}


def try_all(
    changes: Sequence[Candidate], found: Study, places: Sequence[Measured] = ()
) -> list[Tried | None]:
    """:func:`tried` for each change, in their order."""
    return [tried(found, change, places) for change in changes]


def with_steps(
    found: Study,
    places: Sequence[Measured] = (),
    changes: Callable[[Study], Iterable[Candidate]] = candidates,
    most: int = MOST_STEPS,
) -> Study:
    """The study with its next steps: at most ``most`` changes that gain, the largest gain first.

    A change gains where it removes a stop, which its text then says, or adds at least one in a hundred to the chance
    of a good scan, which then shows in the chances printed. A smaller frame gains where it is as good and saves
    material; it has a place among the steps however much the others gain.
    """
    certain = not found.stops and 1 - found.verdict.chance < LEAST_GAIN
    every = [one for one in changes(found) if not certain or one.family == FRAME]
    if not every and certain:
        return found  # nothing can gain
    # each is designed and checked again, which for a bed full of windows takes long
    windows = len(found.design.windows)
    few = every if windows <= MANY_WINDOWS else every[: MOST_WINDOWS_TRIED // windows]
    each = in_halves(try_all, few, found, places, alike=_film_of)
    if len(few) < len(every):
        note = f"of {len(every)} changes the first {len(few)} were tried for next steps, as the holder has many windows"
        found = replace(found, design=replace(found.design, notes=(*found.design.notes, note)))
    results = [result for result in each if result is not None]
    if HELD_BADLY & {finding.code for finding in found.stops} and not any(one.found.ok for one in results):
        results += _instead(found, places)
    steps = next_steps(found, results, most)
    return replace(
        found,
        verdict=replace(found.verdict, next=steps),
        findings=_with_cures(found, results, steps),
    )


def _with_cures(found: Study, results: Sequence[Tried], steps: Sequence[Step]) -> tuple[Finding, ...]:
    """The findings; each stop that others follow from advises the first of the steps that takes it away."""
    causes = {finding.follows_from for finding in found.findings} - {""}
    named = [one for step in steps for one in results if one.candidate.keys is step.keys]
    done = []
    for finding in found.findings:
        cures = [one for one in named if all(stop.subject != finding.subject for stop in one.found.stops)]
        if finding.title in causes and finding.level == "stop" and cures:
            change, then = cures[0].candidate.text, cures[0].found.verdict.chance
            chances = f"{per_hundred(found.verdict.chance)} -> {per_hundred(then)} of 100"
            words = f"{change[:1].lower()}{change[1:]}: tried on this holder, {chances}"
            done.append(finding.model_copy(update={"advice": words}))
        else:
            done.append(finding)
    return tuple(done)


def _instead(found: Study, places: Sequence[Measured]) -> list[Tried]:
    """The likeliest way to hold the film that no check stops, where no single change is enough; none where none is."""
    result = search(found, places, most=1)
    changes = [Candidate(f"Instead: {way.text[0].lower()}{way.text[1:]}", way.keys) for way in result.ways]
    return [one for one in try_all(changes, found, places) if one is not None]


def _film_of(change: Candidate) -> object:
    return film_keys(change.keys)


def next_steps(found: Study, results: Iterable[Tried], most: int = MOST_STEPS) -> tuple[Step, ...]:
    """Of changes that were tried, at most ``most`` that gain, the largest gain first; one of them a smaller frame.

    Of two that change the same keys and gain about as much, only the one that takes less is named.
    """
    gains = [result for result in results if _gains(found, result.found) or _saves(found, result)]
    gains.sort(key=lambda result: (len(result.found.stops), -result.found.verdict.chance))
    if not gains:
        return ()
    now = effort_of(found.job, found.design, found.nested)
    steps = [(result, _step(found, now, result)) for result in gains]
    worth = [pair for pair in steps if not any(_cheaper(*pair, *other) for other in steps)]
    frames = [pair for pair in worth[most:] if pair[0].candidate.family == FRAME]
    named = [*worth[: most - len(frames)], *frames] if frames else worth[:most]
    return tuple(step for _, step in named)


def _saves(old: Study, result: Tried) -> bool:
    """Whether a smaller frame does without harm: no stop, no warning that was not there, no lower chance."""
    if result.candidate.family != FRAME:
        return False
    return as_good(result.found, old) and result.found.verdict.chance >= old.verdict.chance


def _cheaper(result: Tried, step: Step, other: Tried, instead: Step) -> bool:
    """Whether another change of the same keys gains about as much as a step and takes less."""
    if result.candidate.keys.keys() != other.candidate.keys.keys() or len(other.found.stops) > len(
        result.found.stops
    ):
        return False
    took, takes = ((round(one.minutes), round(one.hidden_mm2), one.cost or 0.0) for one in (step, instead))
    less = all(a <= b for a, b in zip(takes, took, strict=True)) and (takes != took or _fewer(result, other))
    return less and instead.chance > step.chance - LEAST_GAIN


def _fewer(result: Tried, other: Tried) -> bool:
    """Whether another change of the same keys asks for less of what it asks for: two magnets instead of four."""
    each = [(value, other.candidate.keys[key]) for key, value in result.candidate.keys.items()]
    numbers = [(a, b) for a, b in each if isinstance(a, (int, float)) and isinstance(b, (int, float))]
    same = all(a == b for a, b in each if (a, b) not in numbers)
    return same and all(b <= a for a, b in numbers) and any(b < a for a, b in numbers)


def _gains(old: Study, new: Study) -> bool:
    if len(new.stops) < len(old.stops):
        return True
    return len(new.stops) == len(old.stops) and new.verdict.chance - old.verdict.chance >= LEAST_GAIN


def _lifted(old: Study, new: Study) -> str:
    """Which stop a change takes away, in words: its chance alone may not show that it gains."""
    if len(new.stops) >= len(old.stops):
        return ""
    left = {stop.code for stop in new.stops}
    gone = list(
        dict.fromkeys(stop.title for stop in old.stops if stop.code not in left and not stop.follows_from)
    )
    if not gone:  # one of several of a kind, or only what follows from one that stays
        return f" (leaves {len(new.stops)} of {len(old.stops)} stops)"
    more = "" if len(gone) == 1 else f" and {len(gone) - 1} more"
    return f' (takes away the stop "{gone[0]}"{more})'


def _brought(old: Study, new: Study) -> str:
    """Which warnings a change brings that were not there, in words: a gain may have its price."""
    before = {finding.code for finding in old.findings if finding.level in ("warn", "stop")}
    titles = dict.fromkeys(
        finding.title for finding in new.findings if finding.level == "warn" and finding.code not in before
    )
    if not titles:
        return ""
    more = "" if len(titles) == 1 else f" and {len(titles) - 1} more"
    return f' (brings the warning "{next(iter(titles))}"{more})'


def _step(old: Study, now: Effort, result: Tried) -> Step:
    new = result.found
    then = effort_of(new.job, new.design, new.nested)
    cost = None if then.cost is None else then.cost - (now.cost or 0.0)
    return Step(
        text=f"{result.candidate.text}{_lifted(old, new)}{_brought(old, new)}",
        chance=result.found.verdict.chance,
        gain=result.found.verdict.chance - old.verdict.chance,
        keys=result.candidate.keys,
        preset=result.preset,
        minutes=then.minutes - now.minutes,
        cost=cost,
        hidden_mm2=then.hidden_mm2 - now.hidden_mm2,
        measure=result.candidate.family == MEASURE,
    )
