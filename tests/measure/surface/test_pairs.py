"""Whole scans: simulated pairs of known truth, and pairs that cannot be measured. Long: scripts/judge_surface.py."""

from __future__ import annotations

import dataclasses
from pathlib import Path

import numpy as np
import pytest
import tifffile
from numpy.typing import NDArray
from scipy import ndimage
from scipy.interpolate import RegularGridInterpolator

from holders.core.errors import InputError
from holders.measure.surface import match
from holders.measure.surface.measure import Known, gather, measure_distortion, measure_surface, surface_of
from holders.measure.surface.search import Moves2D
from tests.simulators import shifted_pair as simulator
from tests.simulators.shifted_pair import Pose

DPI = 600


def small_case(kind: str, seed: int, shift: float) -> simulator.ShiftedPair:
    """A drawn case of a small film with the shift set, framed around both places of the film."""
    case = simulator.draw_case(seed, kind, window="35mm", dpi=DPI)
    poses = (case.poses[0], dataclasses.replace(case.poses[1], shift_mm=shift), *case.poses[2:])
    wide = case.surface.width_mm
    left = case.centre_x + min(0.0, shift) - wide / 2 - 3
    return dataclasses.replace(case, poses=poses, left=left, width_mm=wide + abs(shift) + 6)


def errors(
    case: simulator.ShiftedPair, folder: Path
) -> tuple[NDArray[np.float64], NDArray[np.float64], float]:
    """Errors of the heights, their sigma, and the share of the film whose height is known."""
    paths = [simulator.write(folder / f"{k}.tif", case, k) for k in range(len(case.poses))]
    truth = simulator.truth(case, 0.5)
    known = Known(ledge_mm=float(truth["ledge"]), lens_distance_mm=float(truth["lens_distance"]))
    found = measure_surface(*paths, known=known)
    at = RegularGridInterpolator((truth["y"], truth["x"]), truth["z"], bounds_error=False)
    yy, xx = np.meshgrid(found.y_mm, found.x_mm, indexing="ij")
    true = at(np.stack([yy, xx], axis=-1))
    both = np.isfinite(true) & found.known
    assert abs(found.shift_mm - float(truth["shift"])) < 0.03
    return found.z_mm[both] - true[both], found.sigma_mm[both], float(both.sum() / np.isfinite(true).sum())


@pytest.mark.parametrize(("kind", "seed", "shift"), [("distorted", 3, 20.0), ("moving", 5, -9.0)])
def test_simulated_pairs_are_measured_as_well_as_is_wanted(
    kind: str, seed: int, shift: float, tmp_path: Path
) -> None:
    error, sigma, known = errors(small_case(kind, seed, shift), tmp_path)
    assert float(np.sqrt(np.mean(error**2))) < 0.06 * max(1.0, 20.0 / abs(shift))
    assert float(np.mean(np.abs(error) < 2 * sigma)) > 0.9
    assert known > 0.8


def plain_pair(folder: Path, move: tuple[int, int], *, detail: float = 0.1) -> tuple[Path, Path]:
    """Two scans of a flat texture behind an opaque frame, moved by whole pixels across and down; 300 per inch."""
    random = np.random.default_rng(6)
    film = ndimage.gaussian_filter(random.standard_normal((360, 480)), 1.0)
    film = 0.5 + detail * film / film.std()
    paths = []
    for k, (x, y) in enumerate(((60, 60), (60 + move[0], 60 + move[1]))):
        light = np.full((600, 800), 0.002)
        light[y : y + 360, x : x + 480] = film
        light += 0.002 * random.standard_normal(light.shape)
        paths.append(folder / f"{'ab'[k]}.tif")
        tifffile.imwrite(
            paths[k],
            np.clip(light * 65535, 0, 65535).astype(np.uint16),
            resolution=(300, 300),
            resolutionunit=2,
        )
    return paths[0], paths[1]


def test_a_scanner_without_parallax_is_recognised(tmp_path: Path) -> None:
    # whole pixels everywhere: nothing that a lens would do; 200 px at 300 per inch are 16.933 mm
    first, second = plain_pair(tmp_path, (200, 0))
    found = measure_surface(first, second, known=Known(ledge_mm=3.0))
    assert not found.known.any()
    assert not found.parallax
    assert any("contact sensor" in w for w in found.warnings)
    assert found.shift_mm == pytest.approx(
        200 * 25.4 / 300 * 303 / 300, abs=0.01
    )  # as if it were seen at 3 mm
    flat = measure_surface(first, second, known=Known(ledge_mm=3.0, lens_distance_mm=300.0))
    assert flat.z_mm[flat.known] == pytest.approx(3.0, abs=0.05)
    assert any("contact sensor" in w for w in flat.warnings)


