"""Laws that any film must obey, over random sheets and supports."""

from __future__ import annotations

from itertools import pairwise

import numpy as np
from hypothesis import HealthCheck, given, settings
from hypothesis import strategies as st

from holders.film.models import Kind, Lips, Sheet, Support, Surface
from holders.film.surface import solve_surface
from tests.tolerance import within

FEW = settings(max_examples=12, deadline=None, derandomize=True, suppress_health_check=[HealthCheck.too_slow])
SURFACE_TOL_MM = (
    2e-3  # contact is asked for at points; between them the film may reach in by up to 1 µm and a bit
)

sizes = st.floats(60.0, 260.0)
kinds = st.sampled_from([Kind.LEDGE, Kind.LID, Kind.COVER])
small_curls = st.floats(-1.5, 1.5)


@st.composite
def sheets(draw: st.DrawFn) -> Sheet:
    width = draw(st.floats(60.0, 220.0))
    return Sheet(
        width_mm=width,
        height_mm=min(260.0, width * draw(st.floats(0.7, 1.6))),
        thickness_mm=draw(st.floats(0.1, 0.25)),
        modulus_mpa=draw(st.floats(3000.0, 5500.0)),
        poisson=draw(st.floats(0.3, 0.45)),
        density_kg_m3=draw(st.floats(1200.0, 1450.0)),
        curl_x_per_m=draw(small_curls),
        curl_y_per_m=draw(st.one_of(st.just(0.0), small_curls)),
        emulsion=draw(st.sampled_from(["up", "down"])),
    )


@st.composite
def supports(draw: st.DrawFn) -> Support:
    lip = st.floats(2.0, 6.0)
    across, along = draw(lip), draw(lip)
    return Support(
        kind=draw(kinds),
        ledge_height_mm=draw(st.sampled_from([1.0, 2.0, 4.0, 20.0])),
        lips=Lips(left_mm=across, right_mm=across, head_mm=along, foot_mm=along),
        lid_play_mm=draw(st.floats(0.05, 0.5)),
    )


def quick(sheet: Sheet, support: Support) -> Surface:
    return solve_surface(sheet, support, resolution=8)


@FEW
@given(sheets(), supports())
def test_contact_holds_and_balances(sheet: Sheet, support: Support) -> None:
    """No force pulls, their sum is the weight, their moment is the weight's; nothing is pierced."""
    s = quick(sheet, support)
    assert s.converged
    assert all(f.force_n > 0 for f in s.contact_forces)
    assert within(s.total_reaction_n / s.weight_n - 1, 1e-5)
    sign = np.array([1.0 if f.by in ("ledge", "glass") else -1.0 for f in s.contact_forces])
    force = sign * np.array([f.force_n for f in s.contact_forces])
    x = np.array([f.x_mm for f in s.contact_forces])
    y = np.array([f.y_mm for f in s.contact_forces])
    scale = s.weight_n * max(sheet.width_mm, sheet.height_mm) + np.abs(force).sum()
    assert within(force @ (x - sheet.width_mm / 2), 1e-3 * scale)
    assert within(force @ (y - sheet.height_mm / 2), 1e-3 * scale)
    assert s.z.min() > -SURFACE_TOL_MM
    lips = support.lips
    strip_x = (s.x <= lips.left_mm) | (s.x >= sheet.width_mm - lips.right_mm)
    strip_y = (s.y <= lips.head_mm) | (s.y >= sheet.height_mm - lips.foot_mm)
    strip = strip_y[:, None] | strip_x[None, :]
    assert s.deflection[strip].min() > -SURFACE_TOL_MM
    if support.kind is Kind.LID:
        assert s.deflection[strip].max() < support.lid_play_mm + SURFACE_TOL_MM
    if support.kind is Kind.COVER:
        assert s.deflection.max() < support.lid_play_mm + SURFACE_TOL_MM


