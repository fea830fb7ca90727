"""Ranges in, ranges out; the four-way comparison; bad input."""

from __future__ import annotations

import numpy as np
import pytest

from holders.core.errors import InputError, NotConverged
from holders.film import ranges
from holders.film.band import Band, Picture, best_ledge_height
from holders.film.compare import branch_note, compare
from holders.film.hold import Hold
from holders.film.models import Kind, Lips, Membrane, Sheet, Support
from holders.film.ranges import Span, Study, Unknowns, halton, study
from holders.film.surface import solve_surface

SHEET = Sheet(
    width_mm=203, height_mm=254, thickness_mm=0.19, modulus_mpa=4500, poisson=0.38, density_kg_m3=1390
)
SUPPORT = Support(kind=Kind.LEDGE, lips=Lips.all_round(4.0), ledge_height_mm=3.0, lid_play_mm=0.2)
PICTURE, BAND = Picture(8.0, 8.0, 187.0, 238.0), Band(2.5, 3.5)
UNKNOWN = Unknowns(
    thickness_mm=Span(0.175, 0.205),
    modulus_mpa=Span(4000.0, 5000.0),
    curl_x_per_m=Span(-0.5, 1.0),
    curl_y_per_m=Span(0.0, 0.0),
    humidity_rh=Span(30.0, 60.0),
    curl_per_rh=-0.02,
)


def run(unknowns: Unknowns, **more: object) -> Study:
    return study(SHEET, SUPPORT, unknowns, PICTURE, BAND, refractive_index=1.64, min_gap_mm=0.3, **more)


@pytest.fixture(scope="module")
def full() -> Study:
    return run(UNKNOWN)


def test_spreads_hold_the_nominal_case(full: Study) -> None:
    for name in (
        "max_sag_mm",
        "max_rise_mm",
        "in_band_fraction",
        "min_gap_mm",
        "best_ledge_height_mm",
    ):
        spread = getattr(full, name)
        assert spread.low <= spread.median <= spread.high
        assert spread.low <= spread.nominal <= spread.high
    assert full.max_sag_mm.high > 1.3 * full.max_sag_mm.low
    assert full.unsolved == 0
    assert full.cases == 1 + ranges.SAMPLES + 4


def test_worst_case_is_the_least_share(full: Study) -> None:
    assert full.worst.in_band_fraction == full.in_band_fraction.low
    assert "thickness" in full.worst.described
    assert "humidity" in full.worst.described
    again = solve_surface(
        full.worst.sheet,
        SUPPORT.model_copy(update={"ledge_height_mm": full.ledge_height_mm}),
        resolution=ranges.STUDY_RESOLUTION,
        tol=ranges.STUDY_TOL,
    )
    assert again.max_sag_mm == pytest.approx(full.worst.max_sag_mm, rel=1e-9)


def test_same_seed_same_study(full: Study) -> None:
    assert run(UNKNOWN) == full
    assert run(UNKNOWN, seed=2).max_sag_mm != full.max_sag_mm


def test_nothing_unknown_gives_one_number() -> None:
    exact = Unknowns(Span(0.19, 0.19), Span(4500.0, 4500.0), Span(0.0, 0.0), Span(0.0, 0.0))
    result = run(exact, samples=2)
    assert result.max_sag_mm.low == pytest.approx(result.max_sag_mm.high, rel=1e-9)
    assert result.worst.described == "the nominal case (no range given)"
    best = best_ledge_height(
        SHEET,
        SUPPORT,
        PICTURE,
        BAND,
        refractive_index=1.64,
        min_gap_mm=0.3,
        resolution=ranges.STUDY_RESOLUTION,
        tol=ranges.STUDY_TOL,
    )
    assert result.ledge_height_mm == pytest.approx(best.ledge_height_mm, abs=1e-6)


def test_thin_and_soft_sags_most() -> None:
    stiff = Unknowns(Span(0.17, 0.21), Span(4000.0, 5000.0), Span(0.0, 0.0), Span(0.0, 0.0))
    result = run(stiff)
    corner = solve_surface(
        SHEET.model_copy(update={"thickness_mm": 0.17, "modulus_mpa": 4000.0}),
        SUPPORT,
        resolution=ranges.STUDY_RESOLUTION,
    )
    assert result.max_sag_mm.high == pytest.approx(corner.max_sag_mm, rel=1e-4)


def test_humidity_moves_curl() -> None:
    """Dry film curls more toward the emulsion; a direction that never curls is left alone."""
    dry = UNKNOWN.sheet(SHEET, np.array([0.19, 4500.0, 0.5, 0.0, 30.0]))
    damp = UNKNOWN.sheet(SHEET, np.array([0.19, 4500.0, 0.5, 0.0, 70.0]))
    assert dry.curl_x_per_m == pytest.approx(0.5 + 0.02 * 20)
    assert damp.curl_x_per_m == pytest.approx(0.5 - 0.02 * 20)
    assert dry.curl_y_per_m == damp.curl_y_per_m == 0.0


