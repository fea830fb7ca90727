"""Next steps for a holder that is there already: the shims that put it right, before what asks for a new one."""

from __future__ import annotations

from collections.abc import Sequence
from dataclasses import replace

from holders.core.errors import InputError
from holders.measure.bed.record import Measured
from holders.preset.schema import Preset
from holders.study import Study, study
from holders.verdict.model import Step
from holders.workshop.budget.as_made import SIDES, AsMade, Rescue, read, rescues

MOST_RESCUES = 2


def as_it_is(found: Study, readings: Sequence[float] = (), places: Sequence[Measured] = ()) -> AsMade | None:
    """The holder that is there, by four heights of its ledge, mm; None where none is known.

    ``readings`` are those of a register; without them the preset's own ([coupon] ledge_mm) are taken. In a holder for
    several kinds of film they are of the ledge that was drawn nearest to the height given beside them.
    """
    mine = found
    if not readings:
        told = found.job.preset.coupon
        readings, drawn = told.ledge_mm, told.ledge_drawn_mm
        if len(readings) != len(SIDES) or drawn is None:
            return None
        mine = _before(found, places)
        if mine.job.kinds:
            every = [mine, *(mine.of(one.kind) for one in mine.job.each)]
            mine = min(every, key=lambda one: abs(one.design.heights.ledge_above_glass - drawn))
    if len(readings) != len(SIDES):
        return None
    try:
        return AsMade(mine.job, mine.design, read(mine.design, readings))
    except InputError:  # of a holder that lay at another height altogether: not this one
        return None


def _before(found: Study, places: Sequence[Measured]) -> Study:
    """The holder as it was drawn before its own ledge was read."""
    whole = found.job.whole_preset
    assert isinstance(whole, Preset)
    coupon = whole.coupon.model_copy(update={"ledge_mm": (), "ledge_drawn_mm": None})
    return study(whole.model_copy(update={"coupon": coupon}), found.preset_text, places, extremes=False)


def rescue_steps(found: Study, now: float, ways: Sequence[Rescue]) -> tuple[Step, ...]:
    """Rescues as next steps, the best first; ``now`` is the chance of the holder as it is, 0 to 1.

    They change no key: the preset stays as it was.
    """
    return tuple(
        Step(
            text=f"The holder you have: {one.words}",
            chance=one.chance,
            gain=one.chance - now,
            keys={},
            preset=found.preset_text,
            by_hand=True,
            now=now,
        )
        for one in ways[:MOST_RESCUES]
    )


def with_rescue(found: Study, readings: Sequence[float] = (), places: Sequence[Measured] = ()) -> Study:
    """The study with what puts right the holder that is there before its other next steps; unchanged without one."""
    made = as_it_is(found, readings, places)
    if made is None:
        return found
    first = rescue_steps(found, made.chance(), rescues(made))
    return replace(found, verdict=replace(found.verdict, next=(*first, *found.verdict.next)))
