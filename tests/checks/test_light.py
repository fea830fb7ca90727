"""View factors against numbers integrated another way, and the veil that comes of them."""

from __future__ import annotations

import math
from pathlib import Path

import numpy as np
import pytest
import shapely

from holders.checks.light import film_scatter, veil
from holders.design.model import Role
from holders.design.parts.sections import polygon
from holders.design.resolve import design
from holders.film.stray import strip_view_factor, veil_limit
from holders.fittings.roll.check import RollRule, core_curl_per_m
from holders.geometry.outline import Region
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of
from tests.checks.make_wet import roll


def by_quadrature(distance: float, height: float) -> float:
    """A small level face and a wall of the given height, endless both ways: the definition integrated.

    F = integral of cos a cos b / (pi r^2) over the wall; along the endless side with y = r0 tan u.
    """
    u, du = np.linspace(-math.pi / 2, math.pi / 2, 20001, retstep=True)
    z = (np.arange(4000) + 0.5) * height / 4000
    r0 = np.hypot(distance, z)  # nearest point of each line of the wall
    # cos a = z / r, cos b = distance / r, r = r0 / cos u, dy = r0 / cos^2 u du
    along = np.sum(np.cos(u) ** 2) * du / math.pi
    return float(np.sum(z * distance / r0**3) * height / 4000 * along)


@pytest.mark.parametrize(("distance", "height"), [(1.0, 3.0), (2.0, 2.8), (4.0, 1.0)])
def test_a_plain_wall(distance: float, height: float) -> None:
    handbook = 0.5 * (1 - 1 / math.sqrt(1 + (height / distance) ** 2))  # Siegel and Howell, from memory
    assert strip_view_factor([(distance, height)]) == pytest.approx(handbook, rel=1e-12)
    assert strip_view_factor([(distance, height)]) == pytest.approx(by_quadrature(distance, height), rel=1e-4)


def test_a_wall_at_the_face_fills_half_of_what_it_sees() -> None:
    assert strip_view_factor([(0.0, 3.0)]) == 0.5
    assert strip_view_factor([(3.0, 0.0)]) == 0.0


def test_a_slope_away_from_the_window_shows_less_wall() -> None:
    plain, sloped = strip_view_factor([(1.0, 3.0)]), strip_view_factor([(1.0, 0.8), (3.2, 3.0)])
    assert sloped == pytest.approx(0.5 * (1 - 3.2 / math.hypot(3.2, 3.0)), rel=1e-12)
    assert sloped < plain


def test_the_limit_is_a_density_of_two_that_looks_one_point_nine_four() -> None:
    assert -math.log10(10**-2.0 + veil_limit()) == pytest.approx(1.94, abs=1e-12)


def test_matt_black_passes_at_any_wall_and_white_at_none_that_is_near() -> None:
    scatter = film_scatter(1.48)
    assert scatter == pytest.approx(0.05 + 0.0375, abs=2e-4)  # Fresnel at n = 1.48: 0.0375
    for index in (1.48, 1.53, 1.64):  # acetate, glass, polyester
        assert veil(0.05, 0.5, film_scatter(index)) < veil_limit()
    assert veil(0.8, 0.1, scatter) > veil_limit()


def test_room_light_at_an_open_end_is_the_handbooks_small_face_and_strip() -> None:
    """(1 - 1 / sqrt(1 + (g / d)^2)) / 2 for a gap g at the distance d from the picture to the rim of the glass."""
    wanted, made = roll(gap_mm=1.5)
    found = next(f for f in RollRule().check(wanted, made) if f.subject == "room light through the open ends")
    away = min(made.windows[0].opening.x, made.glass.right - made.windows[0].opening.right)
    handbook = (1 - 1 / math.sqrt(1 + (1.5 / away) ** 2)) / 2
    assert found.measured == pytest.approx(100 * handbook, abs=1e-4)


def test_a_cores_curl_is_one_over_its_radius() -> None:
    assert core_curl_per_m(75.0) == pytest.approx(26.667, abs=1e-3)


def _holes(region: Region) -> shapely.Geometry:
    return shapely.union_all([polygon(hole) for hole in region.holes])


def upright_wall(aside: float, high: float, beyond: float) -> float:
    """Small level face to a wall at right angles that begins beside it and goes on for ``beyond`` one way.

    (atan(y/c) - c / sqrt(c^2 + h^2) atan(y / sqrt(c^2 + h^2))) / 2 pi: a textbook's plane element and perpendicular
    rectangle (Howell's catalogue, B-4: from memory).
    """
    far = math.hypot(aside, high)
    return (math.atan(beyond / aside) - aside / far * math.atan(beyond / far)) / (2 * math.pi)


@pytest.mark.parametrize(
    ("name", "least"),
    [("8x10-printed", 0.35), ("whole-plate-glass", 0.15), ("5x7-glass-cover", 0.05), ("35mm-channel", 0.3)],
)
def test_what_stands_over_the_film_keeps_light_off_at_all_four_edges(name: str, least: float) -> None:
    """A design's share at head and foot, against the handbook's walls of finite length over the middle of the edge.

    The walls are upright: a lid's bevel, which takes a third off, has a test of its own.
    """
    path = preset_path(Path(name))
    text = path.read_text()
    upright = with_values(text, {"lid.bevel_mm": 0.0}) if "[lid]" in text else text
    holder = design(job_of(parse(upright, str(path)))[0], uncut=True)
    window, ledge = holder.windows[0], holder.heights.drawn_ledge
    for edge in ("head", "foot"):
        share = window.dimmed.of(edge)
        y = window.opening.top if edge == "head" else window.opening.y
        p = window.picture.top if edge == "head" else window.picture.y
        y = min(y, p) if edge == "head" else max(y, p)
        x = window.opening.x + window.opening.width / 4  # beside the notches
        slabs = [s for part in holder.parts if part.in_frame or part.role is Role.LID for s in part.slabs]
        walls = [
            (shapely.Point(x, y).distance(polygon(s.region.outer).difference(_holes(s.region))), s.z1 - ledge)
            for s in slabs
            if s.z1 > ledge + 1e-6
        ]
        finite = [2 * upright_wall(max(d, 1e-9), top, window.opening.width / 2) for d, top in walls]
        assert share >= least
        assert share == pytest.approx(max(finite, default=0.0), rel=0.03)
