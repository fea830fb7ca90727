"""The measured height: any blur, any lie of the scan, colours, ends, and what must be refused."""

from __future__ import annotations

import importlib.util
import sys
from dataclasses import replace
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image
from scipy import ndimage

from holders.core.errors import InputError
from holders.measure.slope.geometry import SlopeGeometry
from holders.measure.slope.measure import Options, measure_focus
from holders.measure.slope.target.shape import TargetShape
from tests.short import each_once, some

FLAT = TargetShape("flat")
_spec = importlib.util.spec_from_file_location("focus_bounds", Path(__file__).with_name("bounds.py"))
bounds = sys.modules.setdefault("focus_bounds", importlib.util.module_from_spec(_spec))
_spec.loader.exec_module(bounds)
sim = bounds.simulator()

BASE = sim.Case(length_mm=50.0, rows=160, rise_mm=5.0, z0_mm=2.6, number=3)


def _save(path, image, dpi=2400.0, **more):
    kind = "rgb" if image.ndim == 3 else "minisblack"
    tifffile.imwrite(
        path,
        np.ascontiguousarray(image),
        photometric=kind,
        resolution=(dpi, dpi),
        resolutionunit="INCH",
        **more,
    )
    return path


def _slope(case, **more):
    return SlopeGeometry(rise_mm=case.rise_mm, run_mm=case.length_mm, start_height_mm=case.start_mm, **more)


def _measure(tmp_path, case, image=None, **more):
    path = _save(tmp_path / "s.tif", sim.scan(case) if image is None else image, case.dpi)
    return measure_focus([path], geometry=_slope(case), shape=FLAT, **more)


@pytest.fixture(scope="module")
def ruler():
    return sim.scan(BASE)


@pytest.fixture(scope="module")
def grain():
    return sim.scan(replace(BASE, kind="grain"))


@pytest.mark.parametrize(("kind", "blur"), each_once(["ruler", "grain"], ["disc", "gauss", "wave"]))
def test_height_whatever_the_blur(tmp_path, kind, blur):
    result = _measure(tmp_path, replace(BASE, kind=kind, blur=blur, number=11))
    assert abs(result.height - 2.6) < 0.01
    assert abs(result.height - 2.6) < 3 * result.height_sigma
    # 0.02 mm besides what blur that differs above and below may do: 3 % of half the band
    lens = 0.03 * (result.band[1] - result.band[0]) / 2.0
    assert result.height_sigma**2 - lens**2 < 0.02**2
    assert not result.at_edge
    assert result.target == ("ruling" if kind == "ruler" else "texture")
    # 1.7 mm of a ruler show no rows across: what is taken for granted is said
    assert any("across its width" in words for words in result.assumed) == (not result.rows)
    assert result.rows == () or kind == "grain"


@pytest.mark.parametrize("turn", some([-10.0, 10.0], -10.0))
def test_a_turned_ruler_whose_ticks_cross_the_scan(tmp_path, turn):
    case = replace(
        BASE, turn_deg=turn, whole_turn=True, length_mm=40.0, rise_mm=4.0, z0_mm=2.0, rows=880, deep_mm=2.5
    )
    result = _measure(tmp_path, case)
    assert abs(result.height - 2.0) < max(0.01, 3 * result.height_sigma)
    assert abs(result.turn_deg) == pytest.approx(10.0, abs=0.5)


def test_the_band_keeps_the_stated_share(tmp_path):
    # the gaussian blur's transfer function falls to 0.7 of its best where 2 pi^2 f^2 (0.8 NA dz)^2 = ln(1/0.7)
    case = replace(BASE, kind="grain", blur="gauss", dust=0, scratches=0)
    half = np.sqrt(np.log(1 / 0.7) / 2) / (np.pi * 20.0 * 0.8 * case.na)
    result = _measure(tmp_path, case)
    assert result.band[1] - result.band[0] == pytest.approx(2 * half, rel=0.08)
    # coarse detail is rare in a narrow strip: its band needs more rows
    wider = _measure(tmp_path, replace(case, rows=640), options=Options(frequency_lp_mm=10.0))
    assert wider.band[1] - wider.band[0] == pytest.approx(4 * half, rel=0.1)


def test_profile_follows_the_transfer_function(tmp_path):
    case = replace(BASE, kind="grain", blur="gauss")
    result = _measure(tmp_path, case)
    h, s = np.array(result.profile.height), np.array(result.profile.sharpness)
    assert (np.diff(h) > 0).all()
    f = np.full(1, 20.0)
    want = np.array([sim.transfer(case, f, z - case.z0_mm)[0] for z in h]) / sim.transfer(case, f, 0.0)[0]
    near = np.abs(h - case.z0_mm) < 0.8
    assert np.abs(s - want)[near].max() < 0.12


