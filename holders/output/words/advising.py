"""A measured band laid beside the tolerances of one holder."""

from __future__ import annotations

from typing import Any

from holders.measure.slope.advice import job_advice
from holders.study import Study
from holders.workshop.budget.contributors import contributors, frame_contributors
from holders.workshop.budget.tolerance import Cause, shift, standard_deviation

EDGE_WORDS = (
    "no advice on {title}: the best height was not seen; measure again with a slope that reaches further"
)


def advised(found: Any, holder: Study) -> Any:
    """The measurement ``found`` (a ``FocusResult``) with advice on this holder."""
    return found.model_copy(update={"advice": advice_words(found, holder)})


def advice_words(found: Any, holder: Study) -> tuple[str, ...]:
    """Whether the holder stays in the measured band, and what would help, in words."""
    job, design = holder.job, holder.design
    if found.at_edge or not found.band[0] < found.band[1]:
        return (EDGE_WORDS.format(title=design.title),)
    reach = design.sag.reach_mm if design.sag is not None and job.film.kind != "mount" else None
    frame = frame_contributors(job, design)  # as the check of sharpness counts it
    parts = contributors(job, design, reach) + frame
    # the measurement's own sigma takes the place of the preset's
    stack = [p for p in parts if not p.over_picture and p.cause is not Cause.FOCUS]
    worst = max(stack, key=lambda p: p.sigma_mm)
    advice = job_advice(
        band=found.band,
        height_mm=found.height,
        height_sigma_mm=found.height_sigma,
        film_height_mm=design.heights.focus + shift(parts),
        stack_sigma_mm=standard_deviation(stack),
        film_spread_mm=0.0 if reach is None else reach[1] - reach[0],
        frame_spread_mm=sum(2.0 * p.reach_mm for p in frame if p.over_picture),
        largest=f"{worst.name}, ± {worst.reach_mm:.3f} mm" if worst.reach_mm > 0.0 else "",
        printed=job.printer is not None,
        held=any(made.holds_film for made in design.fitted),
        emulsion_down=job.preset.film.emulsion == "down",
    )
    words = [f"{design.title}: {advice.text}", *advice.steps]
    if reach is None and job.film.kind != "mount":
        words.append("the film is taken as flat, since its surface is not known for this holder")
    if not found.band_seen:
        words.append("the band reaches beyond the heights that were seen and may be wider than said")
    return tuple(words)
