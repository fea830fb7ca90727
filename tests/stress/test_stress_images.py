"""Spoilt pictures through ``focus`` and ``inspect``: refused in words or read honestly, in bounded memory and time.

The short form runs always; ``--slow`` runs the two thousand files of ``scripts/stress_images.py``.
"""

from __future__ import annotations

import collections
import importlib.util
import io
import random
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile
from PIL import Image

SCRIPTS = Path(__file__).parents[2] / "scripts"


def script(name: str):
    """A script of the project as a module, by its own name (one script imports the other)."""
    if name not in sys.modules:
        spec = importlib.util.spec_from_file_location(name, SCRIPTS / f"{name}.py")
        assert spec is not None
        assert spec.loader is not None
        sys.modules[name] = importlib.util.module_from_spec(spec)
        spec.loader.exec_module(sys.modules[name])
    return sys.modules[name]


mutants = script("image_mutants")
stress = script("stress_images")


def assert_none_wrong(found) -> None:
    assert [f"{o.name} {o.command}: {o.wrong}" for o in found if o.wrong] == []


def test_some_spoilt_files_are_refused_or_read():
    found = stress.stress(24, seed=1)
    assert len(found) == 48
    assert_none_wrong(found)
    # both ends of the scale are met: files that are read, files that are refused, by both commands
    for command in ("focus", "inspect"):
        codes = collections.Counter(o.code for o in found if o.command == command)
        assert codes[0] >= 2
        assert codes[2] >= 8


@pytest.mark.slow
def test_two_thousand_spoilt_files():
    found = stress.stress(2000, seed=1)
    assert len(found) == 4000
    assert_none_wrong(found)


def test_the_same_seed_spoils_alike_and_every_way_comes():
    first = [mutants.mutant(random.Random(f"7/{n}"), n) for n in range(20)]
    assert first == [mutants.mutant(random.Random(f"7/{n}"), n) for n in range(20)]
    names = {mutants.chosen(random.Random(f"1/{n}"), n)[0].split(".", 1)[0] for n in range(300)}
    assert names == {way.__name__ for _, _, ways, _ in mutants.KINDS for way in ways}


def test_files_are_honest_before_they_are_spoilt():
    for n in range(12):
        image = tifffile.imread(io.BytesIO(mutants.tiff(random.Random(n))))
        assert {mutants.WIDE, mutants.HIGH} <= set(image.shape)
        for make in (mutants.png, mutants.jpeg):
            with Image.open(io.BytesIO(make(random.Random(n)))) as picture:
                assert picture.size == (mutants.WIDE, mutants.HIGH)
                pixels = np.asarray(picture.convert("RGB") if picture.mode == "P" else picture, dtype=float)
                assert np.ptp(pixels) > 0.3 * pixels.max()


def test_a_tag_is_set_where_another_reader_finds_it():
    raw = bytearray(mutants.written(np.zeros((8, 16), np.uint16), photometric="minisblack", bigtiff=True))
    mutants.set_tag(raw, 274, 3, 1, 6)
    mutants.set_tag(raw, 256, 4, 1, 15)
    with tifffile.TiffFile(io.BytesIO(bytes(raw))) as file:
        assert file.pages[0].tags[256].value == 15


def test_the_judge_tells_what_breaks_the_rules():
    """Crashes, machine failures, slowness and greed are each seen; a refusal and an answer are not."""
    good = stress.Outcome("x.tif", "focus", 2, 1.0, 100.0, "holders: no")
    assert good.wrong == ""
    for change in ({"code": 3}, {"code": 90}, {"code": -1}, {"seconds": 10.5}, {"peak_mb": 1025.0}):
        assert stress.Outcome(**{**vars(good), **change}).wrong


def test_a_hang_of_the_child_is_an_outcome(monkeypatch, tmp_path):
    path = tmp_path / "x.tif"
    path.write_bytes(b"II*\0")
    watched = stress.Watched()
    try:
        assert [o.code for o in watched.call(path)] == [2, 2]
        monkeypatch.setattr(stress, "CLOCK_LIMIT_S", 0.0)
        (late,) = watched.call(path)
        assert "no answer" in late.wrong
        assert watched._child is None  # ended, and started anew for the next
    finally:
        watched.end()
