"""Why no scan is judged by a sheet's code notches: the ledge that carries the film hides most or all of them."""

from __future__ import annotations

from pathlib import Path

import numpy as np
import pytest

from holders.checks.film.film_fit import Lip
from holders.design.model import EDGES
from holders.design.resolve import design
from holders.preset.edited import with_values
from holders.preset.load import parse
from holders.preset.shipped import preset_path
from holders.study import job_of
from tests.presets_made import SHIPPED

LEAST_MM = 2.0  # of the nominal sheet, on every edge of every shipped holder


@pytest.mark.parametrize("path", SHIPPED, ids=lambda p: p.stem)
def test_no_shipped_holder_shows_the_edge_of_its_film(path: Path) -> None:
    job, _ = job_of(parse(path.read_text(), path.stem))
    holder = design(job)
    seen = 0
    for one in (one for one in job.each if one.own_film.kind == "sheet"):
        for window in holder.of(one.kind).mine:
            f, o = window.film, window.opening
            aside = ((f.width - one.own_film.cut_width_mm) / 2, (f.height - one.own_film.cut_height_mm) / 2)
            if window.turned:
                aside = (
                    (f.width - one.own_film.cut_height_mm) / 2,
                    (f.height - one.own_film.cut_width_mm) / 2,
                )
            hidden = {
                "left": o.x - f.x - aside[0], "right": f.right - o.right - aside[0],
                "foot": o.y - f.y - aside[1], "head": f.top - o.top - aside[1],
            }  # fmt: skip
            assert set(hidden) == set(EDGES)
            assert min(hidden.values()) >= LEAST_MM - 1e-6, (window, hidden)
            seen += 1
    assert seen or not any(one.own_film.kind == "sheet" for one in job.each)


def test_a_ledge_that_showed_more_would_let_the_film_fall_through() -> None:
    text = preset_path(Path("4x5-four-up")).read_text()
    levels = {}
    for lip in (1.2, 1.5):
        job, _ = job_of(parse(with_values(text, {"lip.all_mm": lip}), "lip"))
        levels[lip] = {finding.level for finding in Lip().check(job, design(job))}
    assert "stop" in levels[1.2]
    assert "stop" not in levels[1.5]


@pytest.mark.parametrize(
    ("name", "shows", "half_mm"),
    [("4x5-four-up", 0.335, 0.11), ("8x10-printed", 0.133, 0.036), ("8x10-one-board", 0.004, 0.0)],
)
def test_how_often_some_of_a_notch_shows(name: str, shows: float, half_mm: float) -> None:
    """As docs/model.md says it: notches of 1 to 2.5 mm (from memory), film of any size and place, all evenly."""
    path = preset_path(Path(name))
    job, _ = job_of(parse(path.read_text(), name))
    window = design(job).mine[0]
    random, count = np.random.default_rng(1), 100_000
    off = random.uniform(-job.film.tolerance_mm, job.film.tolerance_mm, count)  # longer than nominal
    play = window.pocket.height - window.film.height - off  # both ends together
    away = random.uniform(-0.5, 0.5, count) * play
    hidden = window.film.top - window.opening.top + off / 2 + away
    seen = random.uniform(1.0, 2.5, count) - hidden
    assert play.min() > 0
    assert float((seen > 0).mean()) == pytest.approx(shows, abs=0.01)
    assert float((seen > 0.5).mean()) == pytest.approx(half_mm, abs=0.01)
    assert hidden.min() > 0  # the edge itself never shows
