"""Film on glass of its own is shown at the height at which the lens sees it, everywhere alike."""

from __future__ import annotations

from pathlib import Path

import pytest

from holders.face.cli.commands.filming import film_summary
from holders.face.page.work.relief import relief
from holders.output.draw.film import film_sheet, seen
from holders.output.sheet.content import sheet_content
from holders.output.sheet.html import html_bytes
from holders.output.words.film import film_words
from tests.kept import shipped_study

PRESETS = Path(__file__).parents[3] / "presets"


@pytest.mark.parametrize("stem", ["4x5-two-glasses", "8x10-wet-mount"])
def test_heights_are_those_of_the_image(stem: str) -> None:
    found = shipped_study(PRESETS / f"{stem}.toml")
    h, film = found.design.heights, found.film
    assert film.grid is not None
    read = film_summary(found)
    high = max(max(row) for row in read["z"]) + read["seen_above"]
    assert high == pytest.approx(h.sharp_plane, abs=1e-4)
    page = relief(found.job, found.design, film)["z"]
    assert max(max(row) for row in page) == pytest.approx(h.sharp_plane, abs=1e-4)
    assert float(seen(found.design, film.grid).z.max()) == pytest.approx(h.sharp_plane)
    assert b"picture seen at" in film_sheet(found.design, film)
    words = film_words(found.design, film)
    assert "the glass with the film stays" in words
    assert "away from the scanner's glass" in words
    sheet = html_bytes(sheet_content(found, found.preset_text, "")).decode()
    assert "seen " in sheet
    assert "carries the glass with the film by its edges" in sheet
    assert "toward the scanner" in sheet
