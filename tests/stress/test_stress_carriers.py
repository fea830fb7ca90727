"""The short form of ``scripts/stress_carriers.py``: files that may carry a preset, as bombs and spoilt."""

from __future__ import annotations

import time
import zipfile
import zlib

import pytest

from holders.preset.carried import MAX_ENTRIES, preset_carried
from tests.stress.test_stress_images import script

carriers = script("stress_carriers")


def test_two_hundred_spoilt_files_end_in_a_preset_or_a_line() -> None:
    faults = {n: carriers.fault(carriers.case(3, n)[1]) for n in range(1, 250) if n % 5}
    assert {n: words for n, words in faults.items() if words} == {}


@pytest.mark.parametrize("maker", carriers.BOMBS, ids=lambda maker: maker.__name__)
def test_a_bomb_is_met_in_little_time(maker) -> None:  # type: ignore[no-untyped-def]
    number = 5 * carriers.BOMBS.index(maker)
    name, data = carriers.case(4, number)
    assert name == maker.__name__
    start = time.process_time()
    assert carriers.fault(data) == ""
    assert time.process_time() - start < carriers.LIMIT_S


def test_the_bombs_are_bombs() -> None:
    """Another reader unpacks all of it, and lists all entries."""
    unpacker = zlib.decompressobj(-15)
    assert len(unpacker.decompress(carriers.deflated_zeros())) == carriers.ZEROS
    local, line = carriers.record(b"a/b.toml", 0, 0, 0, 0)
    many = MAX_ENTRIES + 1
    data = local + line * many + carriers.ending(many, len(line) * many, len(local))
    import io

    assert len(zipfile.ZipFile(io.BytesIO(data)).infolist()) == many


def test_honest_files_carry_theirs() -> None:
    """The generator's own files are read, all kinds of them, so that spoiling them says something."""
    import random

    for n in range(40):
        assert preset_carried(carriers.honest(random.Random(n))) == carriers.TEXT
