"""Contrast of the page's colours, by the formula of the Web Content Accessibility Guidelines 2.2.

Relative luminance and contrast ratio: W3C, WCAG 2.2, definitions; text 4.5 : 1 (1.4.3), borders of controls and
focus marks 3 : 1 (1.4.11). From memory.
"""

from __future__ import annotations

import re

import pytest

from holders.face.page.assets import assets

TEXT = [
    ("ink", "paper"), ("ink", "sheet"), ("quiet", "paper"), ("quiet", "sheet"), ("accent", "paper"),
    ("accent", "sheet"), ("on-accent", "accent"), ("warn", "warn-ground"), ("stop", "stop-ground"), ("stop", "paper"),
    ("stop", "sheet"),
]  # fmt: skip
MARKS = [("edge", "paper"), ("edge", "sheet"), ("accent", "paper"), ("stop", "sheet"), ("ink", "wall")]


def schemes() -> dict[str, dict[str, str]]:
    light, dark = re.findall(r":root \{(.*?)\}", assets()["style.css"].data.decode(), re.S)[:2]
    return {
        name: dict(re.findall(r"--([\w-]+): (#[0-9a-f]{6})", text))
        for name, text in (("light", light), ("dark", dark))
    }


def luminance(colour: str) -> float:
    channels = [int(colour[i : i + 2], 16) / 255 for i in (1, 3, 5)]
    linear = [c / 12.92 if c <= 0.04045 else ((c + 0.055) / 1.055) ** 2.4 for c in channels]
    return 0.2126 * linear[0] + 0.7152 * linear[1] + 0.0722 * linear[2]


def ratio(a: str, b: str) -> float:
    high, low = sorted((luminance(a), luminance(b)), reverse=True)
    return (high + 0.05) / (low + 0.05)


def test_the_formula_gives_its_known_ends() -> None:
    assert ratio("#000000", "#ffffff") == pytest.approx(21.0)
    assert ratio("#767676", "#ffffff") == pytest.approx(
        4.54, abs=0.01
    )  # the lightest grey that passes; from memory


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_text_can_be_read(scheme: str) -> None:
    colours = schemes()[scheme]
    weak = {pair: round(ratio(colours[pair[0]], colours[pair[1]]), 2) for pair in TEXT}
    assert all(value >= 4.5 for value in weak.values()), weak


@pytest.mark.parametrize("scheme", ["light", "dark"])
def test_controls_can_be_seen(scheme: str) -> None:
    colours = schemes()[scheme]
    weak = {pair: round(ratio(colours[pair[0]], colours[pair[1]]), 2) for pair in MARKS}
    assert all(value >= 3.0 for value in weak.values()), weak


def test_both_schemes_name_the_same_colours() -> None:
    assert schemes()["light"].keys() == schemes()["dark"].keys()
