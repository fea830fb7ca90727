"""The job sheet of one study as pure data, for both formats."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping, Sequence
from typing import Any

from holders.checks.joined import is_counted
from holders.checks.safety.cautions import hazards
from holders.core.findings import (
    OUTSIDE,
    Finding,
    consequence_words,
    is_outside,
    number_words,
    with_consequences,
)
from holders.core.lengths import measure
from holders.design.model import Design
from holders.output.crop_boxes import scan_setting
from holders.output.sheet import loading, numbers, passes, pictures, scanning, shopping, steps
from holders.output.sheet.blocks import Block, Items, Section, Sheet, Verbatim, Words
from holders.output.words.bench import at_hand
from holders.output.words.care import care_words
from holders.output.words.summary import of_row_words, sharpest_words
from holders.preset.resolve import Job
from holders.preset.schema import Preset
from holders.preset.shipped import is_example, shipped_as
from holders.preset.template import toml_value
from holders.study import Study
from holders.workshop.budget.as_made import AsMade
from holders.workshop.budget.enough import enough, uneven
from holders.workshop.budget.tolerance import sharp_means
from holders.workshop.cost import plain_name
from holders.workshop.nest.nest_job import sheets_of

ROUTES = {"print": "printed", "laser": "cut by laser", "knife": "cut with a knife"}
# tables that are there in every preset, so that an empty one says nothing
ALWAYS = frozenset(name for name, field in Preset.model_fields.items() if field.default is not None)
FLAT_MM = 0.05  # less is not worth a word
MANY = {"stop": "STOPs", "warn": "warnings"}  # of more than one
LEVELS = {"stop": "STOP", "warn": "warning", "pass": "passed", OUTSIDE: OUTSIDE, "skip": "do not apply"}


def sheet_content(study: Study, preset_text: str, anyway: str = "") -> Sheet:
    """Everything on the sheet; the same study and text give equal sheets.

    ``preset_text`` is the preset file as it was read; ``anyway`` the reason why a stop was overruled.
    """
    job, design = study.job, study.design
    films = " and ".join(f"{len(design.of(one.kind).mine)} x {one.film_called}" for one in job.each)
    material = plain_name(job.material)
    subtitle = f"Film holder for {films}; {ROUTES[design.route]}; material: {material}; bed: {job.bed.name}"
    sheets = sheets_of(study.nested) if study.nested else ()
    typed = shipped_as(preset_text) or study.preset_file or file_named(design.slug, preset_text)
    judging = steps.Judging(
        typed,
        enough(AsMade(job, design, uneven(design))),
        job.film_called if job.kinds else "",
        study.verdict.chance,
    )
    code, takes = pictures.section_of_code(job.preset), taken(job, design)
    return Sheet(
        design.title,
        subtitle,
        (
            _verdict(study),
            pictures.section_of_parts(design, at_hand(takes)),
            shopping.section(job, design, study.nested, study.not_nested, takes),
            steps.section(job.material, job.printer, design, sheets, job.preset.material.finish, judging),
            loading.section(job, design),
            scanning.section(tuple(one.film for one in job.each), job.preset, design),
            *passes.sections(design, scan_setting(job.preset)),
            _findings(study.findings, anyway),
            _purpose(study),
            _cautions(study.cautions),
            Section(
                "care", "Care", (Items(care_words(job.material, design, job.preset.room.humidity_percent)),)
            ),
            pictures.section_of_film(design, study.film),
            *([steps.stock_section(sheets)] if sheets else []),
            numbers.section(job, design, study.film),
            *code,
            preset_section(design.slug, preset_text, coded=bool(code)),
        ),
    )


def taken(job: Job, design: Design) -> frozenset[str]:
    """Everything that the sheet's steps use, by the names of the bench."""
    made = steps.making(job.material, job.printer, design, (), job.preset.material.finish)
    fitted = (thing for mine in design.each for one in mine.fitted for thing in one.takes(mine))
    lifted = [
        (
            *loading.called(one.film.kind, rigid=one.base.rigid, glazed=one.on_glass is not None),
            design.of(one.kind),
        )
        for one in job.each
    ]
    return frozenset(
        (*(thing for row in made for thing in row.takes), *fitted, *loading.takes(design, lifted))
    )