def test_halton_is_even() -> None:
    points = halton(64, 5, 3)
    assert points.shape == (64, 5)
    assert points.min() >= 0
    assert points.max() < 1
    np.testing.assert_allclose(points.mean(axis=0), 0.5, atol=0.05)
    counts = [np.histogram(points[:, d], bins=8, range=(0, 1))[0] for d in range(2)]
    assert min(c.min() for c in counts) >= 6  # of 8 expected


def test_failing_cases_are_counted_and_too_many_refused(monkeypatch: pytest.MonkeyPatch) -> None:
    real, calls = ranges.solve_surface, {"n": 0}

    def sometimes(sheet: Sheet, support: Support, **more: object) -> object:
        calls["n"] += 1
        if calls["n"] % period == 0:
            raise NotConverged("made to fail")
        return real(sheet, support, **more)

    monkeypatch.setattr(ranges, "solve_surface", sometimes)
    period = 6
    flat = Unknowns(Span(0.18, 0.2), Span(4400.0, 4600.0), Span(0.0, 0.0), Span(0.0, 0.0))
    assert run(flat, samples=10).unsolved == 2
    period, calls["n"] = 2, 0
    with pytest.raises(NotConverged, match="range study"):
        run(flat, samples=10)


def test_comparison_has_every_way_to_lay_it_in() -> None:
    curled = SHEET.model_copy(update={"curl_x_per_m": 0.8})
    rows = compare(curled, SUPPORT, PICTURE, BAND, refractive_index=1.64, min_gap_mm=0.3)
    assert [(r.kind, r.emulsion) for r in rows] == [
        (k, e) for k in (Kind.LEDGE, Kind.LID, Kind.GRIPPED, Kind.GRIPPED_HELD) for e in ("down", "up")
    ]
    by = {(r.kind, r.emulsion): r for r in rows}
    # curl toward the emulsion lifts the middle with the emulsion down and adds to the sag with it up
    assert by[Kind.LEDGE, "down"].max_sag_mm < by[Kind.LEDGE, "up"].max_sag_mm
    assert by[Kind.GRIPPED_HELD, "down"].max_sag_mm < by[Kind.LEDGE, "down"].max_sag_mm
    # emulsion up, image a base above the underside: the same flat film wants a lower ledge by t/n
    drop = by[Kind.GRIPPED, "down"].best_ledge_height_mm - by[Kind.GRIPPED, "up"].best_ledge_height_mm
    assert drop == pytest.approx(0.19 / 1.64, abs=1e-3)
    assert all(r.note for r in rows)


def test_comparison_says_why_a_row_is_empty() -> None:
    rows = compare(
        SHEET,
        SUPPORT.model_copy(update={"lips": Lips(left_mm=100.0, right_mm=100.0)}),
        PICTURE,
        BAND,
        refractive_index=1.64,
        min_gap_mm=0.3,
        kinds=(Kind.LEDGE,),
    )
    assert rows[0].max_sag_mm is None
    assert "open" in rows[0].note


def test_branch_note() -> None:
    assert branch_note("trough", [], True) == "sags in the middle"
    assert "mirror image" in branch_note("trough", [], True, True)
    text = branch_note("arch", ["trough", "trough"], False)
    assert "trough" in text
    assert "2 other" in text
    assert "rough" in text


@pytest.mark.parametrize(
    ("change", "field"),
    [
        ({"width_mm": 0.0}, "width_mm"),
        ({"thickness_mm": float("nan")}, "thickness_mm"),
        ({"poisson": 0.5}, "poisson"),
        ({"curl_x_per_m": float("inf")}, "curl_x_per_m"),
        ({"emulsion": "sideways"}, "emulsion"),
        ({"colour": "blue"}, "colour"),
    ],
)
def test_bad_sheets_are_told(change: dict[str, object], field: str) -> None:
    with pytest.raises(InputError) as told:
        Sheet(**(SHEET.model_dump() | change))
    assert told.value.field == field


def test_bad_supports_and_settings_are_told() -> None:
    with pytest.raises(InputError, match="lips"):
        solve_surface(SHEET, Support(kind=Kind.GRIPPED))
    with pytest.raises(InputError, match="lips"):
        solve_surface(SHEET, Support(kind=Kind.LEDGE, lips=Lips.all_round(90.0)))
    with pytest.raises(InputError, match="resolution"):
        solve_surface(SHEET, SUPPORT, resolution=3)
    with pytest.raises(InputError, match="tol"):
        solve_surface(SHEET, SUPPORT, tol=0.5)
    with pytest.raises(InputError):
        Span(2.0, 1.0)
    with pytest.raises(InputError, match="usual"):
        Span(1.0, 2.0, 2.5)


