"""Judge ``holders session`` by fifty simulated scans of one holder, six of them with a planted fault.

    python scripts/judge_session.py [--scans 50] [--seed 0] [--strict] [--keep out/judge_session]

The scans come from tests/simulators/finished_scan.py, written apart from the session. Planted: mirrored, 1.5 mm out of
focus, dense rings, glare, clipped, the picture of another sheet (its pocket was not changed). The command itself is
run, killed after a third and taken up again. Wanted: all six found, at most one sound sheet to be scanned again.
``--strict`` plants them in smaller sizes: 1.1 mm out of focus, where 0.87 mm is still sharp at 12 line pairs per mm,
half the rings, a third of the glare, clipped less.
"""

from __future__ import annotations

import argparse
import dataclasses
import json
import subprocess
import sys
from pathlib import Path
from typing import Any

ROOT = Path(__file__).resolve().parent.parent
sys.path.insert(0, str(ROOT))

import numpy as np  # noqa: E402

import holders  # noqa: E402, F401 - sets the number of threads before numpy is loaded
from holders.face.shared.expected import expected_of  # noqa: E402
from holders.study import study_file  # noqa: E402
from tests.simulators import finished_scan as simulator  # noqa: E402
from tests.simulators import pictures  # noqa: E402
from tests.simulators.film_surface import FilmSurface  # noqa: E402
from tests.simulators.sensor import Sensor  # noqa: E402

FAULTS = ("mirrored", "soft", "rings", "glare", "clipped", "twin")
DPI = 900  # at 600 a blur of 1.5 mm out of focus is hardly a pixel wide


@dataclasses.dataclass(frozen=True, slots=True)
class Sizes:
    """How large the planted faults are: mm out of focus, rings across a spot and their contrast, light, white level."""

    soft_mm: float = 1.5
    fringes: float = 8.0
    ring_contrast: float = 0.1
    glare: float = 0.15
    white: float = 0.45


GROSS = Sizes()
STRICT = Sizes(soft_mm=1.1, fringes=5.0, ring_contrast=0.05, glare=0.05, white=0.7)
PRESET = """holders_preset = 2
title = "Session"
route = "print"
[bed]
name = "a4-wide"
[film]
format = "roll-6x6-single"
[material]
name = "petg"
[printer]
name = "p300"
[lip]

rebate_edge = "left"
rebate_mm = 1.5
"""


def planted(count: int, seed: int) -> dict[int, str]:
    """Which sheets, numbered from 1, have which fault; the twin is never the first."""
    places = np.random.default_rng([seed, 77]).choice(np.arange(2, count + 1), len(FAULTS), replace=False)
    return dict(zip((int(place) for place in places), FAULTS, strict=True))


def scene(seed: int, number: int, window: tuple[float, float], rebate_mm: float) -> simulator.FinishedScan:
    """A sound scan of sheet ``number``: its own picture, a clear border on the left, grain, dust, a small turn."""
    random = np.random.default_rng([seed, number])
    view = np.array(pictures.landscape(random), np.float32)  # the few open pictures would come twice
    clear = max(1, round(rebate_mm / window[0] * view.shape[1]))
    view[:, :clear] = 1.0  # no density: the film's clear border
    return simulator.FinishedScan(
        surface=FilmSurface(*window, ledge_mm=2.5, middle_mm=float(random.uniform(-0.15, 0.05))),
        focus_mm=2.5, dpi=DPI, skew_deg=float(random.normal(0, 0.3)), contrast=float(random.uniform(0.9, 1.6)),
        detail=float(random.uniform(0.04, 0.1)), grain=float(random.uniform(0.02, 0.06)),
        glare=float(random.uniform(0, 0.01)), flare=0.02, band_lp_mm=12.0,
        sensor=Sensor(noise=float(random.uniform(5e-4, 3e-3)), bits=16), seed=int(random.integers(2**31)), view=view,
    )  # fmt: skip