def _verdict(study: Study) -> Section:
    """The one judgement, the same sentence as on the terminal, and the hazards by name."""
    names = dict.fromkeys(caution.title for caution in hazards(study.job, study.design))
    blocks: list[Block] = [Words(f"{study.verdict.text} {sharp_means()} {for_whom(study)}")]
    if names:
        blocks.append(Words(f"Mind, before you begin (in full in the annex): {'; '.join(names)}."))
    return Section("verdict", "Verdict", tuple(blocks), leaf=1)


def for_whom(study: Study) -> str:
    """Whose scanner that chance is for."""
    sharpest = sharpest_words(study.design.heights)
    if is_example(study.job.preset.title, study.job.preset.bed.model_dump()):
        return f"That is for a scanner {sharpest}."
    if supposed := of_row_words(study.job.preset, study.job.bed, study.design.heights):
        return supposed
    return f"That is for your scanner, if it is {sharpest}."


def _purpose(study: Study) -> Section:
    job, design = study.job, study.design
    o, h = design.outer, design.heights
    borne = job.on_glass is not None
    what, apart = (
        ("the glass with the film", "it and the scanner's glass") if borne else ("the film", "film and glass")
    )
    blocks: list[Block] = [
        Words(
            f"This frame lies on the scanner's glass and carries {what} by its edges, {_carried(study)}, "
            "lies as near as can be to the sharpest height "
            f"({measure(h.focus)} ± {measure(h.focus_sigma)} mm), and so that {apart} do not touch, "
            "which would give Newton's rings. "
            f"Outer size {measure(o.width)} x {measure(o.height)} mm, {measure(design.total_height)} mm high. "
            f"Emulsion side {_sides(job.each)}."
        )
    ]
    if job.preset.note:
        blocks.append(Words(f"Note in the preset: {job.preset.note}"))
    if design.notes:
        blocks.append(Items(design.notes))
    return Section("purpose", "What it is for", tuple(blocks))


def _carried(study: Study) -> str:
    """How high each film lies, and what that had to answer."""
    job, design = study.job, study.design
    if not design.kinds:
        high = measure(design.heights.ledge_above_glass)
        return f"{high} mm above the glass: chosen so that the picture, {_why(design)}"
    each = [
        f"the {one.film_called} {measure(mine.heights.ledge_above_glass)} mm above the glass ({_why(mine)})"
        for one, mine in zip(job.each, design.each, strict=True)
    ]
    return f"{', '.join(each)}: chosen so that each picture"


def _sides(films: Sequence[Job]) -> str:
    """Which way the emulsion faces, of each film where they differ."""
    sides = dict.fromkeys(one.preset.film.emulsion for one in films)
    if len(sides) == 1:
        return next(iter(sides))
    return ", ".join(f"{one.preset.film.emulsion} ({one.film_called})" for one in films)


def _why(design: Design) -> str:
    """What the ledge height had to answer, in words."""
    reach = None if design.sag is None else design.sag.reach_mm
    low, high = reach or (0.0, 0.0)
    if low <= -FLAT_MM and -low >= high:
        return f"which sags up to {measure(-low)} mm below the ledge"
    if high >= FLAT_MM:
        return f"which curls up to {measure(high)} mm above the ledge"
    if design.seen_above_mm:
        above = design.seen_above_mm
        side = "above" if above > 0 else "below"
        return f"seen {measure(abs(above))} mm {side} the ledge through what lies below it"
    return "which lies nearly flat"


