"""Loading the film: which side, which way round, and how the scan must be flipped."""

from __future__ import annotations

from collections.abc import Sequence
from itertools import zip_longest

from holders.checks.frame.seam import BOTH_HANDS
from holders.core.lengths import measure
from holders.design.draft.notches import deep_enough, openings
from holders.design.model import Design, Role
from holders.design.plan.anchor import placing_words, slide_words
from holders.design.plan.code_notch import Emulsion, notch_side
from holders.design.plan.mask import can_stay_empty
from holders.facts.models import FilmFormat
from holders.facts.numbers import numbers
from holders.output.sheet.blocks import Items, Section, Words
from holders.preset.resolve import Job

SAME_FACES_MM = 0.1  # film so near the middle of its mount lies as well with either face down


def mirrored(emulsion: Emulsion) -> bool:
    """Whether the scan comes out as in a mirror.

    Film shows the scene the right way round when one looks at its base side. The scanner looks from below, through
    the glass: with the emulsion down it looks at the emulsion side.
    """
    return emulsion == "down"


def section(job: Job, design: Design) -> Section:
    """The section about loading; what differs between kinds of film is said of each."""
    each = [(one.film_called, one, design.of(one.kind)) for one in job.each]
    steps = _for_each([(name, _steps(one, mine)) for name, one, mine in each])
    usual = type(job.preset.room).model_fields["humidity_percent"].default
    air = job.preset.room.humidity_percent
    if air != usual and any(not one.base.rigid for one in job.each):
        steps = [_in_that_room(air), *steps]
    if job.kinds:
        steps = [f"Which film goes where: {_places(each)}.", *steps]
    turns = _for_each([(name, [_round(one.preset.film.emulsion, _turned(mine))]) for name, one, mine in each])
    return Section(
        "loading",
        "Loading the film",
        (
            Items(tuple(steps), numbered=True),
            *(Words(words) for words in turns),
            *(Words(words) for words in (slide_words(job.preset, design),) if words),
        ),
        leaf=2,
    )


def takes(design: Design, lifted: Sequence[tuple[str, bool, Design]]) -> tuple[str, ...]:
    """What loading uses, by the names of the bench, but for what the fittings' own steps take.

    ``lifted`` has for each kind of film what :func:`called` says, and the design as that kind sees it.
    """
    each = design.each
    lifting = {_taking_out(*one)[1] for one in lifted} - {""}
    bare = any(mine.pocket_depth <= 0 for mine in each)
    empty = any(_masked(mine) for mine in each)
    return (
        "cloth", "blower", "gloves",
        *(("spare-card",) if bare else ()),
        *sorted(lifting),
        *(("card",) if design.mask and not design.of_sheet else ()),
        *(("pocket-card",) if empty and not design.of_card else ()),
    )  # fmt: skip


def _places(each: Sequence[tuple[str, Job, Design]]) -> str:
    """The pockets of each kind of film by their numbers on the drawing."""
    words = []
    for name, _, design in each:
        numbers = [number for number, _ in design.numbered]
        words.append(f"{name} into pocket{'s' * (len(numbers) > 1)} {', '.join(map(str, numbers))}")
    return "; ".join(words)


def _turned(design: Design) -> bool:
    return any(window.turned for window in design.mine)


def _for_each(lists: Sequence[tuple[str, Sequence[str]]]) -> list[str]:
    """Sentences that are the same for all kinds of film once, others with the name of each."""
    found = []
    for same in zip_longest(*(texts for _, texts in lists), fillvalue=""):
        if len(set(same)) == 1:
            found.append(same[0])
        elif any(all(text.startswith(short) for text in same) for short in same):  # one says it for all
            found.append(max(same, key=len))
        else:
            found += [f"{name}: {text}" for (name, _), text in zip(lists, same, strict=True) if text]
    return found


