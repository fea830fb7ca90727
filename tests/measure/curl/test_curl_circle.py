"""The circle fit against exact circles, an outside library, and its own claim of scatter."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.curl.circle import fit_circle


def arc(curl: float, length: float, turn: float, n: int = 200) -> np.ndarray:
    s = np.linspace(-length / 2, length / 2, n)
    k = curl / 1000
    p = (
        np.column_stack([s, 0.5 * k * s * s])
        if abs(k) < 1e-9
        else np.column_stack([np.sin(k * s), 1 - np.cos(k * s)]) / k
    )
    c, t = np.cos(turn), np.sin(turn)
    return np.asarray(p @ np.array([[c, t], [-t, c]]) + [57.0, 133.0])


def fitted(points: np.ndarray, side: float = 0.0) -> float:
    n = len(points)
    zero = np.full(n, side)
    flat = np.tile([0.0, 1.0], (n, 1))
    return 1000 * abs(fit_circle(points, zero, flat, step_mm=0.09, step_sigma_mm=0.04).kappa)


@pytest.mark.parametrize("curl", [0.0, 0.01, 0.5, 5.0, 34.0, 100.0])
@pytest.mark.parametrize("turn", [0.0, 0.7, 1.6, 3.9])
def test_an_exact_arc_comes_back(curl: float, turn: float) -> None:
    assert fitted(arc(curl, 60.0 if curl < 90 else 25.0, turn)) == pytest.approx(curl, abs=1e-6, rel=1e-7)


def test_an_outside_library_finds_the_same_circle() -> None:
    from skimage.measure import CircleModel

    rng = np.random.default_rng(4)
    points = arc(8.0, 90.0, 0.4) + 0.02 * rng.standard_normal((200, 2))
    model = CircleModel.from_estimate(points) if hasattr(CircleModel, "from_estimate") else CircleModel()
    if not hasattr(CircleModel, "from_estimate"):
        model.estimate(points)
    radius = model.radius if hasattr(model, "radius") else model.params[2]
    assert fitted(points) == pytest.approx(1000 / radius, rel=2e-3)


def test_points_that_do_not_belong_hardly_move_it() -> None:
    points = arc(5.0, 90.0, 1.0)
    points[20:28] += [1.5, -0.7]
    points[150] += [-30.0, 10.0]
    assert fitted(points) == pytest.approx(5.0, abs=0.02)


def test_the_seen_face_may_change_along_the_line() -> None:
    """The line's other face shows beyond the axis: the step is found along with the circle."""
    points = arc(3.0, 100.0, 0.0)
    t = np.gradient(points, axis=0)
    t /= np.hypot(*t.T)[:, None]
    normal = np.column_stack([-t[:, 1], t[:, 0]])
    side = np.where(np.arange(200) < 70, 1.0, -1.0)
    seen = points - (side * 0.13)[:, None] * normal
    found = fit_circle(seen, side, normal, step_mm=0.09, step_sigma_mm=0.04)
    assert 1000 * abs(found.kappa) == pytest.approx(3.0, abs=0.003)
    assert found.step_mm == pytest.approx(0.13, abs=0.003)


def test_scatter_is_as_claimed() -> None:
    rng = np.random.default_rng(7)
    flat = np.tile([0.0, 1.0], (200, 1))
    found = [
        fit_circle(arc(5.0, 60.0, 0.0) + 0.03 * rng.standard_normal((200, 2)), np.zeros(200), flat,
                   step_mm=0.09, step_sigma_mm=0.04)
        for _ in range(150)
    ]  # fmt: skip
    spread = float(np.std([abs(f.kappa) for f in found]))
    claimed = float(np.median([np.sqrt(f.covariance[0, 0]) * f.scale_mm for f in found]))
    assert 0.75 < claimed / spread < 1.3
