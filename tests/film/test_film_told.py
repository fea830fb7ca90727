"""What a film's shape tells besides its heights: where each point lies, and sums that belong to the heights shown."""

from __future__ import annotations

import numpy as np
import pytest
from pydantic import ValidationError

from holders.core.errors import InputError
from holders.film.hold import Hold, MagnetPairs
from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.optics import apparent_thickness_mm
from holders.film.surface import lifted, solve_surface

SHEET = Sheet(
    width_mm=90, height_mm=130, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390,
    curl_x_per_m=1.0, emulsion="up",
)  # fmt: skip
DISCS = {"pairs": 1, "diameter_mm": 4.0, "thickness_mm": 1.0}
UNEVEN = Lips(left_mm=2.0, right_mm=5.0, head_mm=3.0, foot_mm=4.0)


@pytest.fixture(scope="module", params=["ledge", "lid", "cover", "low"])
def shape(request: pytest.FixtureRequest) -> Surface:
    kind = Kind.LEDGE if request.param == "low" else Kind(request.param)
    height = 0.05 if request.param == "low" else 3.0
    support = Support(kind=kind, lips=UNEVEN, ledge_height_mm=height, lid_play_mm=0.1)
    return solve_surface(SHEET, support, resolution=8)


def test_its_points_run_from_edge_to_edge_in_even_steps(shape: Surface) -> None:
    for points, long in ((shape.x, 90.0), (shape.y, 130.0)):
        np.testing.assert_allclose(points, np.linspace(0.0, long, len(points)), rtol=0, atol=1e-9)
    assert shape.z.shape == (len(shape.y), len(shape.x))
    # about square cells, so that a map is not drawn out
    across, along = 90.0 / (len(shape.x) - 1), 130.0 / (len(shape.y) - 1)
    assert across == pytest.approx(along, rel=0.05)


def test_its_numbers_are_those_of_its_heights(shape: Surface) -> None:
    low, high = float(shape.deflection.min()), float(shape.deflection.max())
    np.testing.assert_allclose(shape.z - shape.deflection, shape.support.ledge_height_mm, rtol=0, atol=1e-12)
    assert shape.max_sag_mm == max(0.0, -low)
    assert shape.max_rise_mm == max(0.0, high)
    assert shape.min_gap_mm == pytest.approx(shape.support.ledge_height_mm + low, abs=1e-12)
    mean = np.trapezoid(np.trapezoid(shape.deflection, shape.x, axis=1), shape.y) / (90 * 130)
    assert shape.mean_sag_mm == pytest.approx(-mean, abs=2e-3 * np.ptp(shape.z))
    slope = max(
        float(np.abs(np.gradient(shape.z, points, axis=k)).max())
        for k, points in ((0, shape.y), (1, shape.x))
    )
    assert shape.max_slope == pytest.approx(slope, rel=0.15)
    assert shape.within_theory == (shape.max_slope <= 0.3)
    assert shape.branch.max_sag_mm == pytest.approx(shape.max_sag_mm, abs=2e-3)
    assert shape.energy_nmm == shape.branch.energy_nmm
    assert shape.touches_glass == any(force.by == "glass" for force in shape.contact_forces)
    assert (shape.sheet, shape.resolution, shape.converged) == (SHEET, 8, True)


def test_forces_press_on_the_film_where_something_is(shape: Surface) -> None:
    over = sum(force.force_n for force in shape.contact_forces if force.by in ("lid", "cover"))
    under = sum(force.force_n for force in shape.contact_forces if force.by in ("ledge", "glass"))
    assert shape.weight_n == pytest.approx(1390e-9 * 9.80665 * 0.19 * 90 * 130)
    assert shape.pressed_down_n == pytest.approx(over, abs=1e-6)
    assert under - over == pytest.approx(shape.weight_n, rel=1e-4)
    assert shape.total_reaction_n == pytest.approx(under - over, rel=1e-4)
    for force in shape.contact_forces:
        assert 0 <= force.x_mm <= 90
        assert 0 <= force.y_mm <= 130
        lies = min(force.x_mm - 2.0, 85.0 - force.x_mm, force.y_mm - 3.0, 126.0 - force.y_mm)
        if force.by in ("ledge", "lid"):
            assert lies <= 1e-6, "on a lip"
    if shape.support.kind is not Kind.LEDGE:
        assert over > 0
    if shape.support.ledge_height_mm < 1:
        assert shape.touches_glass


def test_a_shape_lifted_keeps_all_but_its_height(shape: Surface) -> None:
    high = lifted(shape, shape.support.ledge_height_mm + 2.0)
    np.testing.assert_allclose(high.z, shape.z + 2.0, rtol=0, atol=1e-12)
    assert high.min_gap_mm == pytest.approx(shape.min_gap_mm + 2.0)
    assert (high.max_sag_mm, high.max_rise_mm) == (shape.max_sag_mm, shape.max_rise_mm)
    assert high.support.ledge_height_mm == shape.support.ledge_height_mm + 2.0