@FEW
@given(sheets(), st.floats(2.0, 6.0), st.floats(2.0, 6.0))
def test_mirror_symmetry(sheet: Sheet, left: float, right: float) -> None:
    """Swapping left and right mirrors the shape; a symmetric holder gives a symmetric film (or says it tipped)."""
    sheet = sheet.model_copy(update={"curl_x_per_m": 0.0, "curl_y_per_m": 0.0})
    one = Support(kind=Kind.LEDGE, lips=Lips(left_mm=left, right_mm=right, head_mm=3.0, foot_mm=3.0))
    other = Support(kind=Kind.LEDGE, lips=Lips(left_mm=right, right_mm=left, head_mm=3.0, foot_mm=3.0))
    a, b = quick(sheet, one), quick(sheet, other)
    np.testing.assert_allclose(a.z, b.z[:, ::-1], rtol=0, atol=2e-3 * max(a.max_sag_mm, 0.01))
    np.testing.assert_allclose(a.z, a.z[::-1], rtol=0, atol=2e-3 * max(a.max_sag_mm, 0.01))


@FEW
@given(sheets(), supports(), st.sampled_from([0.5, 2.0, 3.0]))
def test_scaling(sheet: Sheet, support: Support, scale: float) -> None:
    """All lengths times s, weight density by 1/s, curl by 1/s: the same shape, s times as large.

    Q = q a⁴/(E t⁴) with q = ρ g t stays as it is when ρ falls as 1/s.
    """
    lips = support.lips
    bigger = sheet.model_copy(
        update={
            "width_mm": sheet.width_mm * scale,
            "height_mm": sheet.height_mm * scale,
            "thickness_mm": sheet.thickness_mm * scale,
            "density_kg_m3": sheet.density_kg_m3 / scale,
            "curl_x_per_m": sheet.curl_x_per_m / scale,
            "curl_y_per_m": sheet.curl_y_per_m / scale,
        }
    )
    held = support.model_copy(
        update={
            "ledge_height_mm": support.ledge_height_mm * scale,
            "lid_play_mm": support.lid_play_mm * scale,
            "lips": Lips(**{k: v * scale for k, v in lips.model_dump().items()}),
        }
    )
    a, b = quick(sheet, support), quick(bigger, held)
    assert within(b.energy_nmm / a.energy_nmm / scale**3 - 1, 1e-6)
    np.testing.assert_allclose(b.z, a.z * scale, rtol=0, atol=1e-4 * scale * max(np.ptp(a.z), 0.01))


@FEW
@given(sheets(), st.sampled_from([Kind.LEDGE, Kind.GRIPPED, Kind.GRIPPED_HELD]), st.floats(1.05, 3.0))
def test_more_weight_sags_more(sheet: Sheet, kind: Kind, more: float) -> None:
    sheet = sheet.model_copy(update={"curl_x_per_m": 0.0, "curl_y_per_m": 0.0})
    support = Support(kind=kind, lips=Lips.all_round(3.0), ledge_height_mm=100.0)
    light = quick(sheet, support)
    heavy = quick(sheet.model_copy(update={"density_kg_m3": sheet.density_kg_m3 * more}), support)
    assert heavy.max_sag_mm > light.max_sag_mm
    assert heavy.mean_sag_mm > light.mean_sag_mm


@FEW
@given(sheets())
def test_more_hold_sags_less(sheet: Sheet) -> None:
    """Loose, gripped, gripped and held: each allows less sag; a lid with play lies between loose and nothing."""
    sheet = sheet.model_copy(update={"curl_x_per_m": 0.0, "curl_y_per_m": 0.0})
    sags = [
        quick(
            sheet, Support(kind=k, lips=Lips.all_round(3.0), lid_play_mm=0.05, ledge_height_mm=50.0)
        ).max_sag_mm
        for k in (Kind.LEDGE, Kind.LID, Kind.GRIPPED, Kind.GRIPPED_HELD)
    ]
    assert all(a >= b - 1e-6 for a, b in pairwise(sags))


@FEW
@given(sheets(), supports())
def test_turning_the_sheet_a_quarter_turns_the_shape(sheet: Sheet, support: Support) -> None:
    lips = support.lips
    turned = sheet.model_copy(
        update={
            "width_mm": sheet.height_mm,
            "height_mm": sheet.width_mm,
            "curl_x_per_m": sheet.curl_y_per_m,
            "curl_y_per_m": sheet.curl_x_per_m,
        }
    )
    over = support.model_copy(
        update={
            "lips": Lips(
                left_mm=lips.head_mm, right_mm=lips.foot_mm, head_mm=lips.left_mm, foot_mm=lips.right_mm
            )
        }
    )
    a, b = quick(sheet, support), quick(turned, over)
    assert within(a.energy_nmm - b.energy_nmm, 1e-4 * abs(a.energy_nmm))
