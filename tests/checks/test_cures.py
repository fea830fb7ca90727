"""What a finding advises was tried on that very holder, or the words say that it was not."""

from __future__ import annotations

import re

import pytest

from holders.checks.base import UNTRIED
from holders.checks.cures import CODES, TRIES
from holders.checks.joined import joined
from holders.checks.runner import run
from holders.core.findings import Finding
from holders.design.resolve import design
from holders.preset.resolve import resolve
from holders.preset.schema import Preset
from tests.presets_made import changed

HOLDERS = {
    "walls too thin": {"film": {"format": "4x5"}, "layout": {"wall_mm": 0.5, "count": 2}},
    "a key that stops nothing": {
        "carrier": {
            "insert_width_mm": 150,
            "insert_length_mm": 180,
            "ledge_mm": 20,
            "key_mm": 2,
            "clearance_mm": 1.0,
        }
    },
    "a lid too high": {"lid": {"thickness_mm": 14.0}},
}


@pytest.mark.parametrize("name", HOLDERS)
def test_a_cure_that_is_named_cures(name: str) -> None:
    values = changed(**HOLDERS[name])
    job = resolve(Preset.model_validate(values))
    cures = 0
    for finding in run(job, design(job), cures=True):
        if finding.level not in ("warn", "stop") or finding.code not in CODES:
            continue
        set_to = re.fullmatch(
            r"set (\w+)\.(\w+) = ([\d.]+): tried on this holder, it cures this", finding.advice
        )
        if set_to is None:
            assert not finding.advice or "tried on this holder" in finding.advice
            continue
        cures += 1
        table, key, value = set_to.groups()
        new = resolve(
            Preset.model_validate(changed(**values | {table: values.get(table, {}) | {key: float(value)}}))
        )
        again = [one for one in run(new, design(new)) if one.subject == finding.subject]
        assert again
        assert {one.level for one in again} == {"pass"}
    assert cures >= 1


def test_every_key_that_is_tried_is_a_key() -> None:
    for path in TRIES:
        table, _, key = path.partition(".")
        field = Preset.model_fields[table].annotation
        models = [one for one in (field, *getattr(field, "__args__", ())) if hasattr(one, "model_fields")]
        assert any(key in model.model_fields for model in models)
    assert UNTRIED.endswith(": ")


def test_a_narrow_rail_of_a_cut_lid_warns_once_with_a_cure_that_cures() -> None:
    """The cure once named was the wall between pockets, which leaves a lid as it is."""
    cut = {
        "route": "laser",
        "film": {"format": "4x5"},
        "material": {"name": "plywood-birch", "sheets_mm": [3.0]},
    }

    def found(lid_mm: float, lip_mm: float) -> dict[str, Finding]:
        values = changed(**cut, lid={"lip_mm": lid_mm}, lip={"all_mm": lip_mm})
        del values["printer"]
        job = resolve(Preset.model_validate(values))
        every = joined(run(job, design(job), cures=True))
        return {one.code: one for one in every if one.where.startswith("lid,")}

    narrow = found(2.0, 2.0)
    assert (narrow["bridges"].level, narrow["bridges"].field) == ("warn", "lid.lip_mm")
    assert narrow["wall"].level == "skip"
    said = re.match(r"set lid\.lip_mm = ([\d.]+) and lip\.all_mm = ([\d.]+): tried", narrow["bridges"].advice)
    assert said is not None
    cured = found(float(said[1]), float(said[2]))
    assert {one.level for one in cured.values()} <= {"pass"}
