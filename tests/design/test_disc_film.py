"""Disc film: no format, an answer that says how to do it, and what a square pocket does with it, by its shape."""

from __future__ import annotations

import re
from pathlib import Path

import pytest
import shapely
from typer.testing import CliRunner

from holders.core.errors import InputError
from holders.design.resolve import design
from holders.face.program import app
from holders.facts.tables import film_format
from tests.design.test_laws import box
from tests.presets_made import job

USING = Path(__file__).parents[2] / "docs" / "using.md"
ADVISED = {
    "format": "4x5",
    "cut_width_mm": 65.0,
    "cut_height_mm": 65.0,
    "image_width_mm": 58.0,
    "image_height_mm": 58.0,
}


@pytest.mark.parametrize("word", ["disc", "Disk film", "disc-film"])
def test_new_says_how_to_do_it(word: str, tmp_path: Path) -> None:
    file = tmp_path / "mine.toml"
    done = CliRunner().invoke(app, ["new", str(file), "--format", word, "--plain"])
    assert done.exit_code == 2
    said = " ".join(done.stderr.split())
    assert said.startswith(f"holders: --format = {word}: `holders list formats` has no round film")
    assert all(key in said for key in ADVISED if key != "format")
    assert not file.exists()


def test_a_preset_that_names_it_is_told_the_same() -> None:
    with pytest.raises(InputError, match="no round film") as refused:
        film_format("disc")
    assert refused.value.field == "film.format"


def test_what_it_advises_is_made_and_the_page_has_its_numbers() -> None:
    """A disc in the middle of its square pocket: the share of its rim on the lip, and the window left bare."""
    made = design(job(film=ADVISED, lip={"all_mm": 2.5}))
    (window,) = made.windows
    film, opening = window.film, box(window.opening)
    assert (film.width, film.height) == pytest.approx((65.0, 65.0))
    round_film = shapely.Point(film.x + 32.5, film.y + 32.5).buffer(32.5, quad_segs=256)
    on_lip = 1 - round_film.exterior.intersection(opening).length / round_film.exterior.length
    bare = opening.difference(round_film).area
    assert on_lip == pytest.approx(0.5, abs=0.01)
    words = USING.read_text(encoding="utf-8")
    (told,) = re.findall(r"let (\d+) mm² of bare light past", words)
    assert bare == pytest.approx(float(told), rel=0.02)
    assert bare / opening.area == pytest.approx(1 / 8, abs=0.002)
