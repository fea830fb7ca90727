"""The package travels: a wheel installed elsewhere has its presets, schema, facts and page, and makes a holder.

The fresh environment borrows the libraries of the one that runs the tests, so that nothing is fetched.
"""

from __future__ import annotations

import json
import os
import shutil
import site
import subprocess
import sys
import venv
import zipfile
from pathlib import Path

import pytest

ROOT = Path(__file__).resolve().parent.parent
LEFT_BEHIND = shutil.ignore_patterns(
    ".git", ".venv", "build", "out", "*.egg-info", "__pycache__", "tests", "docs", ".*_cache"
)


def run(*command: str | Path, cwd: Path, **more: str) -> subprocess.CompletedProcess[str]:
    env = {key: value for key, value in os.environ.items() if key not in ("PYTHONPATH", "PYTHONHOME")}
    done = subprocess.run(
        list(map(str, command)), cwd=cwd, env=env | more, capture_output=True, text=True, check=False
    )
    assert done.returncode == 0, done.stdout + done.stderr
    return done


@pytest.fixture(scope="module")
def wheel(tmp_path_factory: pytest.TempPathFactory) -> Path:
    room = tmp_path_factory.mktemp("wheel")
    shutil.copytree(ROOT, room / "clone", ignore=LEFT_BEHIND)
    run(
        sys.executable, "-m", "pip", "wheel", "--quiet", "--no-deps", "--no-build-isolation", "--no-index",
        "--wheel-dir", room, room / "clone", cwd=room,
    )  # fmt: skip
    (found,) = room.glob("holders-*.whl")
    return found


@pytest.fixture(scope="module")
def elsewhere(wheel: Path, tmp_path_factory: pytest.TempPathFactory) -> Path:
    """The ``holders`` command of an environment that has the wheel, and of ours only the libraries."""
    folder = tmp_path_factory.mktemp("fresh")
    venv.EnvBuilder(with_pip=False, symlinks=os.name != "nt").create(folder)
    (own,) = folder.glob("Lib/site-packages" if os.name == "nt" else "lib/python*/site-packages")
    run(
        sys.executable, "-m", "pip", "--python", folder, "install", "--quiet", "--no-deps", "--no-index", wheel,
        cwd=folder,
    )  # fmt: skip
    borrowed = [path for path in site.getsitepackages() if Path(path).is_dir()]
    (own / "libraries.pth").write_text("\n".join(borrowed), encoding="utf-8")
    return folder / ("Scripts/holders.exe" if os.name == "nt" else "bin/holders")


def test_the_wheel_holds_what_the_program_reads(wheel: Path) -> None:
    names = set(zipfile.ZipFile(wheel).namelist())
    for path in (ROOT / "presets").iterdir():
        assert f"holders/presets/{path.name}" in names
    for path in (ROOT / "holders").rglob("*"):
        if path.is_file() and "__pycache__" not in path.parts:
            assert f"holders/{path.relative_to(ROOT / 'holders').as_posix()}" in names
    assert not [name for name in names if name.startswith(("tests", "scripts", "presets"))]


def test_the_shipped_presets_are_listed_from_any_folder(elsewhere: Path, tmp_path: Path) -> None:
    rows = json.loads(run(elsewhere, "list", "presets", "--json", cwd=tmp_path).stdout)["rows"]
    assert {Path(row["file"]).stem for row in rows} == {
        path.stem for path in (ROOT / "presets").glob("*.toml")
    }
    assert all(ROOT not in Path(row["file"]).parents for row in rows)  # its own, not the checkout's


def test_a_bare_name_makes_a_holder_from_any_folder(elsewhere: Path, tmp_path: Path) -> None:
    done = run(elsewhere, "make", "8x10-mat-board", "--json", cwd=tmp_path)
    found = json.loads(done.stdout)
    assert found["ok"] is True
    for record in found["files"]:
        assert (tmp_path / record["path"]).stat().st_size == record["bytes"]


def test_the_page_starts_with_the_shipped_presets(elsewhere: Path, tmp_path: Path) -> None:
    code = (
        "import json; from holders.face.page.form.form import form; from holders.face.page.assets import assets; "
        "print(json.dumps([[row['title'] for row in form()['presets']], assets()['index.html'].data[:15].decode()]))"
    )
    python = elsewhere.with_name("python.exe" if os.name == "nt" else "python")
    titles, head = json.loads(run(python, "-c", code, cwd=tmp_path).stdout)
    assert len(titles) == len(list((ROOT / "presets").glob("*.toml")))
    assert head.lower() == "<!doctype html>"


@pytest.mark.slow
def test_a_printed_holder_needs_the_cad_kernel_of_the_environment(elsewhere: Path, tmp_path: Path) -> None:
    found = json.loads(run(elsewhere, "make", "8x10-printed", "--json", "--no-steps", cwd=tmp_path).stdout)
    assert {"stl", "3mf", "step"} <= {record["format"] for record in found["files"]}