def spoilt(
    sound: simulator.FinishedScan, fault: str, other: simulator.FinishedScan, sizes: Sizes
) -> simulator.FinishedScan:
    """The scan with one planted fault; ``other`` is the sheet before it."""
    if fault == "mirrored":
        return dataclasses.replace(sound, mirrored=True)
    if fault == "soft":
        return dataclasses.replace(sound, focus_mm=sound.focus_mm + sizes.soft_mm)
    if fault == "rings":
        w, h = sound.surface.width_mm, sound.surface.height_mm
        rings = simulator.Rings(
            "spot", 0.4 * w, 0.6 * h, radius_mm=9.0, fringes=sizes.fringes, contrast=sizes.ring_contrast
        )
        return dataclasses.replace(sound, rings=rings)
    if fault == "glare":
        return dataclasses.replace(sound, glare=sizes.glare)
    if fault == "clipped":
        return dataclasses.replace(sound, sensor=dataclasses.replace(sound.sensor, white=sizes.white))
    return dataclasses.replace(sound, view=other.view, contrast=other.contrast)


def main() -> int:
    """Make the scans, run the command, and print what it found."""
    ask = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    ask.add_argument("--scans", type=int, default=50)
    ask.add_argument("--seed", type=int, default=0)
    ask.add_argument("--strict", action="store_true", help="plant smaller faults")
    ask.add_argument("--keep", type=Path, default=ROOT / "out" / "judge_session")
    given = ask.parse_args()
    sizes = STRICT if given.strict else GROSS
    folder = given.keep / f"{given.seed}{'-strict' if given.strict else ''}"
    folder.mkdir(parents=True, exist_ok=True)
    preset = given.keep / "session.toml"
    preset.write_text(PRESET, encoding="utf-8")
    wanted = expected_of(study_file(preset))
    faults = planted(given.scans, given.seed)
    for number in range(1, given.scans + 1):
        path = folder / f"sheet-{number:02d}.tif"
        if path.is_file():
            continue
        made = scene(given.seed, number, wanted.window_mm, wanted.rebate_mm)
        if number in faults:
            before = scene(given.seed, number - 1, wanted.window_mm, wanted.rebate_mm)
            made = spoilt(made, faults[number], before, sizes)
        write(path, made)
    found = session(folder, preset)
    rows = {row["number"]: row for row in found["sheets"]}
    missed = [number for number, fault in faults.items() if fault not in rows[number]["faults"]]
    false = [n for n in found["again"] if n not in faults]
    for number, fault in sorted(faults.items()):
        print(f"sheet {number:02d}, {fault}: {rows[number]['line']}")
    for number in false:
        print(f"sheet {number:02d}, sound: {rows[number]['line']}")
    print(
        f"{len(rows)} sheets, {len(faults) - len(missed)} of {len(faults)} faults found, {len(false)} false"
    )
    return int(bool(missed) or len(false) > 1)


def write(path: Path, scan: simulator.FinishedScan) -> None:
    """The scan as a TIFF with its resolution."""
    import tifffile  # noqa: PLC0415

    tifffile.imwrite(
        path, simulator.render(scan), resolution=(DPI, DPI), resolutionunit="INCH", rowsperstrip=64
    )


def session(folder: Path, preset: Path) -> dict[str, Any]:
    """Run the command: killed after a third of the sheets, taken up again, and its answer."""
    command = [sys.executable, "-m", "holders", "session", str(folder), "--preset", str(preset)]
    with subprocess.Popen(command, cwd=ROOT, stdout=subprocess.PIPE, text=True) as first:
        assert first.stdout is not None
        for line, _ in enumerate(first.stdout, 1):
            if line >= len(list(folder.glob("*.tif"))) // 3:
                first.kill()
                break
    done = subprocess.run([*command, "--json"], cwd=ROOT, capture_output=True, text=True, check=True)
    return dict(json.loads(done.stdout))


if __name__ == "__main__":
    sys.exit(main())
