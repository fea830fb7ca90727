"""Thick and glassless slide mounts: where the film lies in one, what that does to the ledge, how well it is known."""

from __future__ import annotations

import math
from typing import Any

import pytest

from holders.checks.focus.sharp import measuring
from holders.checks.frame.fit import LidRoom
from holders.design.height.heights import optics_mm
from holders.design.resolve import design
from holders.output.sheet import loading
from holders.output.sheet.numbers import _heights
from holders.preset.resolve import Job
from holders.workshop.budget.contributors import contributors, plane_sigma_mm
from holders.workshop.budget.tolerance import Cause, stack_up
from tests.presets_made import job


def slides(base: dict[str, Any] | None = None, **film: Any) -> Job:
    return job(
        route="laser", film={"format": "mount-50", **film}, base=base or {},
        bed={"name": "a4-wide", "focus_height_mm": 3.1, "focus_sigma_mm": 0.05},
        material={"name": "mdf", "sheets_mm": [1.0, 1.5, 2.0, 2.5]}, lip={"all_mm": 3.0},
    )  # fmt: skip


def test_the_ledge_is_lower_by_the_films_height_in_its_mount() -> None:
    """Focus 3.1 mm: film 0.6 mm above the underside of a glassless mount wants a ledge of 2.5, at 1.6 one of 1.5."""
    for offset, ledge in ((0.6, 2.5), (1.1, 2.0), (1.6, 1.5), (2.1, 1.0)):
        preset = slides(thickness_mm=3.0, plane_offset_mm=offset)
        made = design(preset)
        assert preset.bed.focus_height_mm == pytest.approx(3.1)
        assert made.heights.ledge_above_glass == pytest.approx(ledge)
        assert made.heights.sharp_plane == pytest.approx(ledge + offset)


def test_a_thickness_alone_means_midway() -> None:
    """Half of a 3.2 mm mount, not half of the row's 2 mm; a height that was measured stands as it is."""
    assert optics_mm(slides()) == pytest.approx(1.0)
    assert optics_mm(slides(thickness_mm=3.2)) == pytest.approx(1.6)
    assert optics_mm(slides(thickness_mm=3.2, plane_offset_mm=0.4)) == pytest.approx(0.4)
    assert optics_mm(job(film={"format": "4x5", "thickness_mm": 0.3})) == 0.0


def test_emulsion_up_is_seen_through_the_base_as_well() -> None:
    """Paraxial: t/n of the base more than the height in the mount."""
    up = slides(emulsion="up", plane_offset_mm=0.7)
    rise = up.base.thickness_mm / up.base.refractive_index
    assert optics_mm(up) == pytest.approx(0.7 + rise)


@pytest.mark.parametrize(
    ("film", "limit"),
    [({}, 0.5), ({"thickness_mm": 3.2}, 0.8), ({"thickness_mm": 3.2, "plane_offset_mm": 1.0}, 0.1)],
)
def test_what_nobody_measured_is_in_the_doubt(film: dict[str, float], limit: float) -> None:
    """A quarter of the mount either way, evenly, or a tenth of a millimetre: added to the rest as variances are."""
    preset = slides(**film)
    made = design(preset)
    parts = contributors(preset, made)
    (mine,) = [part for part in parts if part.cause is Cause.MOUNT]
    assert (mine.limit_mm, mine.shift_mm, mine.over_picture) == (pytest.approx(limit), 0.0, False)
    rest = math.hypot(*(part.sigma_mm for part in parts if part is not mine and not part.over_picture))
    assert plane_sigma_mm(preset, made) == pytest.approx(math.hypot(rest, limit / math.sqrt(3)), rel=1e-9)
    assert not [part for part in contributors(job(), design(job())) if part.cause is Cause.MOUNT]


def test_the_largest_doubt_names_the_measurement_that_takes_it_away() -> None:
    preset = slides()
    made = design(preset)
    found = stack_up(contributors(preset, made), -0.6, 0.6, 2000, 1)
    assert found.largest == "film in its mount"
    assert "film.plane_offset_mm" in measuring(preset.bed, preset.preset, found)


def test_mounts_that_stand_out_count_under_the_lamps_lid() -> None:
    """A ledge of 1.5 mm and a mount of 3 mm: 4.5 mm, more than the holder's own height."""
    preset = slides(thickness_mm=3.0, plane_offset_mm=1.6)
    made = design(preset)
    (found,) = LidRoom().check(preset, made)
    assert found.measured == pytest.approx(4.5)
    assert made.total_height < 4.5
    assert "stand out" in found.where


def test_the_sheet_says_which_face_lies_down() -> None:
    preset = slides(thickness_mm=3.0, plane_offset_mm=0.6)
    made = design(preset)
    told = str(loading.section(preset, made))
    assert "that face down above which its film lies 0.6 mm" in told
    assert "Turned over, the film lies 1.8 mm higher" in told  # 2.4 mm from the other face
    assert "Turned over" not in str(loading.section(slides(), design(slides())))
    row = next(row for row in _heights(preset, made).rows if row[0] == "film above the mount's lower face")
    assert row[1:] == ("0.6 ± 0.1 mm", "of a mount 3 mm thick; 2.4 mm of it above the film")
    assert "mount" not in str(loading.section(job(), design(job())))
