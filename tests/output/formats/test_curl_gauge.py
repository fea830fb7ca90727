"""The paper gauge read back from its PDF: true size, true arcs, the viewer told not to scale."""

from __future__ import annotations

import io
import math

import pdfplumber
import pytest

from holders.facts.tables import paper
from holders.output.formats.curl_gauge import CURLS, gauge_pdf

MM = 72 / 25.4


@pytest.mark.parametrize("key", ["a4", "letter", "a5"])
def test_bars_measure_100_mm_both_ways_and_every_arc_its_radius(key: str) -> None:
    data = gauge_pdf(paper(key))
    assert data == gauge_pdf(paper(key))
    assert b"/PrintScaling /None" in data
    with pdfplumber.open(io.BytesIO(data)) as pdf:
        assert len(pdf.pages) == 1
        page = pdf.pages[0]
        assert page.width / MM == pytest.approx(paper(key).width_mm, abs=0.01)
        bars = {
            (round(abs(x["x1"] - x["x0"]) / MM, 2), round(abs(x["bottom"] - x["top"]) / MM, 2))
            for x in page.lines
        }
        assert (100.0, 0.0) in bars
        assert (0.0, 100.0) in bars
        arcs = page.curves
        assert len(arcs) == len(CURLS)
        for arc, curl in zip(arcs, CURLS, strict=True):
            (x0, y0), (x1, y1) = arc["pts"][0], arc["pts"][-1]
            chord = (x1 - x0) / MM
            assert y0 == pytest.approx(y1, abs=1e-3)
            rise = (arc["bottom"] - arc["top"]) / MM  # hollow side up: from its ends down to its middle
            # geometry: R = c^2 / (8 h) + h / 2
            assert 1000 / (chord**2 / (8 * rise) + rise / 2) == pytest.approx(curl, rel=2e-3)
        words = page.extract_text()
        margin = paper(key).printer_margin_mm
        inside = [
            c for c in page.chars if c["x0"] / MM < margin or c["x1"] / MM > paper(key).width_mm - margin
        ]
        assert not inside
    for curl in CURLS:
        assert f"{curl:g}" in words
    assert "100 mm" in words
    assert math.isclose(min(CURLS), 1.0)
