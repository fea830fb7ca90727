"""Tests run in a fork of this process, which has the large libraries loaded already: a mutant costs no new start."""

from __future__ import annotations

import os
import resource
import signal
import sys
import time
import traceback
from contextlib import suppress
from pathlib import Path
from types import ModuleType

STOPPED = 2  # pytest's exit code when it was told to stop
PRELOADED = (
    "numpy", "scipy.sparse.linalg", "scipy.optimize", "scipy.interpolate", "scipy.ndimage", "scipy.signal",
    "scipy.special", "scipy.spatial", "shapely", "pydantic", "tomlkit", "pytest", "hypothesis",
    "_hypothesis_pytestplugin", "anyio.pytest_plugin", "xdist.plugin", "jsonschema", "reportlab.pdfgen.canvas",
    "fastapi.testclient", "typer.testing", "rich.table", "ezdxf", "trimesh", "skimage", "pdfplumber", "skfem",
)  # fmt: skip
LONGEST_S = 3600.0  # by the clock: a busy machine finds no mutant
MOST_PROCESSOR_S = 120  # beyond what the tests may take: it is caught in an endless loop


def preload() -> None:
    """Load what most tests need; nothing of holders, which is what changes."""
    for name in ("OMP_NUM_THREADS", "OPENBLAS_NUM_THREADS"):
        os.environ[name] = "1"  # a process with threads must not fork
    for name in PRELOADED:
        __import__(name)
    if any(name.split(".")[0] == "holders" for name in sys.modules):
        raise SystemExit("holders is loaded already: its mutants would not be")


def forked(
    arguments: list[str], folder: Path, environment: dict[str, str], out: Path, most_s: int = MOST_PROCESSOR_S
) -> int:
    """Run pytest in ``folder`` with all output in ``out``; its exit code.

    It is that of a signal (-9, -24) where it took more of the processor than may be. Raises ``TimeoutError`` where it
    did not end by the clock, which says nothing of the tests.
    """
    pid = os.fork()
    if pid == 0:
        _child(arguments, folder, environment, out, most_s)
    until = time.monotonic() + LONGEST_S
    while time.monotonic() < until:
        done, status = os.waitpid(pid, os.WNOHANG)
        if done:
            _end_group(pid)  # what the tests left behind
            return os.waitstatus_to_exitcode(status)
        time.sleep(0.02)
    _end_group(pid)
    os.waitpid(pid, 0)
    raise TimeoutError(f"the tests did not end within {LONGEST_S:g} s")


def _end_group(pid: int) -> None:
    with suppress(ProcessLookupError):
        os.killpg(pid, signal.SIGKILL)


def _child(arguments: list[str], folder: Path, environment: dict[str, str], out: Path, most_s: int) -> None:
    code = 70
    try:
        os.setsid()
        resource.setrlimit(resource.RLIMIT_CPU, (most_s, most_s + 5))
        with out.open("wb") as stream:
            os.dup2(stream.fileno(), 1)
            os.dup2(stream.fileno(), 2)
        os.chdir(folder)
        os.environ.clear()
        os.environ.update(environment)
        sys.dont_write_bytecode = True
        sys.modules["__main__"] = ModuleType("__main__")  # what processes of the tests would load again
        sys.path[:0] = environment["PYTHONPATH"].split(os.pathsep)
        import pytest  # noqa: PLC0415 - it is loaded already

        code = int(pytest.main(arguments))
        sys.stdout.flush()
        sys.stderr.flush()
    except BaseException:
        traceback.print_exc()
    finally:
        os._exit(code)