def test_contract_keys_come_first(tmp_path, grain):
    data = _measure(tmp_path, BASE, grain).to_answer()
    assert list(data)[:6] == ["height", "height_sigma", "band", "at_edge", "confidence", "profile"]
    assert isinstance(data["band"], list)
    assert data["band"][0] < data["height"] < data["band"][1]
    assert 0.5 < data["confidence"] <= 1.0
    assert len(data["profile"]["height"]) == len(data["profile"]["sharpness"]) > 20


LIES = {
    "on end": (lambda a: a.T, {}),
    "low end right": (lambda a: a[:, ::-1], {"reverse": True}),
    "low end at the bottom": (lambda a: a.T[::-1], {"reverse": True}),
    "upside down": (lambda a: a[::-1], {}),
}


@pytest.mark.parametrize(("kind", "name"), each_once(["ruler", "grain"], list(LIES)))
def test_any_lie(tmp_path, ruler, grain, kind, name):
    turn, more = LIES[name]
    path = _save(tmp_path / "s.tif", turn(ruler if kind == "ruler" else grain))
    result = measure_focus([path], geometry=_slope(BASE, **more), shape=FLAT)
    assert abs(result.height - 2.6) < max(0.006, 3 * result.height_sigma)


@pytest.mark.parametrize(
    "more",
    [
        {"compression": "lzw"},
        {"compression": "zlib", "predictor": True},
        {"tile": (64, 64)},
        {"bigtiff": True},
    ],
    ids=str,
)
def test_storage_makes_no_difference(tmp_path, grain, more):
    plain = _measure(tmp_path, BASE, grain)
    other = measure_focus([_save(tmp_path / "o.tif", grain, **more)], geometry=_slope(BASE), shape=FLAT)
    assert other.height == pytest.approx(plain.height, abs=1e-9)


def test_orientation_tag_turns_the_slope(tmp_path, grain):
    path = _save(tmp_path / "s.tif", grain[:, ::-1], extratags=[(274, "H", 1, 2, True)])
    assert abs(measure_focus([path], geometry=_slope(BASE), shape=FLAT).height - 2.6) < 0.01


def test_colours_are_told_apart_and_the_compromise_is_their_mean(tmp_path):
    case = replace(BASE, kind="grain", channel_shift_mm=(0.1, 0.0, -0.16))
    result = _measure(tmp_path, case)
    for channel, shift in zip(result.channels, case.channel_shift_mm, strict=True):
        assert abs(channel.height - 2.6 - shift) < max(0.006, 3 * channel.height_sigma)
    assert [c.name for c in result.channels] == ["red", "green", "blue"]
    assert result.height == pytest.approx(2.58, abs=0.006)
    same = _measure(tmp_path, replace(BASE, kind="grain", channel_shift_mm=(0.0, 0.0, 0.0)))
    assert abs(same.height - 2.6) < max(0.006, 3 * same.height_sigma)


@pytest.mark.parametrize(
    ("kind", "best"), each_once(["ruler", "grain"], [(-0.4, 0.0), (5.3, 5.0), (6.5, 5.0)])
)
def test_best_height_beyond_an_end_is_said(tmp_path, kind, best):
    z0, end = best
    result = _measure(tmp_path, replace(BASE, kind=kind, z0_mm=z0))
    assert result.at_edge
    assert abs(result.height - end) < 0.75
    assert result.height_sigma > 0.1
    assert result.confidence < 0.6
    assert any("beyond" in w for w in result.warnings)


def test_several_scans_are_averaged(tmp_path):
    paths = [
        _save(
            tmp_path / f"{n}.tif",
            sim.scan(replace(BASE, kind="grain", number=n, length_mm=30.0, rise_mm=4.0, z0_mm=2.0)),
        )
        for n in (1, 2, 3)
    ]
    slope = SlopeGeometry(rise_mm=4.0, run_mm=30.0)
    one = measure_focus(paths[:1], geometry=slope, shape=FLAT)
    all_ = measure_focus(paths, geometry=slope, shape=FLAT)
    assert all_.scans == 3
    assert abs(all_.height - 2.0) < 3 * all_.height_sigma
    assert all_.height_sigma < one.height_sigma * 1.2


def test_png_and_jpeg_too(tmp_path, grain):
    small = (grain >> 8).astype(np.uint8)
    for name, more in (("a.png", {}), ("a.jpg", {"quality": 92})):
        Image.fromarray(small).save(tmp_path / name, dpi=(2400, 2400), **more)
        result = measure_focus([tmp_path / name], geometry=_slope(BASE), shape=FLAT)
        assert abs(result.height - 2.6) < 0.02
        assert result.warnings


