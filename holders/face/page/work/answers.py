"""What the page shows for the form as it stands: the holder, the film in it, the checks. Runs in worker processes."""

from __future__ import annotations

import json
from collections.abc import Callable, Mapping
from functools import cache, lru_cache
from typing import Any

from holders.core.errors import HoldersError, InputError
from holders.core.findings import consequence_words, number_words, per_hundred, with_consequences
from holders.design.held.film_in_holder import designed
from holders.design.held.model import Filmed
from holders.design.model import EDGES, Design
from holders.design.resolve import design
from holders.face.page.form.values import Refused, preset_of, told, values_of
from holders.face.page.work.afresh import begun_afresh
from holders.face.page.work.curled import curled_films
from holders.face.page.work.relief import relief
from holders.face.page.work.routes import effort_by_route, effort_for, effort_words, rerouted
from holders.face.page.work.shape import shape
from holders.face.page.work.steps import trial
from holders.facts.curl_words import height_words
from holders.facts.height_names import BAND, FEET, LEDGE, LEDGE_ABOVE_GLASS, PLANE, SHARPEST, WHOLE
from holders.facts.models import Bed
from holders.film.surface import WarmStart
from holders.fittings.registry import FITTINGS
from holders.output.bundle.produce import never_made
from holders.output.crop_boxes import crop_tables, home_words, scan_setting
from holders.output.draw import section
from holders.output.draw.plan import plan
from holders.output.words.film import film_words
from holders.output.words.lid import lid_words
from holders.output.words.summary import design_summary, of_row_words, sharpest_words, verdict_summary
from holders.output.words.warmth import warm_summary, warm_words
from holders.preset.resolve import Job
from holders.preset.schema import Preset
from holders.preset.shipped import is_example
from holders.preset.tables.plain import PlainPreset
from holders.preset.tables.supposed import still_supposed
from holders.preset.template import template
from holders.study import Basis, Study, basis_of, job_of, study
from holders.workshop.budget.tolerance import sharp_means

UNNAMED = "a holder"  # until its own name follows from what it holds
SECTION_MM = 120.0
PLAN_MM = (72.0, 96.0)  # room for the bed on paper: small, so that the words come out large on a screen
KEEP_SHARED = 4  # forms whose designs are kept for the next kind of answer
KEEP = 48  # answers remembered, so that undo is instant where the same kind is asked for again


def sketch(values: Mapping[str, Any]) -> dict[str, Any]:
    """Plan, section, numbers and the shape to turn about; the film is still flat and nothing is checked."""
    return _remembered("sketch", _text(values))


def film(values: Mapping[str, Any]) -> dict[str, Any]:
    """The film as it sags in it, and the section and numbers of the ledge that follows from it."""
    return _remembered("film", _text(values))


def draft(values: Mapping[str, Any]) -> dict[str, Any]:
    """Film and drawing in one answer, in less time than two that are worked out side by side."""
    return _remembered("draft", _text(values))


def chance(values: Mapping[str, Any]) -> dict[str, Any]:
    """The verdict alone, before all that takes longer and changes nothing of it."""
    return _remembered("chance", _text(values))


def whole(values: Mapping[str, Any]) -> dict[str, Any]:
    """All of it, the ledge as it will be made, with what the checks say."""
    return _remembered("whole", _text(values))


def steps(values: Mapping[str, Any]) -> dict[str, Any]:
    """The next steps that gain, as far as they are tried; asked again until ``done``, a little more each time."""
    return _answered(lambda: trial(_text(values)).more())


def routes(asked: Mapping[str, Any]) -> dict[str, Any]:
    """What the holder of the form's ``values`` takes when it is made each other way, in words.

    ``by_hand``: the keys that the user has set.
    """
    return _answered(lambda: {"routes": effort_by_route(_values(asked), _paths(asked))})


def ahead(asked: Mapping[str, Any]) -> dict[str, Any]:
    """What the card of another way of making (``route``) would propose for the form's ``values``, before it is pressed:
    what it begins with (``begun``), the ``left`` out in words, the ``values`` and ``words`` that :func:`propose` gives
    for that, and in words the ``effort`` of that holder ("" where none can be made).

    ``by_hand``: keys and tables that stay as they are, there or not.
    """

    def answer() -> dict[str, Any]:
        by_hand = _paths(asked)
        begun, left = begun_afresh({**_values(asked), "route": asked.get("route")}, by_hand)
        found = propose({"values": begun, "by_hand": list(by_hand)})
        return {**found, "begun": begun, "left": left, "effort": effort_for(found.get("values", begun))}

    return _answered(answer)


