"""The parts of the ring detector on waves whose every number is known."""

from __future__ import annotations

import numpy as np
import pytest

from holders.measure.finished.rings import bands
from holders.measure.finished.rings.chirp import MARGIN, SIDE, Grid, forms_at, summed
from holders.measure.finished.rings.fit import APART, Fitter
from holders.measure.finished.rings.levels import levels_of
from holders.measure.finished.rings.rings import WAVELENGTHS_NM, find_rings
from holders.measure.finished.rings.trace import _from, nudged
from holders.measure.finished.rings.wave import LEFT_BY_NOISE, NO_CUBE, SHARED, SHARED_BY_NOISE, Cube, Wave
from tests.measure.finished.ringlight import Rings, gap_um, ring_light

RATIOS = tuple(WAVELENGTHS_NM[1] / w for w in WAVELENGTHS_NM)


def test_sums_over_squares() -> None:
    planes = np.random.default_rng(1).normal(size=(2, 3, 8, 12)).astype(np.float32)
    assert summed(planes, 4) == pytest.approx(planes.reshape(2, 3, 2, 4, 3, 4).sum(axis=(3, 5)), abs=1e-5)


def test_a_slope_that_runs_out_of_the_frame_leaves_nothing_in_the_band() -> None:
    """A difference of two Gaussians takes a plane to nothing, at the borders too."""
    y, x = np.mgrid[:90, :110].astype(np.float32)
    band = bands.octave((0.02 * x - 0.01 * y)[None].astype(np.float32))
    assert np.abs(band).max() < 1e-4


def test_channels_that_share_all_leave_noise_of_even_strength() -> None:
    """Three channels with one texture: what is looked at is no stronger or weaker than noise, nor is it a pattern."""
    rng = np.random.default_rng(2)
    texture = 0.05 * bands.octave(rng.normal(size=(1, 160, 160)).astype(np.float32))
    held = bands.unmixed(np.repeat(texture, 3, axis=0))
    laid = bands.planes(np.repeat(texture, 3, axis=0))
    assert held.std() < 0.3  # without the noise laid over it there is next to nothing
    assert laid.shape == (9, 160, 160)
    # of what the strength is judged by, half is the noise laid over the band and half is reckoned for safety
    assert laid[:3].std(axis=(1, 2)) == pytest.approx(np.full(3, np.sqrt(0.5)), abs=0.05)


def one_wave(channel: int | None) -> np.ndarray:
    """Picture common to the channels, a little noise, and a wave of 8 px: in one channel, or (None) in all, unlike."""
    rng = np.random.default_rng(3)
    common = bands.octave(rng.normal(size=(1, 160, 160)).astype(np.float32))
    noise = bands.octave(rng.normal(size=(3, 160, 160)).astype(np.float32))
    out = 0.1 * common + 0.01 * noise
    wave = 0.02 * np.cos(2 * np.pi * np.arange(160) / 8)
    for c, strength in enumerate((1.0, 0.3, -0.5) if channel is None else np.eye(3)[channel]):
        out[c] += strength * wave
    return out.astype(np.float32)


def power(plane: np.ndarray) -> float:
    """Of the wave of 8 px, over what its neighbours in frequency have."""
    spectrum = np.abs(np.fft.fft2(plane)) ** 2
    beside = [spectrum[0, k] for k in (14, 15, 16, 17, 23, 24, 25, 26)]
    return float(spectrum[0, 20] / np.mean(beside))


@pytest.mark.parametrize("channel", [0, 1, 2])
def test_a_wave_of_one_channel_is_carried_into_all_but_not_into_the_pair_without_it(channel: int) -> None:
    band = one_wave(channel)
    carried, left = bands.unmixed(band), bands.pair_left(band)
    others = [c for c in range(3) if c != channel]
    assert all(power(carried[c]) > 50 for c in range(3))
    assert max(power(p) for p in left[channel]) < 5
    assert all(max(power(p) for p in left[c]) > 100 for c in others)


def test_a_wave_of_all_channels_is_left_in_every_pair() -> None:
    assert all(max(power(p) for p in pair) > 100 for pair in bands.pair_left(one_wave(None)))


def test_what_other_channels_hold_counts_against_a_wave() -> None:
    def wave(left: float) -> float:
        return Wave(0, 0, 0.1, 0.0, (0.0, 0.0, 0.0), NO_CUBE, RATIOS, (20.0, 30.0, 90.0), (left,) * 3).worth

    assert wave(0.0) == wave(LEFT_BY_NOISE) == 20.0 + 30.0 + 30.0
    assert wave(LEFT_BY_NOISE + 10.0) == pytest.approx(80.0 - 1.5 * 30.0)


