"""What is supposed stays in the preset, and in the headline's words, until something else is put in."""

from __future__ import annotations

from pathlib import Path

from holders.core.findings import Finding
from holders.core.lines import Candidate
from holders.face.page.form.values import text_of, values_of
from holders.preset.blanked import blanked
from holders.preset.code import compact
from holders.preset.edited import with_values
from holders.preset.holder_code import holder_code
from holders.preset.load import parse
from holders.preset.resolve import resolve
from holders.preset.schema import Preset
from holders.preset.tables.supposed import (
    entry,
    if_supposed,
    still_supposed,
    supposed_keys,
    supposed_words,
    with_entry,
    without,
)
from holders.search.candidates import MEASURE
from holders.search.tried import tried
from holders.verdict.judge import judged
from holders.workshop.budget.odds import odds_of
from tests.kept import SHIPPED, shipped_study

PLATE = SHIPPED / "whole-plate-glass.toml"
TEXT = """holders_preset = 3
title = "weir"
route = "print"
[bed]
name = "a4-wide"
focus_height_mm = 3.1
focus_sigma_mm = 0.03
[film]
format = "4x5"
[base]
curl_per_m = 1.0
back_coat = "yes"
[material]
name = "petg"
"""
WIDE = 100.0
BED = {"bed.focus_sigma_mm": 0.03, "bed.focus_height_mm": 3.1}


def having(*entries: str, **also: object) -> Preset:
    keys = {"supposed": list(entries), **{key.replace("__", "."): value for key, value in also.items()}}
    return parse(with_values(TEXT, keys), "weir")


def test_an_entry_counts_until_one_of_its_values_is_another() -> None:
    preset = having(entry(BED))
    assert still_supposed(preset) == (BED,)
    assert supposed_words(preset, WIDE) == ("your scanner's focus height is 3.1 ± 0.03 mm",)
    assert supposed_keys(preset) == ("bed.focus_sigma_mm", "bed.focus_height_mm")
    assert supposed_words(preset, WIDE, bed_known=True) == ()
    assert (
        if_supposed(preset, WIDE)
        == ", if your scanner's focus height is 3.1 ± 0.03 mm (supposed, not measured yet)"
    )
    assert if_supposed(having(), WIDE) == ""
    assert (
        still_supposed(having(entry(BED), bed__focus_height_mm=3.2)) == ()
    )  # its spread may come out the same
    assert still_supposed(having(entry(BED), bed__focus_sigma_mm=None)) == ()
    assert still_supposed(having("words of somebody")) == ()


def test_one_measured_leaves_the_others_supposed() -> None:
    curl, coat, sheets = (
        {"base.curl_per_m": 1.0},
        {"base.back_coat": "yes"},
        {"material.sheets_mm": [2.0, 3.0]},
    )
    preset = having(entry(curl), entry(coat), entry(sheets), material__sheets_mm=[2.0, 3.0])
    assert supposed_words(preset, WIDE) == (
        "your film's curl is 1 per m, 1.2 mm high in the middle of its width",  # k w² / 8
        "your film's back has a gelatin coat",
        "your sheets are 2, 3 mm thick",
    )
    assert without(preset, ["base.curl_per_m"]) == [entry(coat), entry(sheets)]
    assert with_entry(preset, curl) == [entry(coat), entry(sheets), entry(curl)]


def test_it_outlives_form_and_code_and_is_nobody_elses() -> None:
    preset = having(entry(BED))
    assert parse(compact(preset), "code").supposed == preset.supposed
    assert (
        text_of(values_of(with_values(TEXT, {"supposed": [entry(BED)]}), "weir"))[1].supposed
        == preset.supposed
    )
    assert "supposed" not in blanked(preset.model_dump(exclude_unset=True))[0]
    assert holder_code(resolve(preset)) == holder_code(resolve(parse(TEXT, "weir")))


def test_a_step_that_measures_says_if_until_it_is_measured(tmp_path: Path) -> None:
    found = shipped_study(PLATE)
    step = tried(found, Candidate("Measure", {"bed.focus_sigma_mm": 0.02}, MEASURE))
    assert step is not None
    assert "(supposed, not measured yet)" in step.found.verdict.text
    assert f"{found.job.bed.focus_height_mm:g} ± 0.02 mm" in step.found.verdict.text
    changed = tried(found, Candidate("Change", {"bed.focus_sigma_mm": 0.02}))
    assert changed is not None
    assert changed.found.verdict.chance == step.found.verdict.chance
    assert "supposed" not in changed.found.verdict.text
    measured = parse(with_values(step.preset, {"bed.focus_height_mm": 3.217}), "weir")
    assert supposed_words(measured, WIDE) == ()


def test_the_sentence_carries_both_conditions_and_a_stop() -> None:
    found = shipped_study(PLATE)
    odds = odds_of(found.job, found.design)
    warn, stop = (Finding(code="bow", level=level, title="It bows") for level in ("warn", "stop"))
    curl = ["your film's curl is 1 per m"]
    both = judged(odds, [warn], supposed=curl).text
    condition = "if your film's curl is 1 per m (supposed, not measured yet)"
    assert f"{condition}, and if the warning does no harm." in both
    assert f"{condition}.)" in judged(odds, [stop], supposed=curl).text
