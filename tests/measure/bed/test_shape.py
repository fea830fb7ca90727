"""The shape of a bed: level, tilted or curved, judged by how its places repeat."""

from __future__ import annotations

import datetime as dt
import re
from collections.abc import Callable
from pathlib import Path

import numpy as np
import pytest

from holders.core.errors import InputError
from holders.measure.bed.colours import colour_shapes, colours_of
from holders.measure.bed.record import Measured, append_measured, load_record
from holders.measure.bed.shape import fit_shape
from holders.measure.bed.use import focus_over, foot_corrections
from holders.output.draw.bed import bed_sheet
from holders.output.words.bed import colour_words, holder_words, shape_words

FIVE = ((20, 20), (200, 20), (20, 280), (200, 280), (110, 150))
NINE = tuple((x, y) for x in (20, 110, 200) for y in (20, 150, 280))
BOX = (60.0, 60.0, 160.0, 240.0)


def measured(
    places: tuple[tuple[float, float], ...], height: Callable[[float, float], float], sigma: float
) -> list[Measured]:
    day = dt.date(2026, 11, 1)
    return [
        Measured(x_mm=x, y_mm=y, height_mm=height(x, y), sigma_mm=sigma, date=day, dpi=2400)
        for x, y in places
    ]


@pytest.mark.parametrize("corner", [2.46, 2.50])
def test_a_middle_far_above_its_corners_is_a_curvature(corner: float) -> None:
    """Corners 2.46 to 2.62 and a middle of 2.75, each ± 0.002; the second with a corner that fits no plane."""
    heights = dict(zip(FIVE, (corner, 2.52, 2.56, 2.62, 2.75), strict=True))
    places = measured(FIVE, lambda x, y: heights[x, y], 0.002)
    shape = fit_shape(places)
    assert shape.kind == "curved"
    assert shape.undirected  # corners and a middle say nothing of which way it curves
    assert shape.at(110.0, 150.0)[0][0] == pytest.approx(2.75, abs=0.03)
    # half way along a side is where the directions differ
    assert shape.at(110.0, 20.0)[1][0] > 0.05
    told = " ".join((*shape_words(places, shape), *holder_words(places, shape)))
    assert "curved" in told
    assert "cannot follow the curvature" in told
    height, sigma = focus_over(places, BOX)
    assert 2.6 < height < 2.75  # not the mean of the places, 2.58
    assert sigma > 0.01


def test_a_curvature_across_is_told_from_one_along() -> None:
    rng = np.random.default_rng(1)
    places = measured(NINE, lambda x, _y: 3.0 - 3e-5 * (x - 110) ** 2 + 0.005 * rng.standard_normal(), 0.005)
    shape = fit_shape(places)
    assert shape.kind == "curved"
    assert not shape.undirected
    for x, y in ((20.0, 90.0), (150.0, 280.0)):
        height, sigma = (float(v[0]) for v in shape.at(x, y))
        assert abs(height - (3.0 - 3e-5 * (x - 110) ** 2)) < 3 * sigma


@pytest.mark.parametrize(("scatter", "stated", "most"), [(0.02, 0.02, 6), (0.06, 0.002, 20)])
def test_a_level_bed_stays_level(scatter: float, stated: float, most: int) -> None:
    """At 1 % a test: two tests, and a few more where stated sigmas are thirty times too small (of 150)."""
    rng = np.random.default_rng(2)
    found = [
        fit_shape(measured(NINE, lambda _x, _y: 3.0 + scatter * rng.standard_normal(), stated)).kind
        for _ in range(150)
    ]
    assert sum(kind != "level" for kind in found) <= most


def test_two_sigma_hold_what_they_should_on_a_slightly_curved_bed() -> None:
    """Also where the curvature is too small to be shown: then it is in sigma."""
    rng = np.random.default_rng(3)

    def true(x: float, _y: float) -> float:
        return 3.0 + 0.001 * x - 4e-6 * (x - 110) ** 2

    inside = []
    for _ in range(150):
        shape = fit_shape(measured(NINE, lambda x, y: true(x, y) + 0.02 * rng.standard_normal(), 0.02))
        for x, y in ((60.0, 80.0), (160.0, 200.0)):
            height, sigma = (float(v[0]) for v in shape.at(x, y))
            inside.append(abs(height - true(x, y)) <= 2 * sigma)
    assert 0.88 <= float(np.mean(inside)) <= 0.99


def test_a_tilt_beside_a_curvature_goes_into_the_feet() -> None:
    places = measured(NINE, lambda x, y: 3.0 + 0.001 * (x - 110) - 1e-5 * (y - 150) ** 2, 0.01)
    feet, real = foot_corrections(places, [(10.0, 10.0), (210.0, 10.0)], BOX)
    assert real
    assert feet[1] - feet[0] == pytest.approx(0.2, abs=0.02)
    steep = measured(NINE, lambda x, _y: 3.0 + 0.05 * x, 0.01)
    with pytest.raises(InputError, match="30 mm per m"):
        foot_corrections(steep, [(0.0, 0.0)], BOX)


