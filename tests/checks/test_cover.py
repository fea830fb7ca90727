"""The glass cover's check: every number it gives, by hand, and each way in which it warns or stops."""

from __future__ import annotations

import math
from dataclasses import replace

import pytest

from holders.checks.safety.cautions import hazards
from holders.core.findings import Finding
from holders.design.held.held_film import sheet_of, support_of
from holders.design.model import Design, Rect
from holders.design.other_films import CurledFilm
from holders.film.models import LidRest
from holders.film.ranges import STUDY_TOL
from holders.film.surface import solve_surface
from holders.fittings.cover.check import CoverRule, plate_sag_mm, ring_contrast
from holders.fittings.cover.pane import Pane, plate_weight_n
from holders.fittings.on_glass import COATED
from holders.preset.resolve import Job
from tests.checks.judged import Wrong, expect, named, one
from tests.checks.make_cover import SPRING, covered, pushing, shifted
from tests.checks.make_design import job, make
from tests.refit import refitted


def found(made: tuple[Job, Design], words: str) -> Finding:
    return one(CoverRule(), made, words)


def test_a_good_cover_passes_everything() -> None:
    findings = list(CoverRule().check(*covered()))
    assert [f.level for f in findings] == ["pass"] * 11


def test_no_cover_no_check() -> None:
    (only,) = CoverRule().check(job(), make())
    assert only.level == "skip"


def huge(size: float, thick: float) -> tuple[Job, Design]:
    wanted, made = covered()
    assert made.find(Pane) is not None
    return wanted, refitted(
        made, replace(made.find(Pane), places=(Rect(0, 0, size, size),), z1=made.find(Pane).z0 + thick)
    )


def one_edge() -> tuple[Job, Design]:
    """All catches at the foot."""
    wanted, made = covered()
    pane = made.find(Pane)
    assert pane is not None
    return wanted, refitted(made, replace(pane, pins=tuple((x, 80.0) for x, _ in pane.pins)))


CASES: tuple[Wrong, ...] = (
    ("gap each side", "warn", lambda: covered(gap=0.2), "cover.clearance_mm"),
    ("gap each side", "warn", lambda: covered(gap=1.6), "cover.clearance_mm"),
    ("gap each side", "stop", lambda: shifted(0.6), "cover.clearance_mm"),
    ("pushed to one side", "warn", lambda: covered(gap=0.8), "cover.clearance_mm"),  # 3.05 - 1.6 - 0.5 = 0.95
    ("pushed to one side", "stop", lambda: covered(gap=1.3), "cover.clearance_mm"),
    ("room between", "stop", lambda: covered(thick=2.0), "cover.gap_mm"),  # stands 0.18 proud of the wall
    ("room between", "warn", lambda: covered(thick=1.7), "cover.gap_mm"),  # 0.12 left, 0.23 asked
    ("room between", "warn", lambda: covered(thick=1.0), "cover.gap_mm"),  # 0.82 rattles
    ("little to spare", "warn", lambda: covered(sag=pushing(0.3)), "cover.thickness_mm"),
    ("cold glass cover rise 0.20 mm", "warn", lambda: covered(sag=pushing(0.5, 0.2)), "cover.thickness_mm"),
    ("own sag", "warn", lambda: huge(500.0, 2.0), "cover.thickness_mm"),
    ("own sag", "stop", lambda: huge(1500.0, 2.0), "cover.thickness_mm"),
    ("rings", "warn", lambda: covered(face="plain"), "cover.face"),
    ("rings", "warn", lambda: covered(face="coated"), "cover.face"),
    ("opposite edges", "warn", one_edge, "cover.catches"),
    ("far wall", "warn", lambda: covered(reach=1.2), "cover.clearance_mm"),
    ("far wall", "warn", lambda: covered(reach=1.4), "cover.clearance_mm"),  # 1.4 - 0.5 - 0.5 = 0.4
    ("far wall", "stop", lambda: covered(reach=0.7), "cover.clearance_mm"),
    ("below the pins", "warn", lambda: covered(floor=1.2), "cover.catches"),  # 0.7 above the underside at 0.5
    ("below the pins", "stop", lambda: covered(floor=0.5), "cover.catches"),
    ("pins in", "warn", lambda: covered(floor=3.2), "cover.catches"),  # 1.9 mm of 2.0
    ("pushed back to their stop", "warn", lambda: covered(spring=replace(SPRING, length=15.0)), "cover.catches"),
    ("pushed back to their stop", "stop", lambda: covered(spring=replace(SPRING, length=8.0)), "cover.catches"),
    ("twice the plate", "warn", lambda: covered(spring=replace(SPRING, thick=2.0)), "cover.catch_thickness_mm"),
    ("twice the plate", "stop", lambda: covered(spring=replace(SPRING, thick=1.6)), "cover.catch_thickness_mm"),
)  # fmt: skip


