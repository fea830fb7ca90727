"""How the film lies, in one sentence: its numbers are the design's own."""

from __future__ import annotations

import xml.etree.ElementTree as ET
from dataclasses import replace

import pytest

from holders.design.held.film_in_holder import designed
from holders.design.held.model import Filmed
from holders.design.model import Design
from holders.output.draw.film import film_relief, film_sheet
from holders.output.words.film import film_words
from tests.presets_made import job


@pytest.fixture(scope="module")
def held() -> tuple[Design, Filmed]:
    """A sheet that sags freely on its ledge."""
    return designed(job(film={"format": "5x7"}), ranges=False)


def test_the_sentence_says_the_sag_the_share_and_the_gap(held: tuple[Design, Filmed]) -> None:
    made, film = held
    assert film.sag is not None
    words = film_words(made, film)
    assert words.endswith(").")
    assert f"{100 * film.sag.in_band_fraction:.1f} % of the picture is sharp" in words
    assert f"stays {film.sag.min_gap_mm:.2f} mm away from the glass" in words
    low, high = film.sag.reach_mm or (0.0, 0.0)
    assert (f"sags at most {-low:.2f} mm below its ledge" in words) == (low < -0.005)
    assert ("bows up" in words) == (high > 0.005)


@pytest.mark.parametrize(
    ("reach", "words"),
    [
        ((-0.3, 0.0), "sags at most 0.30 mm below its ledge;"),
        ((0.0, 0.44), "bows up at most 0.44 mm above its ledge;"),
        ((-0.1, 0.2), "sags at most 0.10 mm below its ledge and bows up at most 0.20 mm above it;"),
        ((-0.001, 0.001), "lies flat;"),
    ],
)
def test_a_film_that_bows_up_is_not_said_to_sag(
    held: tuple[Design, Filmed], reach: tuple[float, float], words: str
) -> None:
    made, film = held
    assert film.sag is not None
    assert f"The film {words}" in film_words(made, replace(film, sag=replace(film.sag, reach_mm=reach)))


def test_pictures_say_the_sentence_and_without_a_surface_none_is_drawn(held: tuple[Design, Filmed]) -> None:
    made, film = held
    for data in (film_sheet(made, film), film_relief(made, film, 118.0).svg("t")):
        assert "of the picture" in " ".join(
            e.text or "" for e in ET.fromstring(data).iter() if e.tag.endswith("text")
        )
        assert data.count(b"<path") > 10
    with pytest.raises(ValueError, match="no film surface"):
        film_words(made, replace(film, sag=None))
    with pytest.raises(ValueError, match="no film surface"):
        film_sheet(made, replace(film, grid=None))