def test_light_tone_dust_and_contrast_do_not_move_it(tmp_path):
    hard = replace(
        BASE, kind="grain", falloff=0.3, slope_light=0.5, dust=120, scratches=10, full_well=3000.0, gamma=2.2, bits=8
    )  # fmt: skip
    result = _measure(tmp_path, hard)
    assert abs(result.height - 2.6) < max(0.01, 3 * result.height_sigma)


def test_a_scan_longer_or_shorter_than_the_run_is_said(tmp_path, grain):
    long = measure_focus(
        [_save(tmp_path / "s.tif", grain)], geometry=SlopeGeometry(rise_mm=4.5, run_mm=45.0), shape=FLAT
    )
    assert any("only the run" in w for w in long.warnings)
    assert abs(long.height - 2.6) < 0.01
    assert long.heights_seen[1] == pytest.approx(4.5, abs=0.01)
    short = measure_focus(
        [tmp_path / "s.tif"], geometry=SlopeGeometry(rise_mm=10.0, run_mm=100.0), shape=FLAT
    )
    assert any("resolution" in w for w in short.warnings)
    assert abs(short.height - 2.6) < 0.01


def _noise(rng, light):
    return light + 0.03 * np.sqrt(light) * rng.standard_normal((200, 4800))


def _dust(rng, _light):
    image = np.full((200, 4800), 0.8)
    for _ in range(60):
        y, x = rng.integers(0, 190), rng.integers(0, 4790)
        image[y : y + 8, x : x + 8] = 0.2
    return ndimage.gaussian_filter(image, 1.0) + 0.01 * rng.standard_normal(image.shape)


def _flat_grain(rng, light):
    grain = ndimage.gaussian_filter(rng.standard_normal((200, 4800)), 1.0) / 0.28
    return light * np.exp(0.15 * grain) + 0.003 * rng.standard_normal(grain.shape)


def _flat_ruler(rng, _light):
    ticks = np.where(np.arange(4800) % 50 < 12, 0.1, 0.8)[None, :] * np.ones((200, 1))
    return ndimage.gaussian_filter(ticks, 1.5) + 0.01 * rng.standard_normal(ticks.shape)


BLANK = {
    "noise": _noise,
    "coloured noise": lambda rng, light: ndimage.gaussian_filter(_noise(rng, light), 1.5),
    "noise with a tone curve": lambda rng, light: np.clip(_noise(rng, light), 0, 1) ** 0.45,
    "dust on bare glass": _dust,
    "film lying flat": _flat_grain,
    "ruler lying flat": _flat_ruler,
    "nothing": lambda _rng, _light: np.full((200, 4800), 0.5),
    "dark": lambda _rng, _light: np.zeros((200, 4800)),
    "burnt out": lambda _rng, _light: np.ones((200, 4800)),
    "shading only": lambda _rng, light: light * np.ones((200, 1)),
}


@pytest.mark.parametrize(("name", "number"), each_once(list(BLANK), [0, 1]))
def test_nothing_to_measure_is_refused(tmp_path, name, number):
    rng = np.random.default_rng(number)
    light = 0.6 * (1.0 - 0.3 * np.linspace(-1, 1, 4800)[None, :] ** 2)
    image = np.rint(np.clip(BLANK[name](rng, light), 0, 1) * 65535).astype(np.uint16)
    with pytest.raises(InputError) as told:
        measure_focus(
            [_save(tmp_path / "s.tif", image)], geometry=SlopeGeometry(rise_mm=6.0, run_mm=50.8), shape=FLAT
        )
    assert told.value.exit_code == 2


def test_a_ruling_too_fine_for_the_pixels_is_said(tmp_path):
    result = _measure(tmp_path, replace(BASE, pitch_mm=0.04, tick_mm=0.02))
    assert any("alias" in w for w in result.warnings)
    assert abs(result.height - 2.6) < max(0.01, 3 * result.height_sigma)


@pytest.mark.parametrize(
    ("field", "values"),
    [
        ("--rise", {"rise_mm": 0.0, "run_mm": 50.0}),
        ("--rise", {"rise_mm": 40.0, "run_mm": 50.0}),
        ("--run", {"rise_mm": 6.0, "run_mm": -1.0}),
        ("--run", {"rise_mm": 6.0, "run_mm": float("nan")}),
        ("--start-height", {"rise_mm": 6.0, "run_mm": 50.0, "start_height_mm": float("inf")}),
    ],
)
def test_slopes_that_cannot_be(field, values):
    with pytest.raises(InputError) as told:
        SlopeGeometry(**values)
    assert told.value.field == field


def test_progress_is_told(tmp_path, grain):
    seen = []
    _measure(tmp_path, BASE, grain, progress=lambda what, share: seen.append((what, share)))
    assert seen
    assert all(0.0 <= share <= 1.0 for _, share in seen)