def _findings(findings: tuple[Finding, ...], anyway: str) -> Section:
    serious = [f for f in findings if f.level in ("stop", "warn")]
    serious.sort(key=lambda f: f.level != "stop")
    levels = [OUTSIDE if is_outside(f) else f.level for f in findings]
    counts = {level: levels.count(level) for level in LEVELS}
    called = {level: MANY.get(level, one) if counts[level] > 1 else one for level, one in LEVELS.items()}
    summed = ", ".join(f"{counts[level]} {words}" for level, words in called.items() if counts[level])
    blocks: list[Block] = [Words(f"Checks: {summed or 'none'}.")]
    if anyway and counts["stop"]:
        blocks.append(Words(f"STOP was overruled; the reason that was given: {anyway}"))
    if serious:
        blocks.append(Items(tuple(_told(*each) for each in with_consequences(serious))))
    facts = [f for f in findings if is_outside(f)]
    for words, mine in (
        ("Outside their limits; they do not warn, since the chance above counts them:", True),
        ("Outside their limits; they do not warn, and the chance above does not count them:", False),
    ):
        told = [
            f"{f.title}: {_measured(f)}. {f.advice[:1].upper()}{f.advice[1:]}."
            for f in facts
            if is_counted(f) is mine
        ]
        if told:
            blocks += [Words(words), Items(tuple(told))]
    return Section("findings", "Findings", tuple(blocks))


def _told(finding: Finding, following: Sequence[Finding] = ()) -> str:
    """A serious finding: what is wrong, how much, what to do; and what only follows from it."""
    more = _measured(finding)
    do = f" What to do: {finding.advice}." if finding.advice else ""
    words = consequence_words(following)
    also = f" {words[:1].upper()}{words[1:]}." if words else ""
    return (
        f"{LEVELS[finding.level]}: {finding.title} ({finding.code}){f'; {more}' if more else ''}.{do}{also}"
    )


def _measured(finding: Finding) -> str:
    return "; ".join(words for words in (number_words(finding), finding.where) if words)


def _cautions(cautions: tuple[str, ...]) -> Section:
    return Section("cautions", "Cautions", (Items(cautions),))


def preset_section(slug: str, text: str, coded: bool) -> Section:
    """The preset as text, and how to pass it on; on paper only where no code on it holds the same."""
    text = text.replace("\r\n", "\n").rstrip("\n")
    file = file_named(slug, text)
    brief = only_set(text)
    note = "Here only the lines that are set; job-sheet.html has the whole text with every key explained."
    if coded:
        note = "The code holds every line that is set; job-sheet.html shows the text with all keys explained."
        way = "or a photo of the code on this sheet"
    else:
        note = note if brief != text else ""
        way = f"or copy the text below into a plain text file (UTF-8) called {file}"
    return Section(
        "preset",
        "The preset, and how to share it",
        (
            Words(
                f"The whole holder is one file of plain text, {file} beside this sheet. To share it, send that file, "
                f"{way}. To make it again: holders make {file}"
            ),
            Words(
                "Whoever takes it over must measure their own scanner's focus height, their own film and their own "
                "material, and change those lines: two scanners of one kind may differ by more than the focus band."
            ),
            Verbatim(text, brief, note, on_paper=not coded),
        ),
    )


def file_named(slug: str, text: str) -> str:
    """What the preset's file beside the sheet is called, without folders."""
    named = re.search(r"^#.*\bholders make ([\w.-]+\.toml)", text, re.MULTILINE)
    return named[1] if named else f"{slug}.toml"


def only_set(text: str) -> str:
    """A preset without what is commented out and without its explanations; read back it is the same preset."""
    try:
        read = tomllib.loads(text)
        data = {key: value for key, value in read.items() if value != {} or key not in ALWAYS}
        brief = _plain(data)
        return brief if tomllib.loads(brief) == data else text
    except tomllib.TOMLDecodeError:
        return text


def _plain(data: Mapping[str, Any]) -> str:
    tables = {key: value for key, value in data.items() if isinstance(value, dict)}
    lines = [f"{key} = {toml_value(value)}" for key, value in data.items() if key not in tables]
    for name, table in tables.items():
        lines += ["", f"[{name}]", *(f"{key} = {toml_value(value)}" for key, value in table.items())]
    return "\n".join(lines)
