"""Glass that is proposed is said to be ordered, and no fluid is warned of where none is used."""

from __future__ import annotations

from holders.checks.safety.cautions import hazards
from holders.design.resolve import design
from holders.fittings.cover.kind import CoverKind
from holders.search.candidates import rivals_of
from tests.presets_made import job


def test_glass_that_is_proposed_must_be_ordered() -> None:
    bare = job(film={"format": "4x5"})
    rivals = rivals_of(CoverKind(), bare.preset)
    step = next(iter(CoverKind().changes(bare, rivals)))
    assert "ordered, cut to size" in step.text
    assert all("ordered cut to size" in choice.text for choice in CoverKind().choices(bare, rivals))
    covered = job(film={"format": "4x5"}, cover={"thickness_mm": 2.0})
    made = design(covered)
    assert any("order the glass cover, cut to size" in note for note in made.notes)


def test_film_under_dry_glass_brings_no_caution_about_fluid() -> None:
    covered = job(film={"format": "4x5"}, cover={"thickness_mm": 2.0})
    found = hazards(covered, design(covered))
    assert any("edges" in one.text for one in found)
    assert not any("fluid" in one.text.lower() for one in found)
