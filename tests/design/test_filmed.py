"""The ledge follows the film's surface: against plain arithmetic on the solved heights, and against sense."""

from __future__ import annotations

from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest

from holders.core.errors import NotConverged
from holders.design.held.film_in_holder import designed, with_ranges
from holders.design.held.film_ranges import comparison, range_study, ring_words, unknowns
from holders.design.held.model import picture_grid
from holders.design.held.plate_glass import plate_sag_mm
from holders.design.resolve import design
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from tests.film.closed_forms import simply_supported_coefficient
from tests.kept import shipped_study
from tests.presets_made import SHIPPED, job
from tests.short import some


def big(**changes: object) -> Job:
    made = {"film": {"format": "8x10"}, "base": {"curl_per_m": 0.0, "curl_low_per_m": -1.0}, **changes}
    return job(**made)


def test_an_8x10_sheet_hangs_and_the_ledge_rises() -> None:
    made, film = designed(big())
    assert film.sag is not None
    # the order that REFERENCES gives for a loose 8x10 polyester sheet: 1.4 to 1.5 mm (computed, edges free)
    assert 1.1 < film.sag.max_mm < 1.7
    assert made.heights.ledge_above_glass > made.heights.focus + 0.3
    assert film.sag.in_band_fraction > (film.sag.focus_fraction or 0) + 0.1


def test_the_built_ledge_is_the_best_one_but_for_layers() -> None:
    made, film = designed(big())
    assert film.best_ledge_mm is not None
    assert film.grid is not None
    assert abs(made.heights.ledge_above_glass - film.best_ledge_mm) <= made.heights.step / 2 + 1e-6
    heights = picture_grid(film.grid, film.picture)

    def share(lift: float) -> float:
        z = heights + lift
        return float(np.mean((z >= film.band.low_mm) & (z <= film.band.high_mm)))

    here = film.best_ledge_mm - made.heights.ledge_above_glass
    tries = [share(here + d) for d in np.linspace(-1.0, 1.0, 81)]
    assert share(here) >= max(tries) - 0.01


def test_ledge_at_the_focus_height_when_asked() -> None:
    made, film = designed(big(ledge="focus"))
    assert abs(made.heights.ledge_above_glass - made.heights.focus) <= made.heights.step / 2 + 1e-9
    assert film.sag is not None
    assert film.sag.best_fraction is not None
    assert film.sag.in_band_fraction < film.sag.best_fraction


def test_grid_and_sag_agree() -> None:
    made, film = designed(big())
    assert film.grid is not None
    assert film.sag is not None
    assert made.heights.ledge_above_glass - film.grid.z.min() == pytest.approx(film.sag.max_mm, abs=0.01)
    assert film.grid.z.min() == pytest.approx(film.sag.min_gap_mm, abs=0.01)
    assert film.surface is not None
    assert film.surface.total_reaction_n == pytest.approx(film.surface.weight_n, rel=1e-3)


def test_turned_film_curls_along_the_other_axis() -> None:
    changes = {"base": {"curl_per_m": 4.0}}
    _, straight = designed(job(film={"format": "5x7"}, layout={"turn": "never"}, **changes))
    _, turned = designed(job(film={"format": "5x7"}, layout={"turn": "always"}, **changes))
    assert straight.sheet is not None
    assert turned.sheet is not None
    assert straight.sheet.curl_x_per_m == turned.sheet.curl_y_per_m == 4.0
    assert straight.sag is not None
    assert turned.sag is not None
    assert straight.sag.max_mm == pytest.approx(turned.sag.max_mm, abs=0.02)


def test_glass_sag_is_the_series_and_the_plane_counts_it() -> None:
    width, height, t, modulus, nu, rho = 164.0, 215.0, 1.5, 70000.0, 0.22, 2500.0
    _, _, sag = plate_sag_mm(width, height, t, modulus_mpa=modulus, poisson=nu, density_kg_m3=rho)
    rigidity = modulus * t**3 / (12 * (1 - nu**2))
    load = rho * 1e-9 * 9.80665 * t
    # Levy's single series, an independent closed form of the same plate (Timoshenko, Theory of Plates, § 30)
    expected = simply_supported_coefficient(height / width) * load * width**4 / rigidity
    assert sag.max() == pytest.approx(expected, rel=1e-4)
    made, film = designed(job(film={"format": "plate-whole"}))
    assert film.surface is None
    assert film.sag is not None
    assert film.sag.max_mm < 0.02
    assert made.sag == film.sag


def test_film_in_a_mount_is_gripped_inside_it() -> None:
    made, film = designed(job(film={"format": "mount-50"}))
    assert film.support is not None
    assert film.support.ledge_height_mm == pytest.approx(
        made.heights.ledge_height + made.heights.foot_protrusion + 1.0, abs=0.3
    )
    assert film.sag is not None
    assert film.sag.in_band_fraction == 1.0


