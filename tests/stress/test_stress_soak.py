"""What ``scripts/stress_soak.py`` judges by; ``--slow`` runs a short soak of the page itself."""

from __future__ import annotations

import os
import random
import subprocess
import sys

import pytest

from tests.stress.test_stress_images import script

soak = script("stress_soak")


def test_growth_is_over_what_was_held_after_the_first_changes() -> None:
    assert soak.growth([(50, 100.0), (200, 200.0), (250, 300.0), (2000, 209.0)]) == pytest.approx(0.045)
    assert soak.growth([(50, 100.0)]) == 0.0


def test_every_change_is_another_holder() -> None:
    rng = random.Random(1)
    assert len({str(soak.form(rng, 1)) for _ in range(200)}) == 200


@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_memory_of_children_counts() -> None:
    code = "import time; x = bytearray(120 << 20); x[::4096] = b'x' * (30 << 10); print(1, flush=True); time.sleep(30)"
    before = soak.held_mib(os.getpid())
    child = subprocess.Popen([sys.executable, "-c", code], stdout=subprocess.PIPE)
    try:
        assert child.stdout is not None
        assert child.stdout.readline()
        assert soak.held_mib(os.getpid()) - before > 110
    finally:
        child.kill()
        child.wait()
        child.stdout.close()


@pytest.mark.slow
@pytest.mark.skipif(sys.platform != "linux", reason="reads /proc")
def test_the_page_answers_a_few_changes() -> None:
    held, wrong = soak.soak(12, seed=2, settled=6)
    assert wrong == []
    assert [number for number, _ in held] == [6, 12]
