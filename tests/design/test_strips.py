"""Where strips meet an area: our own quick way against shapely's clipping, which it must equal."""

from __future__ import annotations

import random

import pytest
import shapely

from holders.geometry.strips import LEAST_SPAN_MM, LINE_MM, Strips


def clipped(shape: shapely.Geometry, v: float, across: tuple[float, float]) -> list[tuple[float, float]]:
    """What shapely says the strip meets: each polygon's least and greatest x."""
    met = shapely.clip_by_rect(shape, across[0], v - LINE_MM, across[1], v + LINE_MM)
    boxes = [part.bounds for part in shapely.get_parts(met) if part.geom_type == "Polygon"]
    return sorted((low, high) for low, _, high, _ in boxes if high - low > LEAST_SPAN_MM)


def scattered(seed: int) -> shapely.Geometry:
    """Rings, slanted boxes and holes, in one piece or several."""
    rng = random.Random(seed)
    shape = shapely.box(0, 0, 200, 150)
    for _ in range(rng.randint(1, 9)):
        x, y, r = rng.uniform(-20, 220), rng.uniform(-20, 170), rng.uniform(2, 40)
        bite = shapely.affinity.rotate(shapely.box(x, y, x + r, y + 2 * r), rng.uniform(0, 90))
        shape = shape.difference(bite if rng.random() < 0.5 else shapely.Point(x, y).buffer(r))
    return shape


@pytest.mark.parametrize("seed", range(30))
def test_strips_equal_shapelys_clipping(seed: int) -> None:
    shape, rng = scattered(seed), random.Random(seed + 1000)
    strips = Strips(shape)
    corners = shapely.get_coordinates(shape)[:, 1].tolist()
    heights = [rng.uniform(-5, 155) for _ in range(60)]
    heights += [y + aside for y in rng.sample(corners, min(9, len(corners))) for aside in (0.0, 5e-4, -3e-3)]
    seen = 0
    for v in heights:
        across = tuple(sorted((rng.uniform(-30, 230), rng.uniform(-30, 230))))
        found, expected = strips.spans(v, across), clipped(shape, v, across)  # type: ignore[arg-type]
        assert len(found) == len(expected), v
        for mine, theirs in zip(found, expected, strict=True):
            assert mine == pytest.approx(theirs, abs=1e-9)
        seen += len(found)
    assert seen > 20


def test_a_frame_is_met_on_both_rails_and_whole_beside_its_window() -> None:
    frame = shapely.box(0, 0, 100, 80).difference(shapely.box(20, 30, 70, 60))
    strips = Strips(frame)
    assert strips.spans(10.0, (-50, 150)) == ((0.0, 100.0),)
    assert strips.spans(45.0, (-50, 150)) == ((0.0, 20.0), (70.0, 100.0))
    assert strips.spans(45.0, (5.0, 80.0)) == ((5.0, 20.0), (70.0, 80.0))
    assert strips.spans(30.0, (-50, 150)) == ((0.0, 100.0),)  # along the window's edge: half of it is solid
    assert strips.spans(90.0, (-50, 150)) == ()


def test_nothing_is_met_in_nothing() -> None:
    assert Strips(shapely.Polygon()).spans(0.0, (-1.0, 1.0)) == ()
