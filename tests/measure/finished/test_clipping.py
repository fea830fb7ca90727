"""What of a scan is clipped: counted against brute force, inside the turned picture alone, and said in words."""

from __future__ import annotations

from contextlib import closing
from pathlib import Path

import numpy as np
import pytest
import tifffile

from holders.measure.finished.expected import Box, Expected
from holders.measure.finished.look import InspectResult, inspect_scan
from holders.measure.finished.reduce import reduce_scan
from holders.measure.scan.opened import open_scan
from holders.output.words import inspected
from tests.measure.finished.scans import textured_film, window_scan, write

DPI = 150.0
PX = 25.4 / DPI
WIDE, HIGH, BORDER_MM = 300, 340, 3.0
DESIGN = Expected(
    window_mm=(WIDE * PX, HIGH * PX),
    picture=Box(-1.0, -1.0, WIDE * PX + 2.0, HIGH * PX + 1.0 - BORDER_MM),
    rebate_edge="foot",
    rebate_mm=BORDER_MM,
)
SPOT = (slice(100, 140), slice(100, 160))  # well inside the picture
SPOT_SHARE = 40 * 60 / ((WIDE - 7) * (HIGH - 3.5 - (BORDER_MM + 1.0) / PX))  # soft rims and border left out


@pytest.fixture(scope="module")
def bare() -> np.ndarray:
    """Light of a turned window in a holder that comes out as black as zero, its clear border at the foot."""
    film = textured_film(np.random.default_rng(3), (430, 400))
    film[round(40 + HIGH - BORDER_MM / PX) :] = 0.6
    light = window_scan((430, 400), (50, 40), (WIDE, HIGH), 0.3, film, dark=0.0)
    return np.repeat(np.minimum(light, 0.9)[:, :, None], 3, axis=2)


def looked_at(path: Path, light: np.ndarray, design: Expected | None = DESIGN) -> InspectResult:
    return inspect_scan(write(path / "a.tif", light, DPI), design=design, rings=False)


def test_a_well_exposed_scan_is_not_clipped_however_black_its_holder(
    tmp_path: Path, bare: np.ndarray
) -> None:
    found = looked_at(tmp_path, bare)
    assert found.clipping.low == found.clipping.high == (0.0, 0.0, 0.0)
    assert found.clipping.area == "picture"
    assert found.clipping.border == (0.0, 0.0, 0.0)
    rows = dict(inspected.rows(found))
    assert rows["clipped"].startswith(
        "red 0.0 % and 0.0 %, green 0.0 % and 0.0 %, blue 0.0 % and 0.0 % of the picture"
    )
    assert rows["clear border"].endswith("mm, below full scale in red, green and blue")
    assert not any("clipped" in words for words in (*inspected.doubts(found), inspected.headline(found)))


@pytest.mark.parametrize(
    ("channel", "value", "name", "at"), [(0, 1.0, "red", "full scale"), (2, 0.0, "blue", "zero")]
)
def test_a_clipped_channel_is_named_with_its_share(
    tmp_path: Path, bare: np.ndarray, channel: int, value: float, name: str, at: str
) -> None:
    light = bare.copy()
    light[(*SPOT, channel)] = value
    found = looked_at(tmp_path, light)
    shares = found.clipping.high if value else found.clipping.low
    assert shares[channel] == pytest.approx(SPOT_SHARE, rel=0.03)
    assert sum(shares) + sum(found.clipping.low if value else found.clipping.high) == shares[channel]
    (doubt,) = inspected.doubts(found)
    assert doubt.startswith(f"the picture is clipped at {at} in {name}: no detail is left there")
    assert inspected.headline(found).endswith(f"clipped in {name}")
    answer = found.to_answer()["clipping"]
    assert isinstance(answer, dict)
    assert answer["high" if value else "low"][channel] == pytest.approx(SPOT_SHARE, rel=0.03)


def test_a_clear_border_at_full_scale_in_one_channel_is_said(tmp_path: Path, bare: np.ndarray) -> None:
    light = bare.copy()
    light[round(40 + HIGH - BORDER_MM / PX) : 40 + HIGH, 50 : 50 + WIDE, 0] = 1.0
    found = looked_at(tmp_path, light)
    assert found.clipping.high == (0.0, 0.0, 0.0)  # the border is no part of the picture
    assert found.clipping.border is not None
    assert found.clipping.border[0] > 0.9
    assert found.clipping.border[1:] == (0.0, 0.0)
    assert inspected.doubts(found) == (
        "the clear border is clipped in red: lower the exposure; colour inversion needs it",
    )
    assert dict(inspected.rows(found))["clear border"].endswith("mm, clipped in red")
    assert inspected.headline(found).endswith("clear border clipped in red")


def test_a_border_that_the_film_does_not_show_is_said(tmp_path: Path) -> None:
    film = textured_film(np.random.default_rng(4), (430, 400), rms=0.15)
    light = window_scan((430, 400), (50, 40), (WIDE, HIGH), 0.0, film, dark=0.0)
    found = looked_at(tmp_path, light)
    assert found.clipping.border is None
    assert dict(inspected.rows(found))["clear border"] == "not seen"
    assert "3 mm that this holder leaves is not seen" in inspected.doubts(found)[-1]


def test_a_holder_without_clear_border_says_what_its_scans_cannot_show(
    tmp_path: Path, bare: np.ndarray
) -> None:
    found = looked_at(tmp_path, bare, Expected(window_mm=DESIGN.window_mm))
    said = "this holder leaves none, so a scan cannot show whether it is mirrored or turned"
    assert dict(inspected.rows(found))["clear border"] == said
    assert found.to_answer()["mirrored_shows"] is False
    unknown = looked_at(tmp_path, bare, None)
    assert "clear border" not in dict(inspected.rows(unknown))
    assert unknown.clipping.area == "lit area"


def test_a_scan_without_edges_is_counted_whole_and_its_black_is_no_fault(tmp_path: Path) -> None:
    light = np.full((300, 300, 3), 0.4)
    light[:60] = 0.0
    light[200:, :, 1] = 1.0
    found = looked_at(tmp_path, light, None)
    assert found.clipping.area == "scan"
    assert found.clipping.low == pytest.approx((0.2,) * 3)
    assert found.clipping.under == ()
    assert found.clipping.over == (("green", pytest.approx(1 / 3)),)


@pytest.mark.parametrize("white_is_zero", [False, True])
def test_every_pixel_counts_as_brute_force_counts_it(tmp_path: Path, white_is_zero: bool) -> None:
    rng = np.random.default_rng(6)
    pixels = rng.choice(np.array([0, 1, 900, 65534, 65535], np.uint16), (70, 4100))
    tifffile.imwrite(
        tmp_path / "a.tif", pixels, photometric="miniswhite" if white_is_zero else "minisblack",
        resolution=(DPI, DPI), resolutionunit="INCH", rowsperstrip=7,
    )  # fmt: skip
    with closing(open_scan(tmp_path / "a.tif")) as scan:
        reduced = reduce_scan(scan)
    step = reduced.step
    assert step == 3
    used = pixels[: 70 // step * step, : 4100 // step * step]
    blocks = used.reshape(70 // step, step, 4100 // step, step)
    ends = [65535, 0] if white_is_zero else [0, 65535]
    for number, end in enumerate(ends):
        assert np.array_equal(reduced.ends[number][:, :, 0], (blocks == end).sum(axis=(1, 3)))
