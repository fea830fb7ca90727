"""Narrower lips, tried on the holder: they show more of the picture, if nothing else needs them."""

from __future__ import annotations

from collections.abc import Iterator, Mapping, Sequence

from holders.checks.again import Again, worse
from holders.checks.base import Rule
from holders.checks.film.film_fit import HIDES_MM, hidden_mm, most_hidden, narrower_lips
from holders.design.model import Design, Edge, Window
from holders.facts.tables import process

SLOW = frozenset({"focus-error", "sharpness"})  # they look at heights, and the chance counts them
SHARES = (1.0, 0.5)  # of what a lip covers, taken off it


def lips_tried(holder: Again, rule: Rule, beside: Sequence[Rule]) -> str:
    """The first narrower lips that bring no stop and no warning of any rule, and what they gain; else what narrower
    lips would harm. "" where none can be tried: in a holder for several kinds of film, where the film needs the lip,
    where it cannot be designed or a rule breaks down on it.
    """
    job, design = holder.job, holder.design
    if job.kinds:
        return ""
    _, number, edge = most_hidden(design)
    window = design.windows[number - 1]
    narrow = narrower_lips(window, edge, job.film, process(design.route).least_lip_mm)
    if not narrow:
        return ""
    rules = [one for one in (rule, *(one for one in beside if one.code != rule.code)) if one.code not in SLOW]
    before = holder.found(rules)
    if before is None:
        return ""
    harm: tuple[str, ...] = ()
    for lips in _wanted(window, narrow):
        keys = {f"lip.{one}_mm": value for one, value in lips.items()}
        made = holder.changed(keys)
        then = None if made is None else made.found(rules)
        if made is None or then is None:
            continue
        new = worse(before, then)
        less = all(_covers(made.design, number, one) < hidden_mm(window, one) for one in lips)
        if less and not new and design.sag is not None:
            filmed = holder.changed(keys, film=True)
            then = None if filmed is None else filmed.found(rules)
            less, new = then is not None, worse(before, then or ())
        if less and not new:
            return _set(keys, most_hidden(made.design)[0])
        harm = harm or tuple(dict.fromkeys(one.title for one in new))
    return _kept(window, narrow, harm) if harm else ""


def _set(keys: Mapping[str, float], hidden: float) -> str:
    """The lips that were tried, and what they gain."""
    words = " and ".join(f"{key} = {value:g}" for key, value in keys.items())
    gain = "it cures this"
    if hidden > HIDES_MM:
        gain = f"at most {hidden:.2f} mm of the picture is covered then, and no other check warns for it"
    return f"set {words}: tried on this holder, {gain}"


def _covers(design: Design, number: int, edge: Edge) -> float:
    """How far a lip still covers the picture in that window, mm; infinite where there is no such window."""
    return hidden_mm(design.windows[number - 1], edge) if number <= len(design.windows) else float("inf")


def _wanted(window: Window, narrow: Mapping[Edge, float]) -> Iterator[Mapping[Edge, float]]:
    """Lips to try: all of them as narrow as shows all of the picture, one alone, then each halfway."""
    for share in SHARES:
        every: dict[Edge, float] = {
            one: round(window.lips.of(one) - share * hidden_mm(window, one), 2) for one in narrow
        }
        yield every
        if len(every) > 1:
            yield from ({one: value} for one, value in every.items())


def _kept(window: Window, narrow: Mapping[Edge, float], harm: Sequence[str]) -> str:
    """That the lips stay as they are, what would go wrong with narrower ones, and what that costs."""
    lost = " and ".join(f"{hidden_mm(window, one):.2f} mm at the {one}" for one in narrow)
    why = "; ".join(f"{title[:1].lower()}{title[1:]}" for title in harm)
    return (
        "leave the lips as they are: narrower ones were tried on this holder and harm it "
        f"(with lips that show all of it: {why}). What is lost is {lost} of the picture"
    )