def reroute(asked: Mapping[str, Any]) -> dict[str, Any]:
    """The form's ``values`` as the way of making that they name can make them, and what changed with it, in words.

    ``by_hand``: the keys that the user has set.
    """

    def answer() -> dict[str, Any]:
        made, said = rerouted(_values(asked), _paths(asked))
        return {"values": made, "words": said}

    return _answered(answer)


def afresh(asked: Mapping[str, Any]) -> dict[str, Any]:
    """The choices of the form's ``values`` with what is usual for them and what was set ``by_hand``; what had to go."""

    def answer() -> dict[str, Any]:
        made, said = begun_afresh(_values(asked), _paths(asked))
        return {"values": made, "words": said}

    return _answered(answer)


def propose(asked: Mapping[str, Any]) -> dict[str, Any]:
    """The form's ``values`` with what holds the film well, found by trying as ``holders new`` does, and what that is.

    ``by_hand``: keys and tables that stay as they are, there or not.
    """
    return _proposed(_text(asked))


@lru_cache(maxsize=KEEP)
def _proposed(text: str) -> dict[str, Any]:
    def answer() -> dict[str, Any]:
        from holders.search.propose import proposed

        asked = json.loads(text)
        values = _values(asked)
        made, said = proposed({"title": UNNAMED, **values}, template, _paths(asked))
        taken = values_of(template(made), "the holder") if said else dict(values)
        if "title" not in values:
            taken.pop("title", None)
        return {"values": taken, "words": said}

    return _answered(answer)


def _values(asked: Mapping[str, Any]) -> Mapping[str, Any]:
    """What the form holds, of a question that says besides what was set by hand."""
    values = asked.get("values")
    if not isinstance(values, Mapping):
        raise InputError("values", type(values).__name__, "the form's values are wanted")
    return values


def _paths(asked: Mapping[str, Any]) -> tuple[str, ...]:
    paths = asked.get("by_hand", [])
    if not isinstance(paths, list) or not all(isinstance(path, str) for path in paths):
        raise InputError("by_hand", str(paths)[:60], "a list of the form's keys is wanted")
    return tuple(paths)


# the questions that a worker takes, by name
KINDS: Mapping[str, Callable[[Mapping[str, Any]], dict[str, Any]]] = {
    "sketch": sketch,
    "film": film,
    "draft": draft,
    "chance": chance,
    "whole": whole,
    "steps": steps,
    "routes": routes,
    "reroute": reroute,
    "afresh": afresh,
    "propose": propose,
    "ahead": ahead,
}


def warm() -> None:
    """Load what only some fittings need, before one is asked for."""
    for kind in FITTINGS:
        kind.warm()


def _text(values: Mapping[str, Any]) -> str:
    return json.dumps(values, sort_keys=True)


@lru_cache(maxsize=KEEP)
def _remembered(kind: str, text: str) -> dict[str, Any]:
    return _answered(lambda: ANSWERS[kind](_shared(text)))


def _answered(answer: Callable[[], Mapping[str, Any]]) -> dict[str, Any]:
    try:
        return {"ok": True, **answer()}
    except Refused as refused:
        return {"ok": False, "errors": [told(error) for error in refused.errors]}
    except InputError as error:
        return {"ok": False, "errors": [told(error)]}
    except HoldersError as error:
        return {"ok": False, "errors": [told(InputError("preset", "", str(error)))]}


class Shared:
    """What the answers to one form have in common, each computed when the first of them wants it."""

    def __init__(self, preset: Preset) -> None:
        self.preset = preset
        self._job: Job | None = None
        self._drafts: dict[bool, tuple[Design, Filmed]] = {}
        self._basis: Basis | None = None

    def studied(self, *, extremes: bool) -> Study:
        """The holder designed and checked."""
        if self._basis is None:
            self._basis = basis_of(self.preset)
        return study(self.preset, extremes=extremes, basis=self._basis)

    def job(self) -> Job:
        """The preset looked up."""
        if self._job is None:
            self._job = job_of(self.preset)[0]
        return self._job

    def draft(self, *, uncut: bool) -> tuple[Design, Filmed]:
        """The holder with its film, as closely as a first look needs it.

        ``uncut`` asks for heights and film alone; a holder that has been cut into its pieces has the same.
        """
        for known in (False, uncut):
            if known in self._drafts:
                return self._drafts[known]
        made = designed(self.job(), ranges=False, draft=True, uncut=uncut, recent=_last_film())
        self._drafts[uncut] = made
        return made


@lru_cache(maxsize=KEEP_SHARED)
def _shared(text: str) -> Shared:
    return Shared(preset_of(json.loads(text)))


