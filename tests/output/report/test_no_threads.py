"""No holder has a screw or a thread: acrylic, which cracks at tapped holes, has plain holes for plain pins.

Threads in acrylic strip and start cracks, and a driven pin wedges it apart (shop rule, from memory).
"""

from __future__ import annotations

import math
import re
from collections.abc import Iterator
from typing import Any

import pytest

from holders.design.model import Design
from holders.facts.habits import habit
from holders.output.sheet.blocks import Boxes, Items, Table, Words
from holders.output.sheet.content import sheet_content
from holders.preset.schema import Preset
from holders.study import Study, study
from tests.kept import SHIPPED as FOLDER
from tests.kept import shipped_study
from tests.presets_made import SHIPPED, changed

SCREWED = re.compile(
    r"\b(screw|bolt|tapp?ed|tapping|threaded|thread (?:insert|M\d)|self-tapp)", re.IGNORECASE
)


def words_of(found: Study) -> str:
    """All that the sheet says in steps, lists and boxes."""
    said: list[str] = []
    for section in sheet_content(found, "").sections:
        for block in section.blocks:
            if isinstance(block, Words | Boxes):
                said.append(block.text)
            elif isinstance(block, Items):
                said += block.rows
            elif isinstance(block, Table):
                said += [" | ".join(row) for row in block.rows]
    return "\n".join(said)


def covered() -> Study:
    """Acrylic with a glass cover under spring catches, the one fitting that is fastened to a frame."""
    tables: dict[str, Any] = {
        "material": {"name": "acrylic-cast", "sheets_mm": [1.0, 1.5, 2.0, 3.0, 4.0]},
        "cover": {"thickness_mm": 2.0},
        "bed": {"focus_height_mm": 6.0},
    }
    data = changed(route="laser", **tables)
    del data["printer"]
    return study(Preset.model_validate(data))


def round_holes(made: Design) -> Iterator[float]:
    """Diameters of all circles cut through."""
    for part in made.parts:
        for slab in part.slabs:
            for hole in slab.region.holes:
                if len(hole.vertices) == 2 and all(abs(v.bulge) == 1.0 for v in hole.vertices):
                    a, b = hole.vertices
                    yield math.dist((a.x, a.y), (b.x, b.y))


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_no_job_sheet_asks_for_a_screw_or_a_thread(path: Any) -> None:
    found = shipped_study(FOLDER / path.name)
    assert not SCREWED.search(words_of(found))
    assert "glue" in words_of(found) or found.design.route == "print"  # words were read


def test_a_screw_would_be_seen() -> None:
    for words in ("four screws M3", "Tap the holes: M3, tapped", "self-tapping", "threaded inserts"):
        assert SCREWED.search(words)
    for words in ("cotton thread", "strong tape", "a thread slides over them"):
        assert not SCREWED.search(words)


def test_pins_have_room_in_acrylic_and_are_glued_not_driven() -> None:
    found = covered()
    assert not SCREWED.search(words_of(found))
    holes = list(round_holes(found.design))
    assert len(holes) >= 8
    assert min(holes) >= habit("dowel")
    said = words_of(found)
    assert "with a thumb" in said
    assert "one that is driven in cracks the frame" in said
    assert "glue under the pad" in said
