"""The job sheet of one study as pure data, for both formats."""

from __future__ import annotations

import re
import tomllib
from collections.abc import Mapping
from typing import Any

from holders.checks.joined import is_fact
from holders.checks.safety.cautions import hazards
from holders.core.findings import Finding, number_words
from holders.core.lengths import measure
from holders.output.sheet import loading, numbers, pictures, scanning, shopping, steps
from holders.output.sheet.blocks import Block, Items, Section, Sheet, Verbatim, Words
from holders.preset.schema import Preset
from holders.preset.template import toml_value
from holders.study import Study
from holders.workshop.nest.nest_job import sheets_of

ROUTES = {"print": "printed", "laser": "cut by laser", "knife": "cut with a knife"}
# tables that are there in every preset, so that an empty one says nothing
ALWAYS = frozenset(name for name, field in Preset.model_fields.items() if field.default is not None)
FLAT_MM = 0.05  # less is not worth a word
LEVELS = {"stop": "STOP", "warn": "warning", "pass": "passed", "skip": "not checked"}


def sheet_content(study: Study, preset_text: str, anyway: str = "") -> Sheet:
    """Everything on the sheet; the same study and text give equal sheets.

    ``preset_text`` is the preset file as it was read; ``anyway`` the reason why a stop was overruled.
    """
    job, design = study.job, study.design
    count = len(design.windows)
    subtitle = (
        f"Film holder for {count} x {job.film.name}; {ROUTES[design.route]}; material: {job.material.name}; "
        f"bed: {job.bed.name}"
    )
    sheets = sheets_of(study.nested) if study.nested else ()
    return Sheet(
        design.title,
        subtitle,
        (
            _verdict(study),
            pictures.section_of_parts(design),
            shopping.section(job, design, study.nested, study.not_nested),
            steps.section(job.material, job.printer, design, sheets, job.preset.material.finish),
            loading.section(job, design),
            scanning.section(job.film, job.preset, design),
            _findings(study.findings, anyway),
            _purpose(study),
            pictures.section_of_film(design, study.film),
            *([steps.stock_section(sheets)] if sheets else []),
            numbers.section(job, design, study.film),
            _cautions(study.cautions),
            _preset(design.slug, preset_text, study),
        ),
    )


def _verdict(study: Study) -> Section:
    """The one judgement, the same sentence as on the terminal, and the hazards by name."""
    names = dict.fromkeys(caution.title for caution in hazards(study.job, study.design))
    blocks: list[Block] = [Words(study.verdict.text)]
    if names:
        blocks.append(Words(f"Mind, before you begin (in full in the annex): {'; '.join(names)}."))
    return Section("verdict", "Verdict", tuple(blocks), leaf=1)


def _purpose(study: Study) -> Section:
    job, design = study.job, study.design
    o, h = design.outer, design.heights
    blocks: list[Block] = [
        Words(
            f"This frame lies on the scanner's glass and carries the film by its edges, "
            f"{measure(h.ledge_above_glass)} mm above the glass: chosen so that the "
            f"picture, {_why(study)}, lies as near as can be to the sharpest height "
            f"({measure(h.focus)} ± {measure(h.focus_sigma)} mm), and so that film and glass do not touch, "
            "which would give Newton's rings. "
            f"Outer size {measure(o.width)} x {measure(o.height)} mm, {measure(design.total_height)} mm high. "
            f"Emulsion side {job.preset.film.emulsion}."
        )
    ]
    if job.preset.note:
        blocks.append(Words(f"Note in the preset: {job.preset.note}"))
    if design.notes:
        blocks.append(Items(design.notes))
    return Section("purpose", "What it is for", tuple(blocks))


def _why(study: Study) -> str:
    """What the ledge height had to answer, in words."""
    reach = None if study.design.sag is None else study.design.sag.reach_mm
    low, high = reach or (0.0, 0.0)
    if low <= -FLAT_MM and -low >= high:
        return f"which sags up to {measure(-low)} mm below the ledge"
    if high >= FLAT_MM:
        return f"which curls up to {measure(high)} mm above the ledge"
    return "which lies nearly flat"


def _findings(findings: tuple[Finding, ...], anyway: str) -> Section:
    serious = [f for f in findings if f.level in ("stop", "warn")]
    serious.sort(key=lambda f: f.level != "stop")
    counts = {level: sum(f.level == level for f in findings) for level in LEVELS}
    told = ", ".join(f"{counts[level]} {words}" for level, words in LEVELS.items() if counts[level])
    blocks: list[Block] = [Words(f"Checks: {told or 'none'}.")]
    if anyway and counts["stop"]:
        blocks.append(Words(f"STOP was overruled; the reason that was given: {anyway}"))
    if serious:
        blocks.append(Items(tuple(_told(f) for f in serious)))
    facts = tuple(f"{f.title}. {_measured(f)}: {f.advice}." for f in findings if is_fact(f))
    if facts:
        blocks += [Words("Facts of the material and of how it is made, which need no warning:"), Items(facts)]
    return Section("findings", "Findings", tuple(blocks))


def _told(finding: Finding) -> str:
    """A serious finding: what is wrong, how much, what to do."""
    more = _measured(finding)
    do = f" What to do: {finding.advice}." if finding.advice else ""
    return f"{LEVELS[finding.level]}: {finding.title} ({finding.code}){f'; {more}' if more else ''}.{do}"


def _measured(finding: Finding) -> str:
    return "; ".join(words for words in (number_words(finding), finding.where) if words)


def _cautions(cautions: tuple[str, ...]) -> Section:
    return Section("cautions", "Cautions", (Items(cautions),))


def _preset(slug: str, text: str, study: Study) -> Section:
    text = text.replace("\r\n", "\n").rstrip("\n")
    named = re.search(r"^#.*\bholders make ([\w.-]+\.toml)", text, re.MULTILINE)
    file = named[1] if named else f"{slug}.toml"
    brief = only_set(text)
    note = "Here only the lines that are set; job-sheet.html has the whole text with every key explained."
    return Section(
        "preset",
        "The preset, and how to share it",
        (
            Words(
                f"This text is the whole holder. To share it, send the file, or copy the text below into a plain text "
                f"file (UTF-8) called {file} and run: holders make {file}"
            ),
            Words(
                "Whoever takes it over must measure their own scanner's focus height, their own film and their own "
                "material, and change those lines: two scanners of one kind may differ by more than the focus band."
            ),
            *([code] if (code := pictures.code_of(study.job.preset)) is not None else []),
            Verbatim(text, brief, note if brief != text else ""),
        ),
    )


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