def _steps(job: Job, design: Design) -> list[str]:
    """The steps of loading the film that is looked at."""
    rigid = job.film.kind == "plate" or job.base.rigid
    mount = job.film.kind == "mount"
    glazed = job.on_glass is not None
    what = "film" if glazed else "plate" if rigid else "mount" if mount else "film"
    emulsion: Emulsion = job.preset.film.emulsion
    steps = [
        "Clean the scanner's glass with a cloth and let it dry. Blow the holder off with a blower, outside the "
        "scanner.",
        f"Put on clean cotton or nitrile gloves; hold the {what} by its edges only.",
        *_side(
            emulsion,
            what,
            "the scanner's glass" if glazed else "the glass",
            job.own_film.kind == "sheet",
            _turned(design),
            any(groove.fixed for part in design.parts for groove in part.grooves),
        ),
        *([_face_down(job.film)] if mount else []),
        f"Blow both sides of the {what} off; no cloth, no breath.",
        *(step for made in design.fitted for step in made.preparing(what)),
    ]
    fitted = sorted(
        design.fitted, key=lambda made: (made.is_frame, bool(made.on_film))
    )  # a lid after what is below it
    on_film = [step for made in fitted for step in made.loading(what)]
    bare, laying = design.pocket_depth <= 0, next((words for made in fitted if (words := made.laying())), "")
    if bare or laying:  # film that nothing holds, or with long tails, is not carried about
        steps += [_on_glass(design), laying or _on_board(design), *on_film]
    else:
        laid = called(job.film.kind, rigid=job.base.rigid, glazed=glazed)
        steps += [f"{_placing(*laid)}{_taking_out(*laid, design)[0]}", *on_film, _on_glass(design)]
    return steps + _around(design) + _masked(design) + [step for made in fitted for step in made.afterwards()]


def _in_that_room(humidity_percent: float) -> str:
    """Film takes up the damp of the room that the preset is set for, before it is scanned."""
    damp = numbers("gelatin")["damp-room"]
    return (
        f"Keep film and scanner in a room of {humidity_percent:g} % humidity for a day first: the chance counts on it. "
        f"Store no film above {damp.value:g} %: {damp.source} ({damp.status}, no source)."
    )


def glued(design: Design) -> bool:
    """Whether the frame is put together from glued pieces."""
    return any(seam.role.in_frame and seam.fit == "glue" for seam in design.seams)


def _on_glass(design: Design) -> str:
    """How the holder is laid on the glass, and how one in glued pieces is carried."""
    words = placing_words(design)
    return f"{words} Lift it and lay it down {BOTH_HANDS}." if glued(design) else words


def _around(design: Design) -> list[str]:
    """Where the mask goes."""
    if not design.mask:
        return []
    open_way = ", nothing on the calibration zone or between it and the home rim"
    zone = "" if design.calibration is None else open_way
    what = "the mask" if len(design.mask) == 1 else f"the {len(design.mask)} pieces of the mask"
    return [
        f"Lay {what} flat on the glass around the holder, out to the rims: nothing under the frame{zone}. It keeps "
        "bare lamp light from the lens. Before each scan look that it has not slipped."
    ]


def _masked(design: Design) -> list[str]:
    """What keeps bare light out of a pocket that stays empty; the holder itself covers the rest of the lamp area."""
    if not can_stay_empty(design.parts, design.windows, design.pocket_depth):
        return []
    film = design.mine[0].film
    wide, high = sorted((film.width, film.height))
    own = (
        ""
        if design.route == "print" or design.of_card
        else ", or an offcut of the holder's own sheet where that is opaque,"
    )
    return [
        f"A pocket that stays empty: lay card{own} of {measure(wide, 1)} x {measure(high, 1)} mm in it, matt "
        f"black; its open "
        "window would let bare light fall beside the pictures."
    ]


def _side(emulsion: Emulsion, what: str, glass: str, sheet: bool, turned: bool, pointed: bool) -> list[str]:
    tell = (
        "How to tell the emulsion side: it is the duller one when light glances off it (a shiny back is the base), "
        "bare film tends to curl toward it in dry air, and lettering on the border reads backwards when the emulsion "
        "side faces you."
    )
    if sheet and what == "film":
        tell += (
            " Sheet film: hold it upright with the code notches in the top edge at the right, and the emulsion "
            "faces you."
        )
    if what == "plate":
        tell = (
            "How to tell the emulsion side of a plate: it is the duller one when light glances off it; "
            "bare glass shines."
        )
    toward = f"toward {glass}" if emulsion == "down" else f"away from {glass}"
    words = f"For this holder the emulsion side faces {emulsion}, {toward}."
    if sheet and what == "film" and not turned:
        words += (
            f" Seen from above, head away from you, the code notches lie at the top {notch_side(emulsion)}"
            f"{', beside the triangle' if pointed else ''}."
        )
    return [tell, words]


