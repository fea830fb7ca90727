"""Advice on one holder: its tolerance stack laid beside a measured band, in words and as JSON."""

from __future__ import annotations

import importlib.util
import json
import re
import sys
from pathlib import Path

import numpy as np
import pytest
import tifffile
from typer.testing import CliRunner

from holders.face.cli.main import app
from holders.measure.slope.advice import job_advice
from holders.measure.slope.result import FocusResult, Profile
from holders.output.words.advising import advice_words
from holders.workshop.budget.contributors import contributors, frame_contributors
from holders.workshop.budget.share import sharp_share
from holders.workshop.budget.tolerance import draw
from tests.kept import shipped_study

ROOT = Path(__file__).parents[3]
PRINTED = ROOT / "presets" / "5x7-printed.toml"


def measured(height: float, half: float, *, at_edge: bool = False, band_seen: bool = True) -> FocusResult:
    return FocusResult(
        height=height, height_sigma=0.02, band=(height - half, height + half), at_edge=at_edge, confidence=0.9,
        profile=Profile(height=(0.0, 1.0), sharpness=(1.0, 0.5)), heights_seen=(0.0, 6.0), channels=(), dpi=2400.0,
        rows_read=1, rows_total=1, read_share=1.0, frequency_lp_mm=20.0, band_share=0.7, band_seen=band_seen,
        turn_deg=0.0, target="ruling", tick_mm=0.5,
    )  # fmt: skip


@pytest.fixture(scope="module")
def holder():
    return shipped_study(PRINTED)


@pytest.mark.parametrize("half", [0.05, 0.2, 0.35, 0.6])
def test_the_stated_probability_is_that_of_drawing_every_tolerance(holder, half):
    """The stack drawn cause by cause from its own laws, not as one normal sum; the film's whole span must be inside."""
    height = holder.design.heights.sharp_plane
    found = measured(height, half)
    text = advice_words(found, holder)[0]
    told = int(re.search(r"with (\d+) % probability", text)[1])
    frame = frame_contributors(holder.job, holder.design)
    assert {p.name for p in frame} == {"frame's own sag", "frame's warm bow"}
    parts = contributors(holder.job, holder.design, _reach(holder)) + frame
    still = [p for p in parts if p.name != "focus height" and not p.over_picture]
    sag = sum(p.shift_mm for p in parts if p.over_picture)
    spread = sum(p.limit_mm for p in parts if p.over_picture)
    rng = np.random.default_rng(1)
    film = holder.design.heights.focus + draw(still) + sag + found.height_sigma * rng.standard_normal(200_000)
    inside = np.mean((film - spread >= found.band[0]) & (film + spread <= found.band[1]))
    assert told == pytest.approx(
        100 * inside, abs=4.0
    )  # laws that are not normal differ by so much in the middle


def test_the_frame_counts_as_it_does_in_the_check_of_sharpness(holder, monkeypatch):
    """With the bed as the preset knows it, the advice is the check's chance that the whole picture is sharp, or less,
    as it lets the lowest of the film meet the lowest of the frame.
    """
    heights = holder.design.heights
    found = measured(heights.focus, heights.band_high - heights.focus).model_copy(
        update={"height_sigma": heights.focus_sigma}
    )
    words = advice_words(found, holder)[0]
    told = int(re.search(r"with (\d+) % probability", words)[1])
    check = 100 * sharp_share(holder.job, holder.design).whole.value
    assert check - 12.0 <= told <= check + 4.0
    assert "and its frame by 0.05 mm" in words
    monkeypatch.setattr("holders.output.words.advising.frame_contributors", lambda *_: ())
    without = advice_words(found, holder)[0]
    assert "its frame" not in without
    assert int(re.search(r"with (\d+) % probability", without)[1]) > told


def _reach(holder):
    grid, area = holder.film.grid, holder.film.picture
    x = (grid.x >= area.left_mm) & (grid.x <= area.left_mm + area.width_mm)
    y = (grid.y >= area.head_mm) & (grid.y <= area.head_mm + area.height_mm)
    z = grid.z[np.ix_(y, x)] - holder.design.heights.foot_protrusion - holder.design.heights.ledge_height
    return float(z.min()), float(z.max())


