"""The shopping list is what the steps take: nothing used that is not listed, nothing listed that no step uses."""

from __future__ import annotations

import re
from pathlib import Path

import pytest

from holders.design.model import Design
from holders.design.resolve import design
from holders.output.sheet import loading, steps
from holders.output.sheet.blocks import Table, Words
from holders.output.sheet.content import taken
from holders.output.sheet.pictures import section_of_parts
from holders.output.sheet.shopping import section
from holders.output.words.bench import ROWS, SUPPLIES, TOOLS, at_hand, bought
from holders.preset.load import load
from holders.preset.resolve import Job
from holders.study import job_of
from holders.workshop.cost import small_rows
from tests.kept import SHIPPED, shipped_study

# what a reader sees in the words of a step -> any of these names of the bench must be taken
SEEN = {
    r"\bcaliper\b": "caliper",
    r"\bruler\b(?! or tray)": "ruler",
    r"\bblow(er|n)?\b|\bBlow\b": "blower",
    r"\bgloves\b": "gloves",
    r"\bcloths?\b(?<!black cloth)": "cloth",
    r"black cloth": "black-cloth",
    r"\bfelt\b": "felt",
    r"\bknife\b|straightedge": "knife",
    r"\bfile\b(?! holds)|\bFile off\b": "file",
    r"abrasive paper": "abrasive",
    r"\bscissors\b": "scissors",
    r"\b[Ss]aw\b": "saw",
    r"\bsteel bars?\b": "bars|weights",
    r"with two-part epoxy": "epoxy",
    r"\bneedle\b": "needle",
    r"\bwith a pen\b|\bby hand\)": "pen",
    r"(?<!scanner's )(?<!the )\bpane of glass|flat plate \(glass\)": "flat-glass",
    r"\b[Ww]eight? (it|them|the seams|the stops)\b|clean weights": "weight",
    r"block of wood": "wood-block",
    r"\broller\b": "roller",
    r"padded bench": "pad",
    r"\bon paper\b": "paper",
    r"removable tape|join them with tape|[Tt]ape (the plates|its two)": "tape",
    r"strong tape": "strong-tape",
    r"baking paper": "baking-paper",
    r"washing-up liquid": "washing-up",
    r"\bwaxed\b": "wax",
    r"cotton thread": "thread",
    r"absorbent paper": "absorbent",
    r"folded card": "spare-card",
    r"stays empty: lay card": "pocket-card|card",
    r"\bshims\b|strip of card or paper": "shims",
    r"\b[Gg]lue with\b|\bglue the stops\b|glue under the pad|Glue a grip": "glue|super-glue",
    r"super glue|Glue the magnets": "super-glue",
    r"matt black (paint|ink)|[Pp]aint [^.]*matt black": "black",
    r"\bmagnets\b": "magnets",
    r"\b[Ff]ilament\b|Measure (each sheet|the) .* with a caliper": "material",
    r"Stick (them|\d+ feet)": "feet",
    r"glass plate|lower plate|upper plate|faces of the glass": "glass",
    r"\bpins?\b": "pins",
    r"black card|the mask\b": "card",
    r"then lay \d+ g": "weights",
    r"\boverlay\b": "overlay",
    r"\bfluid\b": "fluid",
}  # fmt: skip


def words_of(job: Job, made: Design) -> str:
    each = steps.making(job.material, job.printer, made, (), job.preset.material.finish)
    laid = " ".join(row for b in loading.section(job, made).blocks for row in getattr(b, "rows", ()))
    return " ".join([*(row.words for row in each), laid])


@pytest.mark.parametrize("path", sorted(SHIPPED.glob("*.toml")), ids=lambda path: path.stem)
def test_list_and_steps_agree(path: Path) -> None:
    job, _ = job_of(load(path))
    holder = design(job)  # without its film, which no step asks for
    takes, words = taken(job, holder), words_of(job, holder)
    assert takes <= TOOLS.keys() | SUPPLIES.keys() | ROWS
    for seen, names in SEEN.items():
        if re.search(seen, words):
            assert takes & set(names.split("|")), f"{re.search(seen, words)} is used and not taken"
    made = steps.making(job.material, job.printer, holder)
    for row in made:  # and each step itself says so, but for those of a fitting
        for seen, names in SEEN.items():
            assert not row.takes or not re.search(seen, row.words) or {*row.takes} & {*names.split("|")}, (
                row.words
            )
    for name in takes:  # what is taken is seen in the words
        patterns = [seen for seen, names in SEEN.items() if name in names.split("|")]
        assert any(re.search(seen, words) for seen in patterns), f"{name} is taken and no step names it"
    rows = small_rows(job, holder)
    listed = {row.thing for row in (*rows, *bought(takes, job.material, rows))} | {"material"}
    assert listed == takes & ROWS | {"material"}, "a row that no step uses, or something without a row"


def test_the_sheet_lists_what_is_taken() -> None:
    found = shipped_study(SHIPPED / "8x10-mat-board.toml")
    takes = taken(found.job, found.design)
    made = section(found.job, found.design, found.nested, takes=takes)
    table = next(b for b in made.blocks if isinstance(b, Table))
    glass = next(row for row in table.rows if "glass" in row[0])
    assert "anti-Newton" in glass[0]
    assert "etched face down, on the film" in glass[-1]
    assert any("black paint or ink" in row[0] for row in table.rows)
    parts = section_of_parts(found.design, at_hand(takes))
    words = " ".join(b.text for b in parts.blocks if isinstance(b, Words))
    assert "knife with fresh blades" in words
    assert "fine file" not in words


def test_an_unknown_thing_is_refused() -> None:
    with pytest.raises(KeyError, match="weir"):
        at_hand(["caliper", "weir"])
