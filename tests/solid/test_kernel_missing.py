"""A machine without the kernel or a system library gets one clear line; the kernel loads without its viewer."""

from __future__ import annotations

import subprocess
import sys
from pathlib import Path

import pytest

from holders.solid.kernel import PACKAGES, advice

ROOT = Path(__file__).parent.parent.parent


@pytest.mark.parametrize(("library", "package"), sorted(PACKAGES.items()))
def test_a_missing_library_names_its_debian_package(library: str, package: str) -> None:
    said = advice(ImportError(f"{library}.so.1: cannot open shared object file: No such file or directory"))
    assert f"apt-get install {package}" in said
    assert library in said
    assert "\n" not in said


def test_an_unknown_library_is_named() -> None:
    said = advice(ImportError("libstrange-2.so.6: cannot open shared object file: No such file"))
    assert "libstrange-2" in said


def test_a_missing_module_says_what_to_install() -> None:
    assert "pip install cadquery" in advice(ImportError("No module named 'OCP'"))


def run(code: str, folder: Path | None = None) -> subprocess.CompletedProcess[str]:
    path = [str(ROOT)] if folder is None else [str(folder), str(ROOT)]
    code = f"import sys; sys.path[:0] = {path!r}\n{code}"
    return subprocess.run([sys.executable, "-c", code], capture_output=True, text=True, check=False)


@pytest.mark.parametrize(
    ("raised", "wanted"),
    [
        ("libGL.so.1: cannot open shared object file: No such file or directory", "libgl1"),
        ("No module named 'OCP'", "pip install cadquery"),
    ],
)
def test_import_failure_becomes_a_machine_error(tmp_path: Path, raised: str, wanted: str) -> None:
    fake = tmp_path / "OCP"
    fake.mkdir()
    (fake / "__init__.py").write_text(f"raise ImportError({raised!r})\n")
    done = run(
        "from holders.core.errors import MachineError\n"
        "try:\n    import holders.solid.build\n"
        "except MachineError as error:\n    print(error.exit_code, error)\n",
        tmp_path,
    )
    assert done.stderr == ""
    assert done.stdout.startswith("3 ")
    assert wanted in done.stdout
    assert done.stdout.count("\n") == 1


def test_only_the_kernel_loads_not_the_viewer() -> None:
    done = run(
        "import holders.solid.build, holders.solid.mesh, holders.solid.exchange\n"
        "print([m for m in ('cadquery', 'vtkmodules', 'ezdxf', 'trimesh') if m in sys.modules])"
    )
    assert done.stdout.strip() == "[]", done.stderr
