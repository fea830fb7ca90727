"""Why no lid is taken to hold film from sliding: what friction carries against what a change of length pulls with."""

from __future__ import annotations

import math

import pytest

from holders.design.model import Design
from holders.design.resolve import design
from holders.facts.tables import film_base, material
from holders.preset.load import load
from holders.preset.resolve import Job, resolve
from tests.presets_made import SHIPPED

FRICTION = 0.4  # of both faces together: from memory
WARMER_K, DRIER_PERCENT = 10.0, 22.0  # a warm bed in a room of 50 %: docs/model.md
LIDDED = [path for path in SHIPPED if "[lid]" in path.read_text() and "[channel]" not in path.read_text()]


def shorter(base: str, frame: str, dried: float) -> float:
    """How much shorter than its frame film is on the warm bed, as a strain; ``dried``: 0 at first, 1 in the end."""
    film, around = film_base(base), material(frame)
    own = film.expansion_per_k * WARMER_K - dried * film.humidity_strain_per_rh * DRIER_PERCENT
    return around.expansion_per_k * WARMER_K - own


def held_n(job: Job, made: Design) -> float:
    (hold,) = (s.hold for s in (one.support(job, made) for one in made.fitted) if s is not None)
    assert hold is not None
    return hold.force_n()


def test_the_numbers_of_the_model_page() -> None:
    assert shorter("polyester", "plywood-birch", 1.0) == pytest.approx(1.7e-4, abs=0.05e-4)
    assert shorter("polyester", "acrylic-cast", 1.0) == pytest.approx(9e-4, abs=0.2e-4)
    longer = -shorter("polyester", "plywood-birch", 0.0)
    assert longer == pytest.approx(1.1e-4, abs=0.05e-4)
    # an arc of sine as long as the film over a span of 200 mm: its rise is 2 L/pi sqrt(strain)
    assert 2 * 200 / math.pi * math.sqrt(longer) == pytest.approx(1.3, abs=0.05)


@pytest.mark.parametrize("path", LIDDED, ids=lambda path: path.stem)
def test_no_shipped_lid_holds_film_that_changes_its_length(path: object) -> None:
    """The pull across one pair of edges is E t times the strain times their length; friction has all that presses."""
    job = resolve(load(path))  # type: ignore[arg-type]
    made = design(job)
    base, window = job.base, made.mine[0]
    strain = abs(shorter("polyester", job.material.key, 1.0))
    edge = max(window.film.width, window.film.height)
    pull = base.modulus_mpa * base.thickness_mm * strain * edge
    assert FRICTION * held_n(job, made) < 0.5 * pull