def test_what_one_pitch_for_all_channels_explains_counts_less() -> None:
    def wave(shared: float) -> float:
        left = (LEFT_BY_NOISE,) * 3
        own = (20.0, 30.0, 40.0)
        return Wave(0, 0, 0.1, 0.0, (0.0, 0.0, 0.0), NO_CUBE, RATIOS, own, left, (shared, 0.0, shared)).worth

    assert wave(0.0) == wave(SHARED_BY_NOISE) == 20.0 + 30.0 + 30.0
    assert wave(SHARED_BY_NOISE + 20.0) == pytest.approx((20.0 - SHARED * 20.0) + 30.0 + 30.0)


def laid(phase: np.ndarray, ratios: tuple[float, ...]) -> np.ndarray:
    """A wave in each channel's plane over noise of strength 1, (9, rows, columns)."""
    planes = np.random.default_rng(5).normal(size=(9, *phase.shape)).astype(np.float32)
    planes[:3] += [0.5 * np.cos(r * phase) for r in ratios]
    return planes


@pytest.mark.parametrize(("cycles", "resolved"), [(0.15, True), (0.15, False), (0.05, True)])
def test_one_pitch_is_told_from_rings_where_the_tile_can_tell(cycles: float, resolved: bool) -> None:
    """A wave of 0.15 cycles per px differs by 2.5 bins between channels, one of 0.05 by less than one."""
    fitter = Fitter(Grid(RATIOS))
    phase = np.pi * SIDE * cycles * fitter.grid.x
    found = fitter.fit(
        laid(phase, RATIOS if resolved else (1.0, 1.0, 1.0)), 0, 0, (cycles, 0.0), (0.0, 0.0, 0.0)
    )
    if resolved and cycles > 0.1:
        assert found.worth > 0.8 * found.evidence
    elif resolved:
        assert found.worth < 0.8 * found.evidence
    else:
        assert found.worth < 0.5 * found.evidence
    assert found.shared[1] == 0.0


def test_wavelengths_stay_within_what_channels_can_be_apart() -> None:
    """Red and blue both stretched toward green is no scanner: a wave like that keeps a possible pair."""
    fitter = Fitter(Grid(RATIOS))
    phase = np.pi * SIDE * 0.2 * fitter.grid.x
    squeezed = (RATIOS[0] * 1.045, 1.0, RATIOS[2] * 0.955)
    found = fitter.fit(laid(phase, squeezed), 0, 0, (0.2, 0.0), (0.0, 0.0, 0.0))
    assert squeezed[2] / squeezed[0] < APART[0]
    assert APART[0] - 1e-6 <= found.ratios[2] / found.ratios[0] <= APART[1] + 1e-6


def cubic_phase(x: float, y: float) -> float:
    """Of px from the middle of the first tile: frequency, chirp and third order all at work."""
    u, v = x / (SIDE / 2), y / (SIDE / 2)
    straight = np.pi * SIDE * (0.1 * u - 0.04 * v)
    return (
        straight
        + 6 * u * u
        + 2 * (2 * u * v)
        - 3 * v * v
        + u**3
        + 2 * (2 * u * u * v)
        - 3 * (2 * u * v * v)
        + 4 * v**3
    )


def test_a_wave_moved_to_another_tile_has_that_place_s_frequency_and_chirp() -> None:
    """Against differences of the phase itself."""
    cube: Cube = (1.0, 2.0, -3.0, 4.0)
    wave = Wave(0, 0, 0.1, -0.04, (6.0, 2.0, -3.0), cube, RATIOS, (0.0,) * 3, (0.0,) * 3)
    (fx, fy), form = wave.moved(np.array([64.0, -32.0]))
    at, h = (64.0, -32.0), 0.5

    def phase(dx: float, dy: float) -> float:
        return cubic_phase(at[0] + dx, at[1] + dy)

    assert fx == pytest.approx((phase(h, 0) - phase(-h, 0)) / (4 * np.pi * h), abs=1e-4)
    assert fy == pytest.approx((phase(0, h) - phase(0, -h)) / (4 * np.pi * h), abs=1e-4)
    bend = (phase(h, 0) - 2 * phase(0, 0) + phase(-h, 0)) / h**2 / 2 * (SIDE / 2) ** 2
    assert form[0] == pytest.approx(bend, rel=1e-3)
    twist = phase(h, h) - phase(h, -h) - phase(-h, h) + phase(-h, -h)
    assert form[1] == pytest.approx(twist / (4 * h * h) / 2 * (SIDE / 2) ** 2, rel=1e-3)


def test_the_same_wave_from_half_a_tile_away_is_known_again() -> None:
    def at(row: int, col: int, f: tuple[float, float]) -> Wave:
        return Wave(row, col, *f, (8.0, 0.0, 8.0), NO_CUBE, RATIOS, (0.0,) * 3, (0.0,) * 3)

    here = at(0, 0, (0.1, 0.0))
    f, _ = here.moved(np.array([32.0, 0.0]))
    assert here.is_like(at(0, 32, f), 32, 3.0)
    assert here.is_like(at(0, 32, (-f[0], -f[1])), 32, 3.0)  # the mirror of it
    assert not here.is_like(at(0, 32, (0.1, 0.05)), 32, 3.0)
    assert not here.is_like(at(0, 48, f), 32, 3.0)
    assert here.between(at(0, 32, f)) == pytest.approx(0.0, abs=1e-9)
    assert here.between(at(0, 32, (f[0], 0.02))) == pytest.approx(0.02 * SIDE)


