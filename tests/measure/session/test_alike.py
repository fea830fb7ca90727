"""A sheet scanned twice, the wrong way round, or under stray light, by pictures of a simulator."""

from __future__ import annotations

from dataclasses import replace
from functools import cache
from pathlib import Path

import numpy as np
import pytest
import tifffile

from holders.measure.finished.expected import Expected
from holders.measure.finished.look import InspectResult, inspect_reduced, walked
from holders.measure.finished.reduce import Reduced
from holders.measure.session.alike import look_of, same_picture
from holders.measure.session.faults import compared, faults_of
from holders.measure.session.record import Sheet
from holders.measure.session.veil import veil_of
from tests.simulators import finished_scan as simulator
from tests.simulators import pictures
from tests.simulators.film_surface import FilmSurface
from tests.simulators.sensor import Sensor

WINDOW, REBATE = (56.0, 42.0), 1.5
DPI = 300


def scene(
    number: int, *, picture: int | None = None, glare: float = 0.004, **more: object
) -> simulator.FinishedScan:
    """A sound scan with a clear border on the left; ``picture`` is another sheet's."""
    random = np.random.default_rng([5, number if picture is None else picture])
    view = np.array(pictures.landscape(random), np.float32)  # each seed its own
    view[:, : round(REBATE / WINDOW[0] * view.shape[1])] = 1.0
    own = np.random.default_rng([6, number])
    return simulator.FinishedScan(
        surface=FilmSurface(*WINDOW, ledge_mm=2.5, middle_mm=0.0), dpi=DPI, skew_deg=float(own.normal(0, 0.3)),
        contrast=float(own.uniform(1.0, 1.6)), glare=glare, sensor=Sensor(noise=0.002, bits=16), seed=number, view=view,
        **more,
    )  # type: ignore[arg-type]  # fmt: skip


@cache
def seen(
    number: int, picture: int | None = None, glare: float = 0.004, mirrored: bool = False
) -> tuple[Reduced, InspectResult]:
    made = simulator.render(scene(number, picture=picture, glare=glare, mirrored=mirrored))
    path = Path(TMP[0]) / f"{number}-{picture}-{glare}-{mirrored}.tif"
    tifffile.imwrite(path, made, resolution=(DPI, DPI), resolutionunit="INCH", rowsperstrip=64)
    small = walked(path)
    expected = Expected(window_mm=WINDOW, rebate_edge="left", rebate_mm=REBATE)
    return small, inspect_reduced(small, str(path), design=expected, rings=False)


TMP: list[str] = []


@pytest.fixture(autouse=True)
def _folder(tmp_path_factory: pytest.TempPathFactory) -> None:
    if not TMP:
        TMP.append(str(tmp_path_factory.mktemp("alike")))


def look(*args: object) -> str:
    small, found = seen(*args)  # type: ignore[arg-type]
    return look_of(small, found.placement)


def test_one_picture_scanned_again_is_known_whichever_way_round() -> None:
    first = look(1)
    assert first
    assert same_picture(first, look(2, 1)) == "as it is"  # laid in again: another turn, noise, contrast
    assert same_picture(first, look(3, 1, 0.004, True)) == "mirrored"


def test_other_pictures_are_other_pictures() -> None:
    looks = [look(number) for number in range(10, 14)]
    pairs = [(a, b) for k, a in enumerate(looks) for b in looks[k + 1 :]]
    assert len(pairs) == 6
    assert [same_picture(a, b) for a, b in pairs if same_picture(a, b) is not None] == []


def test_a_mirrored_scan_shows_by_its_clear_border() -> None:
    for number in range(10, 12):
        assert seen(number)[1].placement.rebate_at is None, number
        assert "mirrored" not in {f.code for f in faults_of(seen(number)[1])}
        turned = seen(number, None, 0.004, True)[1]
        assert turned.placement.rebate_at == "right", number
        assert "mirrored" in {f.code for f in faults_of(turned)}
        assert any("mirrored or turned" in words for words in turned.placement.doubts)


def test_stray_light_is_seen_on_the_holder_beside_the_picture() -> None:
    def veil(*args: object) -> float:
        small, found = seen(*args)  # type: ignore[arg-type]
        share = veil_of(small, found.placement)
        assert share is not None
        return share

    sound = [veil(number) for number in range(10, 14)]
    bright = veil(14, None, 0.15)
    sheets = [sheet(n, veil=share) for n, share in enumerate([*sound, bright], 1)]
    assert [s.number for s in compared(sheets) if "glare" in s.faults] == [5]
    assert "stray light" in compared(sheets)[4].line
    assert [
        s for s in compared(sheets[:2] + sheets[4:]) if s.faults
    ] == []  # three sheets are no session to compare


def sheet(number: int, **more: object) -> Sheet:
    made = Sheet(
        number,
        f"{number}.tif",
        1,
        "emulsion down",
        "2026-11-29T09:00:00+00:00",
        "0" * 64,
        "nothing wrong seen",
    )
    return replace(made, **more)  # type: ignore[arg-type]


def test_the_later_of_two_alike_is_named_and_a_spoilt_look_is_none() -> None:
    one, other = look(1), look(2, 1)
    found = compared([sheet(7, look=other), sheet(3, look=one), sheet(4, look=look(10))])
    assert [(s.number, s.faults) for s in found] == [(3, ()), (4, ()), (7, ("twin",))]
    assert "sheet 03" in found[2].line
    assert "second exposure" in found[2].line
    mirrored = compared([sheet(3, look=one), sheet(4, look=look(3, 1, 0.004, True))])[1]
    assert "wrong way round" in mirrored.line
    assert same_picture(one, "not base 64") is None
    assert same_picture(one, one[:100]) is None
    assert same_picture("", "") is None
