"""What the sheet says of numbers outside their limits that do not warn, and of the chance in two places."""

from __future__ import annotations

from holders.core.findings import is_outside, per_hundred
from holders.output.sheet.blocks import Items, Words
from holders.output.sheet.content import sheet_content
from holders.preset.load import read_text
from tests.kept import shipped_study
from tests.presets_made import SHIPPED


def test_a_number_outside_its_limit_is_said_to_be_so_and_whether_the_chance_has_it() -> None:
    path = next(path for path in SHIPPED if path.stem == "50mm-mounts")
    study = shipped_study(path)
    sheet = sheet_content(study, read_text(path))
    blocks = next(one for one in sheet.sections if one.key == "findings").blocks
    words = [block.text for block in blocks if isinstance(block, Words)]
    outside = [one for one in study.findings if is_outside(one)]
    assert outside
    assert all(one.subject == "bow of the holder with one damp face" for one in outside)
    assert f"{len(outside)} outside their limits" in words[0]
    assert any("the chance above does not count them" in text for text in words)
    assert not any("no warning:" in text and "need" in text for text in words)
    listed = [line for block in blocks if isinstance(block, Items) for line in block.rows]
    assert all(any(one.title in line for line in listed) for one in outside)


def test_the_chance_of_a_measured_holder_stands_beside_that_at_the_head() -> None:
    path = next(path for path in SHIPPED if path.stem == "50mm-mounts")
    study = shipped_study(path)
    making = next(one for one in sheet_content(study, read_text(path)).sections if one.key == "making")
    proof = str(making.blocks[0])
    assert "at either end of that range" in proof
    assert f"the {per_hundred(study.verdict.chance)} at the head of this sheet" in proof