def test_nominal_is_the_usual_value_or_half_way() -> None:
    assert Span(1.0, 3.0).nominal == 2.0
    assert Span(1.0, 3.0, 1.2).nominal == 1.2
    skew = Unknowns(Span(0.17, 0.21, 0.18), Span(4000.0, 5000.0, 4200.0), Span(0.0, 0.0), Span(0.0, 0.0))
    usual = solve_surface(
        SHEET.model_copy(update={"thickness_mm": 0.18, "modulus_mpa": 4200.0}),
        SUPPORT,
        resolution=ranges.STUDY_RESOLUTION,
    )
    assert run(skew, samples=2).max_sag_mm.nominal == pytest.approx(usual.max_sag_mm, rel=1e-5)


def test_a_study_runs_out_of_work_openly(monkeypatch: pytest.MonkeyPatch) -> None:
    monkeypatch.setattr(ranges, "STUDY_EFFORT", 0.02)
    with pytest.raises(NotConverged, match="range study"):
        run(UNKNOWN, ledge_height_mm=3.0)


def test_solver_refuses_rather_than_returns(monkeypatch: pytest.MonkeyPatch) -> None:
    """Too few steps: an error, never a shape."""
    from holders.film.solver import equilibrium as settle
    from holders.film.solver import interior

    def short(*args, **more):  # type: ignore[no-untyped-def]
        return interior.minimise(*args, **more, max_iterations=3)

    monkeypatch.setattr(settle, "minimise", short)
    with pytest.raises(NotConverged, match="residual"):
        solve_surface(SHEET, SUPPORT)


def test_a_lid_may_reach_less_far_than_the_ledge() -> None:
    """A narrow lid holds a curled border down less than a wide one; both keep it under the play where they reach."""
    curled = SHEET.model_copy(update={"curl_x_per_m": 1.0, "emulsion": "up"})
    wide = solve_surface(curled, SUPPORT.model_copy(update={"kind": Kind.LID, "lid_play_mm": 0.05}))
    narrow = solve_surface(
        curled,
        SUPPORT.model_copy(
            update={"kind": Kind.LID, "lid_play_mm": 0.05, "lid_lips": Lips(left_mm=2.0, right_mm=2.0)}
        ),
    )
    loose = solve_surface(curled, SUPPORT)
    assert wide.max_rise_mm < 0.055
    assert wide.max_rise_mm < narrow.max_rise_mm < loose.max_rise_mm
    at_edge = narrow.deflection[:, [0, -1]]
    assert at_edge.max() < 0.05 + 2e-3
    assert wide.pressed_down_n > 0
    assert loose.pressed_down_n == 0


@pytest.mark.parametrize("membrane", list(Membrane))
def test_tighter_tolerance_is_met(membrane: Membrane) -> None:
    held = Support(kind=Kind.SIMPLY_SUPPORTED, membrane=membrane)
    assert solve_surface(SHEET, held, tol=1e-10).residual < 1e-10


def test_the_worst_film_is_told_in_its_units() -> None:
    spans = (Span(0.1, 0.2), Span(4000.0, 5000.0), Span(0.0, 2.0), Span(1.0, 1.0), Span(50.0, 50.0))
    told = ranges._described(np.array([0.1849, 4499.6, 1.567, 1.0, 50.0]), spans, SHEET)
    assert told == "thickness 0.185 mm, modulus 4500 MPa, curl along x 1.57 per m (8.1 mm high in the middle)"


@pytest.mark.parametrize(("kind", "share"), [(Kind.LEDGE, 1.0), (Kind.COVER, ranges.MOVABLE_EFFORT)])
def test_each_film_has_its_share_of_the_work_and_never_more_than_is_left(
    kind: Kind, share: float, monkeypatch: pytest.MonkeyPatch
) -> None:
    """What can be lifted is solved at several heights, and has that many times the work; what was used up is gone."""
    support = SUPPORT.model_copy(update={"kind": kind, "hold": Hold(weight_n=1.0)})
    given = []

    def refused(_sheet: Sheet, _support: Support, effort: ranges.Effort) -> None:
        given.append(effort.left)
        effort.left -= 0.75 * given[0]
        raise NotConverged("no shape")

    monkeypatch.setattr(ranges, "_shape", refused)
    whole = ranges._effort(support)
    assert whole.left == ranges.STUDY_EFFORT * share
    whole.left = 2 * ranges.CASE_EFFORT * share
    asked = ranges._Asked(support, PICTURE, BAND, 1.64, 0.3, whole)
    for _ in range(3):
        with pytest.raises(NotConverged):
            asked.case(SHEET)
    assert given == pytest.approx([ranges.CASE_EFFORT * share * part for part in (1.0, 1.0, 0.5)])