@pytest.mark.parametrize("hard", ["no block stands out", "no room for a window of coarse pixels"])
def test_what_the_coarse_levels_cannot_see_the_fine_one_does(
    hard: str, tmp_path: Path, monkeypatch: pytest.MonkeyPatch
) -> None:
    # soft detail, and a narrow strip: both refused once, though full resolution shows the film well
    if hard.startswith("no block"):
        none = Moves2D(*(np.zeros(0) for _ in range(6)))
        monkeypatch.setattr(match, "block_moves", lambda *_: none)
    else:
        # 9 pixels to a cell: a window of 40 cells is as high as the film
        monkeypatch.setattr(match, "COARSE_CELLS", 50)
    moves = gather(plain_pair(tmp_path, (200, 0))).moves
    assert len(moves.x) > 100
    assert moves.u == pytest.approx(200 * 25.4 / 300, abs=0.002)


def test_a_move_along_the_bed_is_refused_with_what_to_do(tmp_path: Path) -> None:
    first, second = plain_pair(tmp_path, (0, 150))
    with pytest.raises(InputError, match=r"12\.7 mm along the bed") as err:
        measure_surface(first, second)
    assert "sideways" in str(err.value)


def test_too_small_a_move_is_refused(tmp_path: Path) -> None:
    first, second = plain_pair(tmp_path, (20, 0))
    with pytest.raises(InputError, match=r"1\.7 mm across"):
        measure_surface(first, second)


def test_other_films_are_refused(tmp_path: Path) -> None:
    first, second = plain_pair(tmp_path, (200, 0))
    other = tifffile.imread(second)
    tifffile.imwrite(second, np.ascontiguousarray(other[::-1]), resolution=(300, 300), resolutionunit=2)
    with pytest.raises(InputError):
        measure_surface(first, second)


def test_other_resolutions_are_refused(tmp_path: Path) -> None:
    first, second = plain_pair(tmp_path, (200, 0))
    tifffile.imwrite(second, tifffile.imread(second), resolution=(600, 600), resolutionunit=2)
    with pytest.raises(InputError, match="same resolution"):
        measure_surface(first, second)


@pytest.mark.parametrize(
    "bad", [{"shift_mm": float("nan")}, {"shift_mm": 0.5}, {"ledge_mm": 500.0}, {"lens_distance_mm": -3.0}]
)
def test_values_that_cannot_be_are_refused(bad: dict[str, float]) -> None:
    with pytest.raises(InputError, match="--"):
        Known(**bad)


def test_a_turned_scan_is_read_as_it_is_shown(tmp_path: Path) -> None:
    # TIFF 6.0, orientation 6: the first row is shown on the right, so that the stored picture is turned a quarter back
    first, second = plain_pair(tmp_path, (200, 0))
    plain = measure_surface(first, second, known=Known(ledge_mm=3.0, lens_distance_mm=300.0))
    for path in (first, second):
        stored = np.ascontiguousarray(np.rot90(tifffile.imread(path), 1))
        tifffile.imwrite(
            path, stored, resolution=(300, 300), resolutionunit=2, extratags=[(274, "H", 1, 6, True)]
        )
    turned = measure_surface(first, second, known=Known(ledge_mm=3.0, lens_distance_mm=300.0))
    assert turned.shift_mm == pytest.approx(plain.shift_mm, abs=1e-3)
    assert turned.x_mm == pytest.approx(plain.x_mm, abs=0.1)


def test_a_self_test_with_a_flat_target_takes_the_lens_out(tmp_path: Path) -> None:
    # a lens of 0.5 % slope: glass, which is flat, and a film in the same frame of the bed
    film = small_case("plain", 7, 20.0)
    bent = dataclasses.replace(
        film, distortion=(0.0, 0.25, 0.1), poses=(Pose(), Pose(shift_mm=20.0)), wobble_mm=0.0
    )
    flat = dataclasses.replace(bent.surface, middle_mm=0.0, saddle_mm=0.0, ripple_mm=0.0, lift_mm=0.0, rim=())
    glass = dataclasses.replace(bent, surface=flat, seed=bent.seed + 1)
    target = [simulator.write(tmp_path / f"flat{k}.tif", glass, k) for k in range(2)]
    scans = [simulator.write(tmp_path / f"film{k}.tif", bent, k) for k in range(2)]
    lens = measure_distortion(*target)
    x = np.linspace(4, glass.width_mm - 4, 40)
    rest = lens.displaced(x) - glass.distorted(x + glass.left)
    bend = glass.distorted(x + glass.left)
    rest, bend = (
        v - np.polyval(np.polyfit(x, v, 1), x) for v in (rest, bend)
    )  # a constant slope is a longer slide
    assert float(np.abs(rest).max()) < 0.25 * float(np.abs(bend).max())
    truth = simulator.truth(bent, 0.5)
    known = Known(
        ledge_mm=float(truth["ledge"]), lens_distance_mm=float(truth["lens_distance"]), distortion=(lens,)
    )
    found = measure_surface(*scans, known=known)
    at = RegularGridInterpolator((truth["y"], truth["x"]), truth["z"], bounds_error=False)
    yy, xx = np.meshgrid(found.y_mm, found.x_mm, indexing="ij")
    error = found.z_mm - at(np.stack([yy, xx], axis=-1))
    assert float(np.sqrt(np.nanmean(error**2))) < 0.06
    assert surface_of(gather(scans), dataclasses.replace(known, distortion=())).shift_mm != found.shift_mm
