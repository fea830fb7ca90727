"""Outside judges of the printed files: a slicer takes every part without mending it, a mesh checker finds no fault."""

from __future__ import annotations

import re
import shutil
import subprocess
from pathlib import Path

import pytest

from holders.facts.models import Printer
from holders.output.bundle.plan_files import files_for
from holders.preset.load import load
from holders.study import Study
from tests.kept import shipped_study
from tests.presets_made import SHIPPED

SLICER, CHECKER = (
    shutil.which("prusa-slicer"),
    shutil.which("admesh"),
)  # Debian's general slicer and mesh checker
PRINTED = [path for path in SHIPPED if load(path).route == "print"]
SHORT = [path for path in PRINTED if path.stem == "8x10-small-printer"]
MENDED = (
    "repair",
    "degenerate",
    "edges_fixed",
    "facets_removed",
    "facets_added",
    "facets_reversed",
    "backwards",
)

pytestmark = pytest.mark.outside
slicing = pytest.mark.skipif(SLICER is None, reason="no slicer here")
checking = pytest.mark.skipif(CHECKER is None, reason="no mesh checker here")


def said(*command: str | None, folder: Path) -> str:
    done = subprocess.run(
        [str(word) for word in command],
        capture_output=True,
        text=True,
        errors="replace",  # one of them prints the file's header as it finds it
        check=False,
        timeout=300,
        cwd=folder,
        env={
            "PATH": "/usr/bin:/bin",
            "HOME": str(folder),
            "LC_ALL": "C.UTF-8",
            "QT_QPA_PLATFORM": "offscreen",
        },
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done.stdout + done.stderr


def version(folder: Path) -> str:
    return re.findall(r"^\w+-[\d.]+\S*", said(SLICER, "--help", folder=folder), re.MULTILINE)[0]


def settings(printer: Printer) -> list[str]:
    x, y, layer = printer.build_x_mm, printer.build_y_mm, printer.layer_mm
    return [
        f"--bed-shape=0x0,{x:g}x0,{x:g}x{y:g},0x{y:g}", f"--nozzle-diameter={printer.nozzle_mm:g}",
        f"--layer-height={layer:g}", f"--first-layer-height={layer:g}", "--filament-diameter=1.75",
        "--temperature=230", "--skirts=0", "--dont-arrange",
    ]  # fmt: skip


def parts(found: Study, folder: Path) -> list[Path]:
    made = files_for(found.design, found.job.paper)
    paths = []
    for name, make in made.items():
        if name.endswith((".stl", ".3mf")):
            (folder / name).write_bytes(make())
            paths.append(folder / name)
    return paths


def slices(found: Study, path: Path, height: float) -> None:
    """It needs no mending, keeps its size, and gives as many layers as it is high."""
    printer = found.job.printer
    assert printer is not None
    told = said(SLICER, "--info", str(path), folder=path.parent)
    assert "manifold = yes" in told
    assert not [word for word in MENDED if word in told.lower()], told
    assert float(re.findall(r"size_z = ([\d.]+)", told)[0]) == pytest.approx(height, abs=1e-3)
    code = path.with_suffix(".gcode")
    # supports would be put under whatever is flatter than 40 degrees and no bridge
    support = ["--support-material", "--support-material-auto", "--support-material-threshold=40"]
    centre = f"--center={printer.build_x_mm / 2:g},{printer.build_y_mm / 2:g}"
    said(
        SLICER, "--export-gcode", *settings(printer), *support, centre, "-o", str(code), str(path),
        folder=path.parent,
    )  # fmt: skip
    assert ";TYPE:Support" not in code.read_text()
    tops = {float(z) for z in re.findall(r"^;Z:([\d.]+)", code.read_text(), re.MULTILINE)}
    assert len(tops) == round(height / printer.layer_mm)
    assert max(tops) == pytest.approx(height, abs=1e-6)


def every_part_slices(path: Path, folder: Path, capsys: pytest.CaptureFixture[str]) -> None:
    found = shipped_study(path)
    heights = {part.name: part.z1 - part.z0 for part in found.design.parts}
    files = [file for file in parts(found, folder) if file.suffix == ".stl"]
    assert {file.stem for file in files} == set(heights)
    for file in files:
        slices(found, file, heights[file.stem])
    with capsys.disabled():
        print(f" {path.stem}: {len(files)} sliced by {version(folder)} ", end="")


@slicing
@pytest.mark.parametrize("path", SHORT, ids=lambda p: p.stem)
def test_a_split_holder_slices_without_mending(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    every_part_slices(path, tmp_path, capsys)


@slicing
@pytest.mark.slow
@pytest.mark.parametrize("path", [path for path in PRINTED if path not in SHORT], ids=lambda p: p.stem)
def test_every_printed_part_slices_without_mending(
    path: Path, tmp_path: Path, capsys: pytest.CaptureFixture[str]
) -> None:
    every_part_slices(path, tmp_path, capsys)


def every_plate_slices(path: Path, folder: Path) -> None:
    """Each package is one plate as it is: the slicer takes it without moving anything, with every piece in it."""
    found = shipped_study(path)
    assert found.job.printer is not None
    packages = [file for file in parts(found, folder) if file.suffix == ".3mf"]
    bodies = 0
    for package in packages:
        told = said(SLICER, "--info", str(package), folder=folder)
        bodies += told.count("manifold = yes")
        assert not [word for word in MENDED if word in told.lower()], told
        code = package.with_suffix(".gcode")
        said(
            SLICER,
            "--export-gcode",
            *settings(found.job.printer),
            "-o",
            str(code),
            str(package),
            folder=folder,
        )
        stays_on(found.job.printer, code)
    assert bodies == sum(part.quantity for part in found.design.parts)


def stays_on(printer: Printer, code: Path) -> None:
    """No line of plastic leaves the plate."""
    text = code.read_text()
    for axis, side in (("X", printer.build_x_mm), ("Y", printer.build_y_mm)):
        places = [
            float(at) for at in re.findall(rf"^G1 [^;\n]*{axis}(-?[\d.]+)[^;\n]* E", text, re.MULTILINE)
        ]
        assert places
        assert min(places) > 0
        assert max(places) < side


@slicing
def test_every_plate_of_a_split_holder_slices_as_it_lies(tmp_path: Path) -> None:
    every_plate_slices(SHORT[0], tmp_path)


@slicing
@pytest.mark.slow
@pytest.mark.parametrize("path", [path for path in PRINTED if path not in SHORT], ids=lambda p: p.stem)
def test_every_plate_of_a_printed_holder_slices_as_it_lies(path: Path, tmp_path: Path) -> None:
    every_plate_slices(path, tmp_path)


def without_fault(path: Path) -> None:
    told = said(CHECKER, str(path), folder=path.parent)
    facets = int(re.findall(r"Number of facets\s*:\s*(\d+)", told)[0])
    assert facets > 100
    assert re.search(rf"Number of facets\s*:\s*{facets}\s+{facets}\b", told)
    assert re.search(r"Total disconnected facets\s*:\s*0\s+0\b", told), told
    for words in ("Degenerate facets", "Edges fixed", "Facets removed", "Facets added", "Facets reversed",
                  "Backwards edges", "Normals fixed"):  # fmt: skip
        assert re.search(rf"{words}\s*:\s*0\b", told), f"{words}: {told}"


@checking
@pytest.mark.parametrize("path", SHORT, ids=lambda p: p.stem)
def test_no_facet_needs_mending(path: Path, tmp_path: Path) -> None:
    for file in parts(shipped_study(path), tmp_path):
        if file.suffix == ".stl":
            without_fault(file)


@checking
@pytest.mark.slow
@pytest.mark.parametrize("path", [path for path in PRINTED if path not in SHORT], ids=lambda p: p.stem)
def test_no_facet_of_any_printed_part_needs_mending(path: Path, tmp_path: Path) -> None:
    for file in parts(shipped_study(path), tmp_path):
        if file.suffix == ".stl":
            without_fault(file)


@checking
def test_the_checker_does_see_a_missing_facet(tmp_path: Path) -> None:
    """The check can fail: one facet taken out of a sound file."""
    file = next(f for f in parts(shipped_study(SHORT[0]), tmp_path) if f.suffix == ".stl")
    data = file.read_bytes()
    count = int.from_bytes(data[80:84], "little")
    (tmp_path / "torn.stl").write_bytes(data[:80] + (count - 1).to_bytes(4, "little") + data[84:-50])
    with pytest.raises(AssertionError):
        without_fault(tmp_path / "torn.stl")