def test_no_equilibrium_is_told_not_hidden(monkeypatch: pytest.MonkeyPatch) -> None:
    def fails(*_: object, **__: object) -> None:
        raise NotConverged("film surface: no stable equilibrium was found")

    monkeypatch.setattr("holders.design.held.film_in_holder.best_ledge_height", fails)
    made, film = designed(big())
    assert film.grid is None
    assert made.sag is None
    assert "no stable equilibrium" in made.no_sag_because
    from holders.checks.runner import run

    found = [f for f in run(big(), made) if f.code == "sag"]
    assert [f.level for f in found] == ["warn"]


def test_a_design_out_of_work_is_a_finding_not_a_fault(monkeypatch: pytest.MonkeyPatch) -> None:
    from holders.checks.runner import run

    monkeypatch.setattr("holders.design.held.film_in_holder.NOMINAL_EFFORT", 0.01)
    one = big(base={"curl_per_m": 5.0})
    made, film = designed(one)
    assert film.surface is None
    assert "did not converge within the bounds of work" in film.why_not
    assert [f.level for f in run(one, made) if f.code == "sag"] == ["warn"]


def test_worst_sensible_film_is_worse_or_equal() -> None:
    _, film = designed(big(base={"curl_per_m": 0.0, "curl_low_per_m": -1.0, "curl_high_per_m": 9.0}))
    assert film.sag is not None
    assert film.sag.worst_fraction is not None
    assert film.sag.worst_fraction <= film.sag.in_band_fraction + 1e-9
    assert "curl" in film.sag.worst_case


@pytest.mark.parametrize("formats", ["8x10", "4x5", "mount-50", "plate-whole"])
def test_the_nominal_surface_comes_first_and_the_extremes_later(formats: str) -> None:
    one = job(film={"format": formats})
    early, film = designed(one, ranges=False)
    assert film.sag is not None
    assert film.sag.worst_fraction is None
    late, later = with_ranges(one, early, film)
    whole, known = designed(one)
    assert late.sag == whole.sag
    assert later.sag == known.sag
    assert replace(late, sag=None) == replace(early, sag=None)
    assert (known.sag.worst_fraction is not None) == (known.surface is not None and formats != "mount-50")  # type: ignore[union-attr]


QUICK = ("8x10-printed", "8x10-mat-board", "35mm-channel", "6x9-roll", "50mm-mounts", "8x10-wet-mount")


@pytest.mark.parametrize(
    "path", some(SHIPPED, *(path for path in SHIPPED if path.stem in QUICK)), ids=lambda path: path.stem
)
def test_a_draft_is_near_what_comes_after_it(path: Path) -> None:
    one = resolve(load(path))
    (made, film), (rough, draft) = (designed(one, ranges=False, draft=d) for d in (False, True))
    assert (rough.windows, rough.outer, len(rough.seams)) == (made.windows, made.outer, len(made.seams))
    assert film.sag is not None
    assert draft.sag is not None
    assert draft.sag.max_mm == pytest.approx(film.sag.max_mm, rel=6e-3, abs=1e-3)
    assert abs(rough.heights.ledge_height - made.heights.ledge_height) <= made.heights.step + 1e-9
    if film.surface is not None:
        assert draft.surface is not None
        assert (draft.surface.resolution, film.surface.resolution) == (7, 12)


def test_what_is_left_uncut_has_the_same_heights_and_windows() -> None:
    one = resolve(load(next(path for path in SHIPPED if path.stem == "8x10-small-printer")))
    whole, cut = design(one, uncut=True), design(one)
    assert cut.seams
    assert not whole.seams
    assert len(whole.parts) < len(cut.parts)
    assert (whole.heights, whole.windows, whole.outer) == (cut.heights, cut.windows, cut.outer)


def test_usual_film_is_the_nominal_one_of_the_ranges() -> None:
    one = job(film={"format": "8x10"})
    _, film = designed(one, ranges=False)
    assert film.sheet is not None
    spans = unknowns(one.base, one.preset, film)
    usual = [s.nominal for s in (spans.thickness_mm, spans.modulus_mpa, spans.curl_x_per_m)]
    assert usual == [one.base.thickness_mm, one.base.modulus_mpa, one.base.curl_per_m]
    assert one.base.curl_per_m != 0.5 * (one.base.curl_low_per_m + one.base.curl_high_per_m)
    spread = range_study(one.base, one.preset, film)
    assert spread is not None
    assert film.sag is not None
    assert spread.max_sag_mm.nominal == pytest.approx(film.sag.max_mm, rel=0.01)


def test_ranges_and_comparison_speak() -> None:
    one = job()
    _, film = designed(one)
    spread = range_study(one.base, one.preset, film)
    assert spread is not None
    assert spread.max_sag_mm.low <= spread.max_sag_mm.high
    rows = comparison(one.base, film)
    assert {(r[0], r[1]) for r in rows} >= {("ledge only", "down"), ("lid frame with play", "up")}
    assert "none to be expected" in ring_words(one, film)


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_every_shipped_preset_has_a_surface(path) -> None:  # type: ignore[no-untyped-def]
    film = shipped_study(path).film
    assert film.grid is not None
    assert film.grid.converged
    assert film.sag is not None
    assert film.sag.in_band_fraction >= 0.9
    assert film.sag.min_gap_mm >= film.least_gap_mm
