"""The short form of ``scripts/stress_make.py``.

Kills at each step of writing are in ``tests/output/formats/test_write.py``.
"""

from __future__ import annotations

import sys
from pathlib import Path

import pytest

from tests.stress.test_stress_images import script

pytestmark = pytest.mark.skipif(not sys.platform.startswith("linux"), reason="process groups and /proc")


@pytest.fixture(scope="module")
def bench(tmp_path_factory: pytest.TempPathFactory):  # type: ignore[no-untyped-def]
    return script("stress_make").Bench(tmp_path_factory.mktemp("stress"))


def test_killed_alone_or_with_its_helper_or_the_helper_alone(bench) -> None:  # type: ignore[no-untyped-def]
    assert script("stress_make").killed(bench, 3, seed=1) == []


def test_the_judge_sees_a_mix(bench, tmp_path: Path) -> None:  # type: ignore[no-untyped-def]
    out = tmp_path / "out"
    bench.old(out)
    assert bench.state(out) == "old"
    (out / bench.slug / "drawing.svg").unlink()
    assert bench.state(out).startswith("MIX")


def test_the_judge_sees_a_process_that_goes_on() -> None:
    import os
    import signal
    import subprocess

    left = subprocess.Popen([sys.executable, "-c", "import time; time.sleep(60)"], start_new_session=True)
    try:
        assert not script("stress_make").emptied(left.pid, within_s=0.3)
    finally:
        os.killpg(left.pid, signal.SIGKILL)
        left.wait()
    assert script("stress_make").emptied(left.pid)
