"""A measured bed in the design: the height at the window, feet that follow a tilt, words where they cannot."""

from __future__ import annotations

import datetime
import re
from collections.abc import Callable

import pytest

from holders.design.plan.layout import lay_out
from holders.design.plan.tilt import measured_bed, middle_of
from holders.design.resolve import design
from holders.measure.bed.record import Measured
from holders.output.draw.bed import bed_sheet
from holders.preset.load import load
from holders.study import study
from tests.presets_made import SHIPPED, job


def measured(height: Callable[[float, float], float], sigma: float = 0.01) -> tuple[Measured, ...]:
    day = datetime.date(2026, 11, 1)
    spots = ((20, 40), (190, 40), (20, 260), (190, 260), (105, 150))
    return tuple(
        Measured(x_mm=x, y_mm=y, height_mm=height(x, y), sigma_mm=sigma, date=day, dpi=2400) for x, y in spots
    )


def tilted(x: float, y: float) -> float:
    return 3.0 + 0.004 * (x - 108) + 0.001 * (y - 150)


def test_focus_height_at_the_window_is_on_the_plane() -> None:
    places = measured(tilted)
    one = job(film={"format": "8x10"})
    found = measured_bed(one, places)
    x, y = middle_of(lay_out(one))
    assert found.bed.focus_height_mm == pytest.approx(tilted(x, y), abs=1e-6)
    assert 0 < found.bed.focus_sigma_mm < 0.02
    assert measured_bed(one, ()) is one


def test_feet_follow_a_real_tilt_in_whole_layers() -> None:
    made = design(job(feet={}), places=measured(tilted))
    x, y = middle_of(lay_out(job(feet={})))
    for foot in made.feet:
        wanted = tilted(foot.x, foot.y) - tilted(x, y)
        assert abs(foot.raise_mm - wanted) <= 0.1 + 1e-9  # half a layer of 0.2
    depths = sorted(round(c.z1 - c.z0, 6) for c in made.parts[0].cuts if c.name == "foot recess")
    lifts = sorted(f.raise_mm for f in made.feet)
    assert depths == pytest.approx(sorted(0.6 - lift for lift in lifts if lift < 0.6), abs=1e-6)
    assert any("tilted" in note for note in made.notes)


def test_a_level_bed_changes_nothing() -> None:
    steep = design(job(feet={}), places=measured(lambda x, _y: 3.0 + 0.012 * (x - 108)))
    assert max(f.raise_mm for f in steep.feet) <= 0.6
    assert any("thicker feet" in note for note in steep.notes)
    level = measured(lambda _x, _y: 3.0)
    assert design(job(feet={}), places=level).feet == design(job(feet={})).feet


def test_without_recesses_the_shims_are_told() -> None:
    made = design(job(route="laser", material={"name": "acrylic-cast"}), places=measured(tilted))
    assert any("shim" in note for note in made.notes)
    assert made.feet == ()


def test_study_takes_the_record() -> None:
    preset = load(next(p for p in SHIPPED if p.stem == "8x10-printed"))
    high = study(preset, places=measured(lambda _x, _y: 4.0))
    low = study(preset, places=measured(lambda _x, _y: 3.2))
    assert high.design.heights.focus == pytest.approx(4.0)
    assert high.design.heights.ledge_height - low.design.heights.ledge_height == pytest.approx(0.8, abs=0.2)


def test_the_picture_shows_every_place() -> None:
    from holders.measure.bed.shape import fit_shape

    places = measured(tilted)
    text = bed_sheet(places, fit_shape(places)).decode()
    assert len(re.findall("<circle", text)) == 2 * len(places)
    assert "mm per m" in text
    assert bed_sheet(places, None)


TILTED = [("8x10-printed", 0.0005), ("8x10-printed", -0.004), ("4x5-four-up", 0.008), ("5x7-printed", 0.002)]
LONGER = [
    (stem, slope)
    for stem in ("8x10-printed", "35mm-strips", "5x7-printed")
    for slope in (0.0005, 0.002, -0.004, 0.008)
]


@pytest.mark.parametrize(
    ("stem", "slope"),
    [*TILTED, *(pytest.param(*case, marks=pytest.mark.slow) for case in LONGER if case not in TILTED)],
)
def test_no_tilt_makes_the_feet_stop_a_holder(stem: str, slope: float) -> None:
    """Every foot stands out, wholly on material, whatever the tilt; what cannot be followed is said."""
    preset = load(next(p for p in SHIPPED if p.stem == stem))
    places = measured(lambda x, y: 3.3 + slope * (x - 108) + 0.5 * slope * (y - 150))
    found = study(preset, places=places)
    made = found.design
    assert not [f.title for f in found.findings if f.code == "feet" and f.level == "stop"]
    assert min(made.foot_thickness - depth for depth in made.foot_depths) >= 0.2 - 1e-9  # a layer
    bare = {f.subject: f.measured for f in found.findings if f.code == "feet"}
    assert bare["foot wholly behind material"] == pytest.approx(0.0, abs=1e-3)
    told = [note for note in made.notes if "tilted" in note]
    assert len(told) == 1
    assert "differ by 0.00" not in told[0]
    assert ("thicker feet" in told[0]) == (abs(slope) >= 0.004)


def test_the_record_brings_its_band_and_no_certainty_that_none_can_build_to() -> None:
    one = job(film={"format": "8x10"})
    places = measured(tilted, sigma=0.001)
    assert measured_bed(one, places).bed.focus_band_mm == one.bed.focus_band_mm
    assert measured_bed(one, places).bed.focus_sigma_mm == 0.01
    bands = [p.model_copy(update={"band_mm": 0.24 + 0.01 * k}) for k, p in enumerate(places)]
    assert measured_bed(one, [*bands[::-1], places[0]]).bed.focus_band_mm == 0.24
