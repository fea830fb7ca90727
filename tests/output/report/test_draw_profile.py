"""The focus profile as it is read: its size, where its axes stand, what is written beside each line."""

from __future__ import annotations

import re
import xml.etree.ElementTree as ET
from types import SimpleNamespace
from typing import Any

import pytest

from holders.output.draw.focus import profile_narrow, profile_sheet

NS = "{http://www.w3.org/2000/svg}"


def found(**more: Any) -> Any:
    """Sharpest at 3.00 of heights from 2 to 4 mm."""
    heights = [2.0 + 0.1 * k for k in range(21)]
    row: dict[str, Any] = {
        "height": 3.0,
        "height_sigma": 0.04,
        "band": (2.7, 3.3),
        "profile": SimpleNamespace(height=heights, sharpness=[1 - (z - 3) ** 2 for z in heights]),
        "channels": (),
    }
    return SimpleNamespace(**(row | more))


def lines(data: bytes) -> list[tuple[float, float, float, float]]:
    """Straight lines of the picture as x0, y0, x1, y1, mm."""
    straight = re.compile(r"M(\S+) (\S+)L(\S+) (\S+)")
    paths = [straight.fullmatch(e.get("d", "")) for e in ET.fromstring(data).iter(f"{NS}path")]
    return [tuple(float(n) for n in one.groups()) for one in paths if one]  # type: ignore[misc]


def texts(data: bytes) -> dict[str, tuple[float, float]]:
    at = {}
    for e in ET.fromstring(data).iter(f"{NS}text"):
        turned = re.search(r"translate\(([\d.]+)[ ,]([\d.]+)\)", e.get("transform", ""))
        place = turned.groups() if turned else (e.get("x", "0"), e.get("y", "0"))
        at[e.text or ""] = (float(place[0]), float(place[1]))
    return at


def test_the_sheet_is_200_by_130_with_its_axes_inside_the_margins() -> None:
    data = profile_sheet(found())
    view = [float(n) for n in ET.fromstring(data).get("viewBox", "").split()]
    assert view == [0.0, 0.0, 200.0, 130.0]
    lower, left = (
        (22.0, 106.0, 188.0, 106.0),
        26.0 + 80.0 * 0.05 / 1.05,
    )  # heights from margin to margin; a twentieth free
    assert lower in lines(data)
    assert any(line == pytest.approx((22.0, 106.0, 22.0, left), abs=2e-3) for line in lines(data))
    said = texts(data)
    assert said["Sharpest 3.00 ± 0.04 mm above the glass"] == (8.0, 10.0)
    assert said["height above the glass, mm"] == (105.0, 117.0)
    # 2 to 4 mm in at most twelve steps: every 0.2 mm, 83 mm of paper each
    for words, z in (("2", 2.0), ("2.2", 2.2), ("3", 3.0), ("4", 4.0)):
        assert said[words] == pytest.approx((22.0 + 83.0 * (z - 2.0), 111.0), abs=2e-3)
    assert "2.1" not in said
    # half of the detail half way up
    assert said["50 %"][1] - said["100 %"][1] == pytest.approx(80.0 / 1.05 / 2, abs=2e-3)
    assert said["50 %"][0] == pytest.approx(22.0 - 2.5)


def test_the_narrow_one_is_as_wide_as_a_phone() -> None:
    data = profile_narrow(found())
    assert [float(n) for n in ET.fromstring(data).get("viewBox", "").split()] == [0.0, 0.0, 72.0, 62.0]
    assert (13.5, 49.0, 69.0, 49.0) in lines(data)
    assert any(line[3] == pytest.approx(7.0 + 42.0 * 0.05 / 1.05, abs=2e-3) for line in lines(data))
    ticks = sorted(float(words) for words in texts(data) if re.fullmatch(r"[\d.]+", words))
    assert ticks == [2.0, 2.5, 2.7, 3.0, 3.3, 3.5, 4.0]  # every 0.5 mm, and the band's two ends


def test_the_band_is_lined_and_told_at_its_ends() -> None:
    data = profile_sheet(found())
    top = 26.0 + 80.0 * 0.05 / 1.05
    for z in (2.7, 3.3):
        x = 22.0 + 83.0 * (z - 2.0)
        assert any(line == pytest.approx((x, 106.0, x, top), abs=2e-3) for line in lines(data))
        assert texts(data)[f"{z:g}"] == pytest.approx((x, top - 1.5), abs=2e-3)
    beyond = profile_sheet(found(band=(1.0, 5.0)))  # on both sides beyond what was seen: told where that ends
    assert beyond.count(b">2</text>") == beyond.count(b">4</text>") == 2
    outside = profile_sheet(found(band=(4.5, 5.0)))
    assert "4.5" not in texts(outside)


def test_the_sharpest_height_stands_within_what_was_seen() -> None:
    for height, x in ((3.0, 105.0), (9.0, 188.0), (0.0, 22.0)):
        upright = [line for line in lines(profile_sheet(found(height=height))) if line[0] == line[2]]
        assert any(line[0] == pytest.approx(x, abs=2e-3) and line[1] == 106.0 for line in upright)
    assert "Sharpest 3.00 ± 0.01 mm above the glass" in texts(profile_sheet(found(height_sigma=0.001)))


def test_colours_are_named_where_more_than_one_was_measured() -> None:
    red, blue, far = (
        SimpleNamespace(name=n, height=z) for n, z in (("red", 2.9), ("blue", 3.1), ("far", 9.0))
    )
    assert "red" not in texts(profile_sheet(found(channels=(red,))))
    said = texts(profile_sheet(found(channels=(red, blue, far))))
    top = 26.0 + 80.0 * 0.05 / 1.05
    assert said["red"] == pytest.approx((22.0 + 83.0 * 0.9, top - 2.0), abs=2e-3)
    assert said["blue"] == pytest.approx((22.0 + 83.0 * 1.1, top - 5.0), abs=2e-3)
    assert "far" not in said


def test_a_flat_profile_has_a_scale_that_ends_at_one() -> None:
    low = found(profile=SimpleNamespace(height=[2.0, 3.0], sharpness=[0.1, 0.2]), band=(9.0, 9.1))
    said = texts(profile_sheet(low))
    assert said["50 %"][1] - said["100 %"][1] == pytest.approx(80.0 / 1.05 / 2, abs=2e-3)
