"""The system itself bounds what a process takes; what asks for more ends in one clear line and exit code 3."""

from __future__ import annotations

import resource
import subprocess
import sys
import time
from pathlib import Path

import pytest

from holders.core import processes
from holders.core.bounds import TooMuchTime, bounded_time
from holders.core.errors import InputError
from holders.core.limits import MEMORY_BYTES, MOST_PIECES, MOST_WINDOWS
from holders.preset.load import parse
from holders.study import study

pytestmark = pytest.mark.skipif(sys.platform != "linux", reason="the system bounds both on Linux")
ROOT = Path(__file__).parents[2]
GREEDY = """
import typer
from holders.core.bounds import bound_memory
from holders.face.cli.told import told
assert bound_memory(400 * 2**20)
app = typer.Typer()
@app.command()
@told
def take():
    import numpy
    numpy.ones(2**30 // 8)
app()
"""


def test_memory_beyond_the_bound_ends_in_one_clear_line() -> None:
    done = subprocess.run(
        [sys.executable, "-c", GREEDY], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.returncode == 3
    assert done.stderr.startswith("holders: the machine ran out of memory")
    assert done.stderr.count("\n") == 1


def test_time_beyond_the_bound_ends_the_work_and_the_bound_goes_with_it() -> None:
    before = resource.getrlimit(resource.RLIMIT_CPU)
    start = time.process_time()
    with pytest.raises(TooMuchTime, match="nothing was half-written"), bounded_time(1):
        _busy(start + 20)
    assert time.process_time() - start < 5
    assert resource.getrlimit(resource.RLIMIT_CPU) == before


OWN_BOUNDS = """
import resource
from holders.core.bounds import bounded_time
resource.setrlimit(resource.RLIMIT_CPU, (1000, 2000))
with bounded_time(50):
    soft, hard = resource.getrlimit(resource.RLIMIT_CPU)
    assert 50 <= soft < 100, soft
    assert hard == 2000
with bounded_time(5000):
    assert resource.getrlimit(resource.RLIMIT_CPU) == (1000, 2000)
assert resource.getrlimit(resource.RLIMIT_CPU) == (1000, 2000)
print("kept")
"""


def test_bounds_that_a_process_came_with_are_kept() -> None:
    done = subprocess.run(
        [sys.executable, "-c", OWN_BOUNDS], cwd=ROOT, capture_output=True, text=True, check=False
    )
    assert done.stdout == "kept\n", done.stderr


def _busy(until: float) -> None:
    while time.process_time() < until:
        pass


def _says(line: object) -> None:
    processes.settle()
    line.send(resource.getrlimit(resource.RLIMIT_DATA)[0])  # type: ignore[attr-defined]


def test_every_worker_is_bounded() -> None:
    process, line = processes.start(_says)
    assert line.poll(60)
    assert 0 < line.recv() <= MEMORY_BYTES
    process.join()


LARGE = """
holders_preset = 1
title = "Low Weir, all at once"
route = "print"
bed = {name = "a3"%s}
film = {format = "%s", frames = 1}
material = {name = "petg"}
layout = {count = "fill"}
printer = {build_x_mm = %s, build_y_mm = %s}
"""


@pytest.mark.parametrize(
    ("text", "field", "most"),
    [
        (LARGE % ("", "110", 300.0, 300.0), "layout.count", MOST_WINDOWS),
        (
            LARGE
            % (
                ", glass_width_mm = 600.0, glass_length_mm = 900.0, lamp_width_mm = 560.0, lamp_length_mm = 860.0",
                "110",
                300.0,
                300.0,
            ),
            "layout.count",
            MOST_WINDOWS,
        ),
        (LARGE % ("", "8x10", 50.0, 50.0), "printer.build_x_mm", MOST_PIECES),
    ],
    ids=["windows", "windows on a large glass", "pieces"],
)
def test_what_one_holder_may_have_is_bounded_before_it_is_designed(text: str, field: str, most: int) -> None:
    start = time.process_time()
    with pytest.raises(InputError) as refused:
        study(parse(text.replace(", frames = 1", "") if "8x10" in text else text, "p.toml"), text)
    assert refused.value.field == field
    assert str(most) in refused.value.way_out
    assert time.process_time() - start < 5.0