@pytest.mark.parametrize(
    ("model", "given", "good", "bad"),
    [
        (Sheet, SHEET.model_dump(), {"poisson": 0.0}, {"poisson": -0.01}),
        (Sheet, SHEET.model_dump(), {"poisson": 0.499}, {"poisson": 0.5}),
        (Sheet, SHEET.model_dump(), {"density_kg_m3": 0.0}, {"density_kg_m3": -1.0}),
        (Sheet, SHEET.model_dump(), {"thickness_mm": 1e-3}, {"thickness_mm": 0.0}),
        (Sheet, SHEET.model_dump(), {"curl_y_per_m": -9.0}, {"curl_y_per_m": float("nan")}),
        (Lips, {}, {"left_mm": 0.0}, {"left_mm": -0.1}),
        (Support, {"kind": Kind.LID}, {"ledge_height_mm": 0.0}, {"ledge_height_mm": -0.1}),
        (Support, {"kind": Kind.LID}, {"lid_play_mm": 0.0}, {"lid_play_mm": -0.1}),
        (Hold, {"weight_n": 1.0}, {"weight_n": 0.0}, {"weight_n": -1.0}),
        (Hold, {"weight_n": 1.0}, {"extra_n": 0.0}, {"extra_n": -1.0}),
        (Hold, {"weight_n": 1.0}, {"most_rise_mm": 0.0}, {"most_rise_mm": -1.0}),
        (MagnetPairs, DISCS, {"pairs": 1}, {"pairs": 0}),
        (MagnetPairs, DISCS, {"gap_mm": 0.0}, {"gap_mm": -0.1}),
        (MagnetPairs, DISCS, {"remanence_t": 0.1}, {"remanence_t": 0.0}),
    ],
)  # fmt: skip
def test_numbers_at_their_ends(
    model: type, given: dict[str, object], good: dict[str, object], bad: dict[str, object]
) -> None:
    (key,) = good
    assert getattr(model(**(given | good)), key) == good[key]
    with pytest.raises((InputError, ValidationError)):
        model(**(given | bad))


def test_what_is_left_out_is_the_plain_case() -> None:
    """A film without curl, emulsion down, made flat; a lid of its own weight, magnets that touch."""
    plain = Sheet(width_mm=1, height_mm=1, thickness_mm=1, modulus_mpa=1, poisson=0, density_kg_m3=1)
    assert (plain.curl_x_per_m, plain.curl_y_per_m, plain.emulsion, plain.moulded) == (
        0.0,
        0.0,
        "down",
        False,
    )
    assert Lips() == Lips.all_round(0.0)
    bare = Support(kind=Kind.LID)
    assert (bare.lips, bare.lid_lips, bare.lid_play_mm, bare.hold, bare.movable) == (
        Lips(),
        None,
        0.0,
        None,
        False,
    )
    hold = Hold(weight_n=0.5)
    assert (hold.force_n(), hold.force_n(1.0), hold.most_rise_mm) == (0.5, 0.5, None)
    assert MagnetPairs(pairs=1, diameter_mm=4, thickness_mm=1).gap_mm == 0.0
    kinds = {kind for kind in Kind if Support(kind=kind, hold=hold).movable}
    assert kinds == {Kind.LID, Kind.COVER}


def test_a_sheet_by_the_handbooks() -> None:
    """D = E t³/12(1-ν²) and q = ρ g t, by hand for 0.2 mm of 4800 MPa and 1400 kg/m³."""
    sheet = Sheet(width_mm=10, height_mm=20, thickness_mm=0.2, modulus_mpa=4800, poisson=0.5 - 0.1, density_kg_m3=1400,
                  curl_x_per_m=2.0, curl_y_per_m=-1.0)  # fmt: skip
    assert sheet.rigidity_nmm == pytest.approx(4800 * 0.008 / 12 / 0.84)
    assert sheet.pressure_mpa == pytest.approx(2.745862e-6)
    assert sheet.weight_n == pytest.approx(200 * 2.745862e-6)
    assert sheet.natural_curvature_per_mm == pytest.approx((-2e-3, 1e-3))
    assert sheet.model_copy(update={"emulsion": "up"}).natural_curvature_per_mm == pytest.approx(
        (2e-3, -1e-3)
    )


def test_a_layer_seen_through_itself() -> None:
    assert apparent_thickness_mm(3.0, 1.5) == 2.0
    assert apparent_thickness_mm(3.0, 1.0) == 3.0
    with pytest.raises(InputError, match="1 or more"):
        apparent_thickness_mm(3.0, 0.999)