def test_the_map_shows_heights_with_their_sigmas_and_what_to_do() -> None:
    places = measured(NINE, lambda x, y: 3.0 + 0.001 * (x - 110) - 1e-5 * (y - 150) ** 2, 0.01)
    text = bed_sheet(places, fit_shape(places)).decode()
    assert len(re.findall(r"\d\.\d\d ± 0\.\d\d", text)) >= 6
    assert "stand higher at its corners" in text
    assert bed_sheet(places, fit_shape(places)) == bed_sheet(places, fit_shape(places))


def test_colours_that_focus_apart_are_told_with_their_uncertainty(tmp_path: Path) -> None:
    """Red 0.06 above the mean and blue 0.08 below it at nine places, each wrong by 0.01: means of nine, by hand."""
    rng = np.random.default_rng(4)
    true = np.array([0.06, 0.02, -0.08])
    places = [
        p.model_copy(
            update={"colours_mm": tuple((p.height_mm + true + 0.01 * rng.standard_normal(3)).tolist())}
        )
        for p in measured(NINE, lambda x, _y: 2.5 + 0.0004 * x, 0.01)
    ]
    seen = colours_of(places)
    assert seen is not None
    assert seen.places == 9
    assert seen.offset_mm == pytest.approx(true.tolist(), abs=0.012)
    assert max(seen.sigma_mm) == pytest.approx(0.01 / 3, rel=0.7)
    told = " ".join(colour_words(places))
    assert "red +0.0" in told
    assert "best green" in told
    assert b"Colours focus" in bed_sheet(places, fit_shape(places))
    assert colours_of(measured(NINE, lambda _x, _y: 2.5, 0.01)) is None
    for place in places:
        append_measured(tmp_path / "bed.toml", place)
    assert list(load_record(tmp_path / "bed.toml").measured) == places


def test_each_colour_has_its_own_height_over_the_bed() -> None:
    """Green level, red tilted across, blue bowed along: at each place and between them, within the noise put in."""
    rng = np.random.default_rng(8)
    own = (
        lambda x, _y: 2.60 + 0.001 * (x - 110),
        lambda _x, _y: 2.55 + 0.0 * _y,
        lambda _x, y: 2.50 - 1e-5 * (y - 150) ** 2,
    )
    places = [
        p.model_copy(
            update={
                "colours_mm": tuple(float(f(p.x_mm, p.y_mm)) + 0.004 * rng.standard_normal() for f in own)
            }
        )
        for p in measured(NINE, lambda _x, _y: 2.5, 0.01)
    ]
    found = colour_shapes(places)
    assert found is not None
    assert [shape.kind for shape in found.shapes] == ["tilted", "level", "curved"]
    x, y = np.array([60.0, 110.0, 190.0]), np.array([60.0, 150.0, 100.0])
    for shape, f in zip(found.shapes, own, strict=True):
        heights, sigma = shape.at(x, y)
        assert (np.abs(heights - f(x, y)) <= 3.0 * sigma).all()
        assert (sigma < 0.04).all()
    want = np.ptp([f(x, y) for f in own], axis=0)
    assert found.apart(x, y) == pytest.approx(want, abs=0.04)
    told = " ".join(colour_words(places))
    assert "Each colour has its own height over the glass: red 2.60" in told
    assert "put the windows of colour film where they lie closer" in told
    text = bed_sheet(places, fit_shape(places)).decode()
    assert all(f">{name}<" in text for name in ("red", "green", "blue"))
    assert len(re.findall(r"\d\.\d\d ± 0\.\d\d", text)) >= 3 * 12
    # two places say nothing of a colour's shape
    assert colour_shapes(places[:2]) is None
    assert "own height" not in " ".join(colour_words(places[:2]))


def test_two_colours_or_words_for_heights_are_refused(tmp_path: Path) -> None:
    row = "[[measured]]\nx_mm = 1.0\ny_mm = 2.0\nheight_mm = 2.5\nsigma_mm = 0.01\ndate = 2026-11-01\ndpi = 2400\n"
    for wrong in ("[2.5, 2.6]", "[true, 2.5, 2.6]", '"red"', "[2.5, 2.6, nan]"):
        path = tmp_path / "bed.toml"
        path.write_text(f"{row}colours_mm = {wrong}\n", encoding="utf-8")
        with pytest.raises(InputError, match="three numbers"):
            load_record(path)


def test_tilt_and_bulge_are_known_as_well_as_many_beds_say() -> None:
    """The scatter of 300 simulated beds about the truth, in units of the stated sigma, is one within its own luck."""
    rng = np.random.default_rng(6)
    pulls = []
    for _ in range(300):
        clean = measured(NINE, lambda x, y: 2.5 + 0.004 * (x - 110) - 5e-5 * (y - 150) ** 2, 0.02)
        places = [
            p.model_copy(update={"height_mm": p.height_mm + 0.02 * rng.standard_normal()}) for p in clean
        ]
        shape = fit_shape(places)
        assert shape.kind == "curved"
        box = (20.0, 20.0, 200.0, 280.0)
        bulge, sigma = shape.bulge(box)
        pulls.append(
            ((shape.slope(box)[0] - 0.004) / shape.slope_sigma(box)[0], (bulge - 5e-5 * 130**2) / sigma)
        )
    spread = np.std(pulls, axis=0)
    assert ((spread > 0.7) & (spread < 1.15)).all()
