"""A curl carries what it means for the film at hand."""

from __future__ import annotations

import math

import pytest

from holders.facts.curl_words import curl_height_mm, curl_span_words, curl_words, height_words


@pytest.mark.parametrize(
    ("per_m", "width_mm", "high"),
    [
        (0.0, 101.6, 0.0),
        (1.0, 100.0, 1.25),  # k w² / 8, right to a part in a thousand here
        (-1.0, 100.0, 1.25),
        (1000 / 50, 50 * math.pi, 50.0),  # a half circle stands as high as its radius
        (1000 / 50, 100 * math.pi, 100.0),  # a whole ring as high as it is wide
        (1000 / 50, 1000.0, 100.0),
    ],
)
def test_the_height_of_an_arc(per_m: float, width_mm: float, high: float) -> None:
    assert curl_height_mm(per_m, width_mm) == pytest.approx(high, rel=1e-3)


def test_a_curl_in_words() -> None:
    assert curl_words(1.0, 100.0) == "1 per m, 1.2 mm high in the middle of its width"
    assert curl_words(9.8, 100.0, 1, short=True) == "9.8 per m (middle 12 mm high)"
    assert curl_words(-0.01, 100.0, 1) == "0.0 per m, flat"
    assert height_words(-2.0, 100.0) == "2.5 mm high"


def test_a_range_of_curls_in_words() -> None:
    assert curl_span_words(-2.0, 8.0, 1.0, 100.0) == (
        "-2 to 8 per m (2.5 mm high the other way, to 9.9 mm high in the middle of its width), usually 1 (1.2 mm high)"
    )
    assert "the other way" not in curl_span_words(1.0, 8.0, 2.0, 100.0)