def _face_down(film: FilmFormat) -> str:
    """Which face of a mount lies on the ledge, and what to do with film that bows in it."""
    deep, off = film.plane_offset_mm, film.thickness_mm - 2 * film.plane_offset_mm
    words = f"Lay each mount with that face down above which its film lies {measure(deep)} mm: measure an empty one."
    if abs(off) >= SAME_FACES_MM:
        words += f" Turned over, the film lies {measure(abs(off))} mm {'higher' if off > 0 else 'lower'}."
    return f"{words} Look along the film in each mount: where it bows, put it into another mount."


def _on_board(design: Design) -> str:
    """How film is laid on a board without a pocket."""
    stopped = any(part.role is Role.CORNER for part in design.parts)
    place = (
        "inside the four corner stops" if stopped else "over the window, the same border on all four sides"
    )
    return (
        f"Lay the film on the board, {place}, and lower it from one edge so that no air lifts it. Nothing presses it: "
        "look along the board that all four edges lie down; film that stands up goes under a glass cover or a lid. "
        "Close the scanner's lid slowly. To lift the film, slide a folded card under one edge."
    )


def _placing(what: str, rigid: bool) -> str:
    if rigid:
        start = f"Set one edge of the {what} on the ledge and lower the other"
        return f"{start} with a finger in the notch; never force it."
    return (
        f"Lower one edge of the {what} onto the ledge inside the pocket, then the rest, until all four edges "
        "lie flat and nothing is jammed."
    )


def _taking_out(what: str, rigid: bool, design: Design) -> tuple[str, str]:
    """How it comes out where nothing lies on it, and the name of what that takes from the bench ("" for nothing).

    As the check of the finger notches judges it. Both are "" where what lies on the film says how.
    """
    if design.on_film.on_film or design.pocket_depth <= 0 or any(made.laying() for made in design.fitted):
        return "", ""
    grips = [window.grips or () for window in design.mine]
    start = f" To take the {what} out,"
    if rigid:
        if all(openings(mine) == 2 for mine in grips):
            how = (
                "put gloved fingertips to its edges in the two openings at opposite edges and lift it level."
            )
            return f"{start} {how}", ""
        if design.in_pocket == "film":
            return f"{start} lift it with a suction lifter, away from the scanner.", ""
        tape = "lift it by strong tape folded over its bare rim, so that an end stands up."
        return f"{start} {tape}", "strong-tape"
    notched = [any(deep_enough(grip) for grip in mine) for mine in grips]
    if all(notched):
        return f"{start} lift it at the finger notch.", ""
    card = "a folded card under one edge"
    where = (
        f"at the finger notch, or with {card} where its pocket has none" if any(notched) else f"with {card}"
    )
    return f"{start} lift it {where}.", "spare-card"


def called(kind: str, *, rigid: bool, glazed: bool) -> tuple[str, bool]:
    """What goes into the pocket, in a word, and whether it is rigid, of film of a kind on a rigid base or not."""
    rigid = rigid or kind == "plate"
    if glazed:
        return "glass", rigid
    return "plate" if rigid else "mount" if kind == "mount" else "film", rigid


def _round(emulsion: Emulsion, turned: bool) -> str:
    way = (
        "The film lies with its long side across the bed. "
        if turned
        else "The picture's top goes to the edge away from home. "
    )
    if mirrored(emulsion):
        flip = (
            "Flip the scan: with the emulsion down the scanner sees the picture as in a mirror. Flip it once left to "
            "right, then turn it until it stands upright"
        )
        if not turned:
            flip += " (one flip top to bottom does both at once when the preview's top is the home end)"
        flip += ". "
    else:
        flip = (
            "Do not flip the scan: with the emulsion up the scanner sees it the right way round. "
            "Only turn it upright. "
        )
    check = (
        "Some scanning programs flip film by themselves. Proof: lettering in the picture or on the film's border must "
        "read the right way."
    )
    return way + flip + check