def _drawn(made: Design) -> dict[str, Any]:
    return {
        **_cut(made),
        "plan": plan(made, _scale(made)).svg(f"{made.title}: plan").decode(),
        "shape": shape(made),
        "in_pieces": bool(made.seams),
    }


def _cut(made: Design) -> dict[str, Any]:
    """What its heights decide."""
    return {
        "slug": made.slug,
        "title": made.title,
        "section": section.edge(made, SECTION_MM).svg(f"{made.title}: section across a window").decode(),
        "numbers": numbers(made),
    }


def _scale(made: Design) -> float:
    wide = max(made.glass.width, made.outer.width)
    high = max(made.glass.height, made.outer.height)
    return min(PLAN_MM[0] / wide, PLAN_MM[1] / high)


def _flat(shared: Shared) -> dict[str, Any]:
    return _drawn(design(shared.job()))


def _sagging(shared: Shared) -> dict[str, Any]:
    made, film = shared.draft(uncut=True)
    return filmed(_cut(made), shared.job(), made, film)


def _sagging_drawn(shared: Shared) -> dict[str, Any]:
    made, film = shared.draft(uncut=False)
    return filmed(_drawn(made), shared.job(), made, film)


@cache
def _last_film() -> WarmStart:
    """The film of the answer before: most changes alter little of it, and it then takes half the time."""
    return WarmStart()


def _glimpsed(shared: Shared) -> dict[str, Any]:
    found = shared.studied(extremes=False)
    levels = [finding.level for finding in found.findings]
    return {
        "verdict": _verdict(found),
        "stops": levels.count("stop"),
        "warnings": levels.count("warn"),
        "example": _example(found.job.preset, found.job.bed, found.design),
    }


def _verdict(found: Study) -> dict[str, Any]:
    supposed = bool(
        still_supposed(found.job.whole_preset)
    )  # said beside the number where its sentence is not
    summary = verdict_summary(found.verdict)
    return {
        **summary,
        "of_100": per_hundred(found.verdict.chance),
        "supposed": supposed,
        "means": sharp_means(),
    }


def _judged(shared: Shared) -> dict[str, Any]:
    found = shared.studied(extremes=True)
    return {
        **filmed(_drawn(found.design), found.job, found.design, found.film),
        "effort": effort_words(found.job, found.design, found.nested),
        "usual_curl": found.job.base.curl_per_m,
        "curls": _curls(found.job),
        "curled": curled_films(found.design, found.film, found.job.film.cut_width_mm),
        "warmth": warm_summary(found.job, found.design.sag),
        "verdict": _verdict(found),
        "design": design_summary(found.design),
        "crops": _crops(found),
        "findings": [finding.model_dump() for finding in found.findings],
        "said": [number_words(finding) for finding in found.findings],
        "also": {
            cause.title: consequence_words(more) for cause, more in with_consequences(found.findings) if more
        },
        "example": _example(found.job.preset, found.job.bed, found.design),
        "cautions": list(found.cautions),
        "notes": list(found.design.notes),
        "stops": [finding.code for finding in found.stops],
        "never": never_made(found),
    }


def _crops(found: Study) -> dict[str, Any]:
    """The crop boxes as the job sheet gives them, and what their pixels are for."""
    setting = scan_setting(found.job.preset)
    tables = crop_tables(found.design, setting)
    words = (
        f"Pixels are for {setting.words} ppi, {setting.because}. {home_words(found.design, setting)} The job sheet "
        "says how to use the boxes."
    )
    return {
        "tables": [{"caption": one.caption, "head": one.head, "rows": one.rows} for one in tables],
        "words": words,
    }


def _curls(job: Job) -> dict[str, str]:
    """How high the middle of this film stands with each curl of the form."""
    wide, long = job.film.cut_width_mm, job.film.cut_height_mm

    def stands(per_m: float, side_mm: float, side: str) -> str:
        words = height_words(per_m, side_mm)
        return words if words == "flat" else f"{words} in the middle of its {side} ({side_mm:.0f} mm)"

    found = {
        f"base.{key}": stands(getattr(job.base, key), wide, "width")
        for key in ("curl_low_per_m", "curl_per_m", "curl_high_per_m")
    }
    return {**found, "film.curl_along_per_m": stands(job.preset.film.curl_along_per_m, long, "length")}


def _example(preset: PlainPreset, bed: Bed, made: Design) -> str:
    """Whose scanner a chance is for that nobody measured on their own; "" for a holder of one's own."""
    if not is_example(preset.title, preset.bed.model_dump()):
        return of_row_words(preset, bed, made.heights)
    return f"This number is an example's: for a scanner that is {sharpest_words(made.heights)}. Yours is another one."


