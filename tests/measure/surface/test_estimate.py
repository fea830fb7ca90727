"""Heights from exact moves of closed forms: a cylinder and a tilted plane, and what is not height."""

from __future__ import annotations

import numpy as np
import pytest
from numpy.typing import NDArray

from holders.measure.surface.estimate import Estimate, Priors, Viewing, estimate
from holders.measure.surface.opening import Opening, Side
from holders.measure.surface.predicted import Predicted
from holders.measure.surface.projection import seen_at
from holders.measure.surface.search import Moves2D
from holders.measure.surface.shapes import shapes_over

F64 = NDArray[np.float64]
D, AXIS, LEDGE = 300.0, 75.0, 3.0
OPENING = Opening(
    Side(20.0, 0.0, True), Side(110.0, 0.0, True), Side(10.0, 0.0, True), Side(120.0, 0.0, True)
)
VIEW = Viewing(D, 0.0, AXIS, 3.0, LEDGE)
# a lens and a carriage that a self-test has cleared, and film that may stand anywhere at its rim
CLEARED = Priors(rim=1.0, distortion=1e-7, tilt=1e-5, warm=1e-5, wobble=0.01)


def places() -> tuple[F64, F64]:
    x, y = np.meshgrid(np.linspace(22, 108, 34), np.linspace(12, 118, 40))
    return x.ravel(), y.ravel()


def moves_of(z: F64, shift: float, *, dz: F64 | float = 0.0, extra: F64 | float = 0.0) -> Moves2D:
    """Exact moves of film at height z that is shifted and changes by dz; x is where the first scan shows it."""
    x, y = places()
    true = (x - AXIS) * (D + z) / D
    u = seen_at(true + shift, z + dz, D) - (x - AXIS) + extra
    sigma = np.full(len(x), 0.0005)
    random = np.random.default_rng(3)
    return Moves2D(x, y, u + sigma * random.standard_normal(len(x)), np.zeros(len(x)), sigma, sigma)


def run(moves: Moves2D, priors: Priors) -> Estimate:
    return estimate(moves, shapes_over(OPENING), VIEW, priors)


def error_of(found: Estimate, z: F64) -> F64:
    x, y = places()
    return np.asarray(found.heights(x, y)[0] - z)


def test_a_cylinder_is_found_up_to_the_unknown_shift() -> None:
    # arc of radius 3000 mm across: sags 45^2 / (2 * 3000) = 0.3375 mm in the middle, from the parabola of the arc
    x, _ = places()
    z = LEDGE - 0.3375 + (3000.0 - np.sqrt(3000.0**2 - (x - 65.0) ** 2))
    error = error_of(run(moves_of(z, 20.0), CLEARED), z)
    assert float(np.std(error)) < 0.02


def test_a_tilted_plane_is_found_up_to_the_unknown_shift() -> None:
    x, y = places()
    z = LEDGE + 0.004 * (x - 65.0) - 0.002 * (y - 65.0)
    found = run(moves_of(z, -15.0), CLEARED)
    # along the bed a slope is the same as a turn by hand, so only the slope across is held against the form
    slope = np.polyfit(x, found.heights(x, y)[0], 1)[0]
    assert slope == pytest.approx(0.004, abs=2e-4)


def bowl() -> F64:
    x, y = places()
    p, q = (x - 65.0) / 45.0, (y - 65.0) / 55.0
    return np.asarray(LEDGE - 0.5 * (1 - p**2) * (1 - q**2) * (1 + 0.3 * p))


@pytest.mark.parametrize("shift", [10.0, 20.0, -40.0])
def test_distortion_wobble_and_turn_do_not_pass_for_height(shift: float) -> None:
    x, y = places()
    seen = (x - AXIS) / 100
    after = (x + shift - AXIS) / 100
    bent = 0.1 * (after**3 - seen**3) + 0.1 * (after - seen)
    rows = np.unique(y)
    wobble = 0.01 * np.random.default_rng(5).standard_normal(len(rows))[np.searchsorted(rows, y)]
    z = bowl()
    found = run(moves_of(z, shift, extra=bent + wobble + 0.002 * (y - 65.0)), Priors())
    x, y = places()
    error = error_of(found, z)
    sigma = found.heights(x, y)[1]
    assert float(np.sqrt(np.mean(error**2))) < 0.06 * max(1.0, 20.0 / abs(shift))
    assert float(np.mean(np.abs(error) < 2 * sigma)) > 0.9


def test_the_prior_does_not_decide() -> None:
    moves = moves_of(bowl(), 20.0)
    x, y = places()
    usual = run(moves, Priors()).heights(x, y)
    for other in (Priors(sag=0.75), Priors(sag=30.0)):
        changed = run(moves, other).heights(x, y)[0]
        assert float(np.max(np.abs(usual[0] - changed) / usual[1])) < 0.2


def test_a_predicted_lift_at_the_rim_is_believed_and_the_middle_is_measured() -> None:
    # the whole film stands 0.2 mm over its ledge at the rim, as predicted; its sag was predicted far too small
    z = bowl() + 0.2
    grid = np.linspace(0, 90, 10), np.linspace(0, 110, 12)
    predicted = Predicted(*grid, np.full((12, 10), 0.2), (90.0, 110.0))
    found = estimate(moves_of(z, 20.0), shapes_over(OPENING), VIEW, Priors(), predicted=predicted)
    assert float(np.sqrt(np.mean(error_of(found, z) ** 2))) < 0.03


def test_film_that_leaves_the_scan_at_one_side_is_held_by_the_other_three() -> None:
    # the opening ends at 122 mm, the scan at 110: the right lip is not seen
    x, y = places()
    p, q = (x - 71.0) / 51.0, (y - 65.0) / 55.0
    z = LEDGE - 0.5 * (1 - p**2) * (1 - q**2)
    opening = Opening(OPENING.left, Side(110.0, 0.0, False), OPENING.top, OPENING.bottom)
    found = estimate(moves_of(z, 20.0), shapes_over(opening), VIEW, Priors())
    sigma = found.heights(x, y)[1]
    error = error_of(found, z)
    assert float(np.sqrt(np.mean(error**2))) < 0.06
    assert float(np.mean(np.abs(error) < 2 * sigma)) > 0.9
    assert float(np.median(sigma)) < 0.2


def test_film_that_moved_is_in_sigma() -> None:
    x, y = places()
    p, q = (x - 65.0) / 45.0, (y - 65.0) / 55.0
    moved = 0.03 * (1 - p**2) * (1 - q**2)
    found = run(moves_of(bowl(), 10.0, dz=moved), Priors())
    sigma = found.heights(x, y)[1]
    still = run(moves_of(bowl(), 10.0), Priors(warm=1e-4)).heights(x, y)[1]
    assert float(np.mean(np.abs(error_of(found, bowl())) < 2 * sigma)) > 0.9
    assert float(np.median(sigma)) > 1.3 * float(np.median(still))


def test_dust_and_wrong_matches_lose_their_weight() -> None:
    moves = moves_of(bowl(), 20.0)
    random = np.random.default_rng(8)
    u = moves.u.copy()
    u[random.choice(len(u), 60, replace=False)] += random.uniform(-0.05, 0.05, 60)
    wrong = Moves2D(moves.x, moves.y, u, moves.v, moves.sigma_u, moves.sigma_v)
    found = run(wrong, Priors())
    assert float(np.sqrt(np.mean(error_of(found, bowl()) ** 2))) < 0.04
    assert found.kept < 0.99