def test_a_wave_is_moved_to_where_it_shows_best() -> None:
    """Rings fill only the field's right part: the tile goes there by halves of a step."""
    fitter = Fitter(Grid(RATIOS))
    x = np.mgrid[:SIDE, : 2 * SIDE][1].astype(np.float32)
    field = laid(2 * np.pi * 0.14 * x, RATIOS)
    field[:3, :, :SIDE] = np.random.default_rng(6).normal(size=(3, SIDE, SIDE))
    tile = field[:, :, 64 : 64 + SIDE]
    first = fitter.fit(tile, 0, 64, (0.14, 0.0), (0.0, 0.0, 0.0))
    best = nudged(field, fitter, first)
    assert best.col > 64
    assert best.worth > first.worth


@pytest.mark.parametrize(
    ("first", "length"), [(0, 128), (0, 200), (40, 480), (64, 560), (300, 560), (432, 560)]
)
def test_tiles_around_a_place_reach_both_ends(first: int, length: int) -> None:
    places = _from(first, length)
    assert first in places
    assert places == sorted(set(places))
    assert places[0] < 48
    assert places[-1] <= length - SIDE < places[-1] + 48
    assert max(np.diff(places), default=0) <= 64


def test_third_order_is_fitted_where_asked() -> None:
    """A phase with x³ of 7 rad at the side: the fit gives it back, and without it finds less."""
    fitter, rng = Fitter(Grid(RATIOS)), np.random.default_rng(4)
    x, y = fitter.grid.x, fitter.grid.y
    phase = np.pi * SIDE * (0.12 * x + 0.05 * y) + 8 * x * x + 5 * y * y + 7 * x**3
    tile = np.zeros((9, SIDE, SIDE), np.float32)
    tile[:3] = [0.4 * np.cos(r * phase) for r in RATIOS]
    tile += rng.normal(size=tile.shape).astype(np.float32)
    plain, cubic = (fitter.fit(tile, 0, 0, (0.12, 0.05), (8.0, 0.0, 5.0), cube) for cube in (None, NO_CUBE))
    assert cubic.cube[0] == pytest.approx(7.0, abs=1.3)
    assert cubic.form == pytest.approx((8.0, 0.0, 5.0), abs=1.0)  # x², 2xy, y² of the phase laid
    assert plain.cube == NO_CUBE
    assert cubic.evidence > 1.2 * plain.evidence


def test_beyond_the_band_there_is_nothing_to_compare_with() -> None:
    """Where a wave's frequencies lie past the band, what is around it is nought: no ratio to that may count."""
    fitter = Fitter(Grid(RATIOS))
    small = np.ones((2, 32 * 32), np.complex64)
    assert np.isinf(fitter._around(small, (0.25, -0.13), (150.0, 0.0, 150.0), 1.17)).all()
    assert np.isfinite(fitter._around(small, (0.12, -0.13), (15.0, 0.0, 15.0), 1.17)).all()


def test_a_tile_in_the_margin_is_told_as_what_of_it_lies_in_the_frame() -> None:
    level = levels_of(np.full((200, 300, 3), 0.5, np.float32), 0.1)[0]
    assert level.field.shape == (9, 200 + 2 * MARGIN, 300 + 2 * MARGIN)
    assert level.inside(0, 0) == (0, 0, SIDE - MARGIN, SIDE - MARGIN)
    assert level.inside(80, 100) == (40, 60, SIDE, SIDE)
    last = 300 + 2 * MARGIN - SIDE
    assert level.inside(0, last) == (0, last - MARGIN, SIDE - MARGIN, SIDE - MARGIN)


def test_only_levels_after_the_finest_are_asked_for_wide_chirps() -> None:
    finest, next_one = forms_at(0), forms_at(1)
    assert next_one[: len(finest)] == finest
    assert next_one[-1][0] > 1.5 * finest[-1][0]
    assert forms_at(2) == next_one


def test_rings_in_the_very_corner_are_found() -> None:
    """A dome of 60 px about a corner of the frame: a tile's window alone would take most of it away."""
    rng = np.random.default_rng(7)
    rings = Rings(0.04, (620.0, 538.0, 460.0), 40.0, 70.0, 1.0, 0.0, (0.0, 0.0), 0.0, 0.0)
    light = 0.4 * ring_light(gap_um((300, 300), rings, rng), rings)
    light = light * (1 + rng.normal(0, 0.012, light.shape))
    found = find_rings(light.astype(np.float32), 0.1)
    assert found.found
    assert (found.where[0].x_mm, found.where[0].y_mm) == (0.0, 0.0)
    assert found.where[0].width_mm <= 12.8