ANSWERS: Mapping[str, Callable[[Shared], dict[str, Any]]] = {
    "sketch": _flat,
    "film": _sagging,
    "draft": _sagging_drawn,
    "chance": _glimpsed,
    "whole": _judged,
}


def filmed(drawn: Mapping[str, Any], job: Job, made: Design, film: Filmed) -> dict[str, Any]:
    """A drawing's answer with the film in it: its surface, and its numbers after those of the drawing."""
    sag = film.sag
    answer = {**drawn, "film": None, "why_not": film.why_not, "films": _each_film(job, made, film)}
    if film.grid is not None and sag is not None:
        answer["film"] = relief(job, made, film)
        answer["film_words"] = film_words(made, film)
        answer["numbers"] += [
            ["Film sags below the ledge", f"{sag.max_mm:.2f} mm at most"],
            ["Film nearest to the glass", f"{sag.min_gap_mm:.2f} mm (asked for: {film.least_gap_mm:.2f} mm)"],
            ["Picture in focus", f"{100 * sag.in_band_fraction:.1f} %"],
        ]
        if sag.lid is not None:
            name = made.on_film.on_film.capitalize()
            answer["numbers"].append([f"{name} on the film", lid_words(sag.lid, made.on_film.on_film)])
        if sag.warm is not None:
            answer["numbers"].append(["Film on the warm bed", warm_words(job.film, made)])
    return answer


def _each_film(job: Job, made: Design, film: Filmed) -> list[dict[str, Any]]:
    """The relief of each kind of film in a holder for several, the one that is looked at first; none for one kind."""
    found = []
    for one in sorted(job.each if job.kinds else (), key=lambda one: one.kind != made.kind):
        mine, own = made.of(one.kind), film.of(one.kind)
        if own.grid is not None and own.sag is not None:
            numbers = ", ".join(str(number) for number, _ in mine.numbered)
            name = f"{one.film_called} ({'windows' if len(mine.numbered) > 1 else 'window'} {numbers})"
            found.append({"name": name, "film": relief(one, mine, own), "film_words": film_words(mine, own)})
    return found


def _of_each(made: Design, words: Callable[[Design], str]) -> str:
    """A value of each kind of film with its key; once where all have the same."""
    each = [(one.mine[0].film_key, words(one)) for one in made.each]
    if len({value for _, value in each}) == 1:
        return each[0][1]
    return "; ".join(f"{value} ({key})" for key, value in each)


def _window_words(made: Design) -> str:
    first = made.mine[0].opening
    return f"{len(made.mine)}, each {first.width:.2f} × {first.height:.2f} mm"


def _passes_words(made: Design) -> str:
    across, along = (max(each) for each in zip(*made.stands, strict=True))
    ways = ((across, "across"), (along, "along"))
    moved = " and ".join(f"{way:.1f} mm {name} the bed" for way, name in ways if way > 0)
    return f"{len(made.stands)}, the holder moved by {moved} in all"


def _lip_words(made: Design) -> str:
    return ", ".join(f"{edge} {made.mine[0].lips.of(edge):.2f}" for edge in EDGES) + " mm"


def numbers(made: Design) -> list[list[str]]:
    """Names and values to read beside the drawing; of each kind of film where they differ."""
    h = made.heights
    seen = sorted({f"{100 * window.seen:.1f} %" for window in made.windows})
    return [
        ["Outer size", f"{made.outer.width:.1f} × {made.outer.height:.1f} mm"],
        ["Windows", _of_each(made, _window_words)],
        *([["Passes", _passes_words(made)]] if len(made.stands) > 1 else []),
        ["Lip", _of_each(made, _lip_words)],
        *[
            [name[0].upper() + name[1:], words]
            for name, words in (
                (LEDGE, _of_each(made, lambda one: f"{one.heights.ledge_as_made:.2f} mm")),
                (FEET, f"{h.foot_protrusion:.2f} mm"),
                (LEDGE_ABOVE_GLASS, _of_each(made, lambda one: f"{one.heights.ledge_above_glass:.2f} mm")),
                (PLANE, _of_each(made, lambda one: f"{one.heights.sharp_plane:.2f} mm")),
                (SHARPEST, f"{h.focus:.2f} ± {h.focus_sigma:.2f} mm"),
                (BAND, f"{h.band_low:.2f} to {h.band_high:.2f} mm"),
                (WHOLE, f"{made.total_height:.2f} mm"),
            )
        ],
        ["Picture shown", ", ".join(seen)],
    ]