@pytest.mark.parametrize("case", CASES, ids=named)
def test_it_finds_what_is_wrong(case: Wrong) -> None:
    expect(CoverRule(), case)


def test_without_catches_the_wall_may_be_any_height() -> None:
    wanted, made = covered()
    assert made.find(Pane) is not None
    bare = refitted(made, replace(made.find(Pane), pins=(), catches=0, spring=None, reach=0.0))
    assert found((wanted, bare), "wall above").level == "pass"
    assert not [
        f
        for f in CoverRule().check(wanted, bare)
        if ("catch" in f.subject or "pin" in f.subject) and f.subject != "wall above the plate"
    ]


def pane(width: float, height: float, thick: float) -> Pane:
    return Pane((Rect(0, 0, width, height),), 3.0, 3.0 + thick, "etched", 0.5, 0.0)


def test_weight_is_volume_times_density() -> None:
    """A plate of 200 x 250 x 2 mm has 100 cm³: 250 g at 2.5 g/cm³, and weighs 2.4517 N."""
    assert plate_weight_n(pane(200, 250, 2)) == pytest.approx(0.250 * 9.80665, rel=1e-9)


def test_own_sag_is_that_of_the_handbook() -> None:
    """A square plate on its edges, 0.00406 q a⁴/D: Timoshenko and Woinowsky-Krieger, Table 8 (read second-hand)."""
    stiffness = 70000 * 2.0**3 / (12 * (1 - 0.2**2))  # glass by EN 572-1 (read)
    q = 2500e-9 * 9.80665 * 2.0
    assert plate_sag_mm(pane(300, 300, 2)) == pytest.approx(0.00406 * q * 300**4 / stiffness, rel=2e-3)


def test_plain_glass_rings_by_fresnel() -> None:
    """Two faces of n = 1.6 and 1.52 reflect 5.33 % and 4.26 %: the fringes' contrast is twice the root, 9.5 %."""
    seen, limit = ring_contrast(*_asked("plain"))
    r1, r2 = (0.6 / 2.6) ** 2, (0.52 / 2.52) ** 2
    assert seen == pytest.approx(2 * math.sqrt(r1 * r2) / (1 + r1 * r2), rel=1e-9)
    assert seen > limit > 0
    assert ring_contrast(*_asked("coated"))[0] == pytest.approx(2 * math.sqrt(r1 * COATED), rel=1e-3)
    assert ring_contrast(*_asked("etched"))[0] == 0.0


def _asked(face: str) -> tuple[Job, Pane]:
    wanted, made = covered(face=face)
    assert made.find(Pane) is not None
    return wanted, made.find(Pane)


def test_an_etched_face_says_what_its_number_rests_on() -> None:
    etched, plain = (found(covered(face=face), "rings").where for face in ("etched", "plain"))
    assert "common practice, no source; its texture may show as grain" in etched
    assert "grain" not in plain


def test_the_curls_that_lift_the_plate_are_told() -> None:
    """Film pushes in proportion to its curl, nearly: between flat film and strong curl lies the plate's weight."""
    wanted, made = covered()
    base = wanted.base.model_copy(update={"curl_low_per_m": 0.0, "curl_high_per_m": 30.0})
    assert made.sag is not None

    def rest_at(curl: float) -> LidRest:
        sheet = sheet_of(wanted, made.windows[0]).model_copy(update={"curl_x_per_m": curl})
        rest = solve_surface(sheet, support_of(wanted, made), tol=STUDY_TOL, resolution=8, opens=False).lid
        assert rest is not None
        return rest

    films = tuple(CurledFilm(curl, 0.0, 0.0, (), rest_at(curl)) for curl in (0.0, 1.0, 1.5, 2.5, 4.0, 30.0))
    made = replace(made, sag=replace(made.sag, curled=films))
    finding = found((replace(wanted, base=base), made), "needs 0.10 N (10 g) to lie flat")
    assert finding.level == "pass"  # the usual curl judges
    assert finding.title.endswith("the glass weighs 0.40 N (41 g)")
    flat, strong = finding.where.split("over the range of its base: ")[1].split("; at ")
    assert flat.startswith("at 0 per m (flat) it needs")
    assert "rise" not in flat
    assert "cold glass cover rise" in strong
    limit = float(strong.split("lets go at ")[1].split(" per m")[0])
    assert 0 < limit < 30
    assert made.find(Pane) is not None
    # straight between the curls that were solved, as far apart as a study has them
    assert rest_at(limit - 0.15).needed_n < plate_weight_n(made.find(Pane)) < rest_at(limit + 0.15).needed_n


def test_glass_brings_its_caution() -> None:
    assert "cover" in {h.key for h in hazards(*covered())}
    assert "cover" not in {h.key for h in hazards(job(), make())}
