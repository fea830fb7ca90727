"""A holder that came out wrong is judged by its readings, and shims put it right, each tried on it."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import pytest

from holders.core.errors import InputError
from holders.design.held.film_in_holder import designed
from holders.design.model import Design
from holders.preset.load import parse
from holders.preset.resolve import Job
from holders.preset.shipped import preset_path
from holders.study import job_of
from holders.workshop.budget.as_made import AsMade, Readings, read, rescues, stacked
from holders.workshop.budget.enough import enough, uneven
from holders.workshop.budget.odds import odds_of


@pytest.fixture(scope="module")
def plate() -> tuple[Job, Design]:
    """A glass plate on feet: rigid, so that its height alone decides."""
    path = preset_path(Path("whole-plate-glass"))
    asked = job_of(parse(path.read_text(), str(path)))[0]
    return asked, designed(asked, extremes=False)[0]


def shifted(design: Design, by: float) -> Readings:
    at = design.heights.ledge_above_glass + by
    return Readings(at, at, at, at)


def test_readings_as_drawn_leave_what_the_design_promised_or_better(plate: tuple[Job, Design]) -> None:
    asked, design = plate
    chance = AsMade(asked, design, shifted(design, 0.0)).chance()
    assert chance >= odds_of(asked, design).chance - 0.01  # the making's own tolerances are gone
    assert chance <= 1


def test_a_shim_of_what_is_missing_restores_it(plate: tuple[Job, Design]) -> None:
    asked, design = plate
    right = AsMade(asked, design, shifted(design, 0.0)).chance()
    low = AsMade(asked, design, shifted(design, -0.7))
    assert low.chance() < right - 0.05
    assert low.chance(0.7) == pytest.approx(right, abs=1e-3)
    best = rescues(low)[0]
    assert best.chance > right - 0.02
    assert "under every foot" in best.words


def test_a_holder_too_high_loses_its_feet(plate: tuple[Job, Design]) -> None:
    asked, design = plate
    out = design.heights.foot_protrusion
    high = AsMade(asked, design, shifted(design, 0.6))
    best = rescues(high)[0]
    assert "take the feet off" in best.words
    assert best.chance > high.chance() + 0.05
    assert best.chance == pytest.approx(high.chance(-out, shimmed=True), abs=1e-3)


def test_a_tilted_holder_is_shimmed_on_its_low_side(plate: tuple[Job, Design]) -> None:
    asked, design = plate
    at = design.heights.ledge_above_glass
    made = AsMade(asked, design, Readings(at - 1.2, at + 0.5, at - 0.35, at - 0.35))
    b = made.box
    assert made.off_mm(b.x, b.y + b.height / 2) == pytest.approx(-1.2)
    assert made.off_mm(b.right, b.y) == pytest.approx(0.5)
    words = [rescue.words for rescue in rescues(made) if "foot at" in rescue.words]
    assert words
    low = [f for f in design.feet if f.x < b.x + b.width / 2]
    for foot in low:
        assert f"x {foot.x:.0f}, y {foot.y:.0f}" in words[0]


def test_twist_is_no_tilt_and_costs_chance(plate: tuple[Job, Design]) -> None:
    asked, design = plate
    at = design.heights.ledge_above_glass
    twisted = Readings(at + 0.6, at + 0.6, at - 0.6, at - 0.6)
    assert twisted.twist == pytest.approx(0.6)
    assert AsMade(asked, design, twisted).chance() < AsMade(asked, design, shifted(design, 0.0)).chance()


def test_a_reading_of_another_face_is_refused(plate: tuple[Job, Design]) -> None:
    _, design = plate
    at = design.heights.ledge_above_glass
    with pytest.raises(InputError, match="measure again") as refused:
        read(design, [at, at, at + 3.0, at])
    assert refused.value.field == "HEAD"
    with pytest.raises(InputError):
        read(design, [at, float("nan"), at, at])


def test_layers_add_up_to_the_shim() -> None:
    assert stacked(0.45) == "a card and a paper and a tape"
    assert stacked(0.2) == "2 papers"
    assert stacked(0.05) == "a tape"


def test_a_ledge_without_feet_takes_strips(plate: tuple[Job, Design]) -> None:
    asked, design = plate
    low = AsMade(asked, replace(design, feet=()), shifted(design, -0.7))
    assert "on the ledge, as a strip" in rescues(low)[0].words


def test_every_mean_that_will_do_does_and_the_next_does_not(plate: tuple[Job, Design]) -> None:
    """Judged by the very chance that four readings are judged by."""
    asked, design = plate
    found = enough(AsMade(asked, design, uneven(design)))
    assert found is not None
    plane = design.heights.ledge_above_glass
    assert found.low_mm < plane < found.high_mm
    signs_of = [(-1, 1, 1, -1), (0, 0, 0, 0), (1, 1, -1, -1)]  # tilted, even, twisted

    def worst(mean: float) -> float:
        each = [Readings(*(mean + found.uneven_mm * k for k in signs)) for signs in signs_of]
        return min(AsMade(asked, design, one).chance() for one in each)

    for mean in (found.low_mm, (found.low_mm + found.high_mm) / 2, found.high_mm):
        assert worst(mean) >= found.chance - 0.02
    for mean in (found.low_mm - 0.03, found.high_mm + 0.03):
        assert worst(mean) < found.chance


def test_no_mean_will_do_for_a_holder_that_is_hopeless(plate: tuple[Job, Design]) -> None:
    asked, design = plate
    heights = replace(design.heights, focus=1.0, band_low=0.9, band_high=1.1)
    far = replace(design, heights=heights)
    assert enough(AsMade(asked, far, uneven(far))) is None