def test_a_band_narrower_than_the_stack_is_called_so_and_no_shift_is_promised_to_mend_it(holder):
    frame = frame_contributors(holder.job, holder.design)
    middle = holder.design.heights.sharp_plane + sum(_reach(holder)) / 2 + sum(p.shift_mm for p in frame)
    words = advice_words(measured(middle, 0.04), holder)
    assert "narrower than the tolerances of this holder" in words[0]
    assert words[1].startswith("the least sure part of the stack is: ")
    assert any("flatter" in w or "shim" in w for w in words[2:])
    far = advice_words(measured(middle + 1.5, 0.6), holder)
    assert "wide enough for this holder's tolerances" in far[0]
    assert any(w.startswith("shift the ledge by +1.50 mm") for w in far)
    assert "0 % probability" in far[0]


def test_a_wide_band_asks_for_nothing(holder):
    words = advice_words(measured(holder.design.heights.sharp_plane, 1.5), holder)
    assert len(words) == 1
    assert "100 % probability" in words[0]
    assert "too little" not in words[0]
    assert "may be wider" in advice_words(measured(3.0, 1.5, band_seen=False), holder)[-1]


def test_nothing_is_advised_where_the_best_height_was_not_seen(holder):
    (only,) = advice_words(measured(3.0, 0.3, at_edge=True), holder)
    assert only.startswith("no advice on ")


def test_the_band_that_is_needed_just_suffices():
    case = {"height_mm": 3.0, "height_sigma_mm": 0.03, "film_height_mm": 3.0, "stack_sigma_mm": 0.1,
            "film_spread_mm": 0.08}  # fmt: skip
    needs = job_advice(band=(2.9, 3.1), **case).needs_mm
    just = job_advice(band=(3.0 - needs / 2, 3.0 + needs / 2), **case)
    assert just.inside == pytest.approx(0.95, abs=1e-4)
    less = job_advice(band=(3.0 - 0.49 * needs, 3.0 + 0.49 * needs), **case)
    assert less.narrow
    assert not less.fits
    assert not job_advice(band=(3.0 - 0.51 * needs, 3.0 + 0.51 * needs), **case).narrow


def test_the_command_tells_it_and_puts_it_into_the_json(tmp_path):
    spec = importlib.util.spec_from_file_location("job_simulator", Path(__file__).with_name("simulator.py"))
    sim = sys.modules.setdefault("job_simulator", importlib.util.module_from_spec(spec))
    spec.loader.exec_module(sim)
    path = tmp_path / "ruler.tif"
    data = sim.scan(sim.Case(number=3, z0_mm=2.7))
    tifffile.imwrite(path, data, photometric="minisblack", resolution=(2400, 2400), resolutionunit="INCH")
    call = ["focus", str(path), "--rise", "6", "--run", "80"]
    runner = CliRunner()
    plain = json.loads(runner.invoke(app, [*call, "--json"]).stdout)
    assert plain["advice"] == []
    done = runner.invoke(app, [*call, "--preset", str(PRINTED), "--json"])
    assert done.exit_code == 0, done.stderr
    found = json.loads(done.stdout)
    assert "probability" in found["advice"][0]
    assert {k: v for k, v in found.items() if k != "advice"} == {
        k: v for k, v in plain.items() if k != "advice"
    }
    told = runner.invoke(app, [*call, "--preset", str(PRINTED), "--out", str(tmp_path)])
    assert "advice: " in told.stdout
    wrong = runner.invoke(app, [*call, "--preset", str(path)])
    assert wrong.exit_code == 2


def test_nothing_is_advised_that_the_holder_has_already() -> None:
    asked = {
        "band": (3.0, 3.2), "height_mm": 3.1, "height_sigma_mm": 0.01, "film_height_mm": 3.1,
        "stack_sigma_mm": 0.2, "film_spread_mm": 0.4,
    }  # fmt: skip
    bare = " ".join(job_advice(**asked).steps)
    full = " ".join(job_advice(**asked, printed=True, held=True, emulsion_down=True).steps)
    for words in ("lid frame", "emulsion down", "stock's thickness"):
        assert words in bare
        assert words not in full
    assert "measure the finished ledge" in full
    assert "a smaller window" in full
