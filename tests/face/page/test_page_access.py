"""The page for everyone: an accessibility checker, light and dark, wide and narrow."""

from __future__ import annotations

from collections.abc import Iterator
from pathlib import Path

import numpy as np
import pytest

pytest.importorskip("playwright.sync_api")
pytest.importorskip("axe_playwright_python.sync_playwright")
from playwright.sync_api import Browser, expect

from tests.face.page.browsing import (
    PROGRAM,
    SMALL,
    chromium,
    faults,
    numbers,
    opened,
    photograph,
    start_from,
    station,
)
from tests.face.page.pages import Running
from tests.measure.finished.scans import grain_film, window_scan, write

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(PROGRAM is None, reason="no Chromium here: apt-get install chromium"),
]
WIDE, PHONE = {"width": 1360, "height": 900}, {"width": 390, "height": 844}
SIZES = {"wide": WIDE, "phone": PHONE}


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


def looks(*usual: tuple[str, str]) -> list[object]:
    """Wide and phone, light and dark; those that are not usual are slow."""
    return [
        pytest.param(
            name, scheme, id=f"{name}-{scheme}", marks=() if (name, scheme) in usual else pytest.mark.slow
        )
        for name in SIZES
        for scheme in ("light", "dark")
    ]


@pytest.mark.parametrize(("name", "scheme"), looks(("wide", "light"), ("phone", "dark")))
def test_the_checker_finds_nothing(browser: Browser, server: Running, name: str, scheme: str) -> None:
    look = {"color_scheme": scheme, "viewport": SIZES[name]}
    with opened(browser, server.address, **look) as page:
        page.wait_for_selector("html[data-settled]")
        assert faults(page) == []
        start_from(page, "5x7 printed with lid")
        for key in ("scanner", "film", "make", "scan", "holder"):
            station(page, key)
            assert faults(page) == [], key
        page.get_by_role("button", name="In focus").click()
        page.fill("#f-lip-all_mm", "0.9")
        expect(page.locator("#checks li.stop").first).to_be_visible()
        assert faults(page) == []
        page.fill("#f-lip-all_mm", "nonsense")
        expect(page.locator("#f-lip-all_mm-error")).to_be_visible()
        assert faults(page) == []


@pytest.mark.parametrize(("scheme", "size"), [("light", PHONE), ("dark", WIDE)], ids=["phone", "wide"])
def test_a_scan_looked_at_is_for_everyone_too(
    browser: Browser, server: Running, scheme: str, size: dict[str, int], tmp_path: Path
) -> None:
    rng = np.random.default_rng(5)
    light = window_scan((420, 380), (40, 40), (300, 340), 0.3, grain_film(rng, (420, 380)))
    path = write(tmp_path / "12.tif", light + rng.normal(0, 0.001, light.shape), 100.0)
    with opened(browser, server.address, color_scheme=scheme, viewport=size) as page:
        start_from(page, "8x10 printed")
        page.locator("[data-station=scan]").focus()
        page.keyboard.press("Enter")  # it opens and is reached without a mouse
        for name in ("l-scan", "l-with", "l-dpi"):
            page.keyboard.press("Tab")
            assert page.evaluate("document.activeElement.id") == name
        page.set_input_files("#l-scan", path)
        expect(page.locator("#l-remarks")).to_contain_text("made in another holder")
        assert len(str(page.get_attribute("#l-picture", "aria-label"))) > 40
        assert faults(page) == []
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


@pytest.mark.parametrize(("name", "scheme"), looks(("wide", "dark"), ("phone", "light")))
def test_it_looks_right(browser: Browser, server: Running, name: str, scheme: str) -> None:
    with opened(browser, server.address, color_scheme=scheme, viewport=SIZES[name]) as page:
        start_from(page, "5x7 printed with lid")
        photograph(page, f"look-{name}-{scheme}", whole=name == "phone")
        across = page.evaluate("[document.documentElement.scrollWidth, innerWidth]")
        assert across[0] <= across[1], "the page scrolls sideways"
        ground = page.evaluate("getComputedStyle(document.body).backgroundColor")
        assert ground == ("rgb(223, 225, 226)" if scheme == "light" else "rgb(20, 22, 23)")
        expect(page.locator("#make")).to_be_in_viewport()
        assert page.evaluate(SMALL) == []
        if name == "phone":
            for key in ("scanner", "film", "make", "scan", "holder"):
                page.click(f"[data-station={key}]")
                screens = page.evaluate("document.documentElement.scrollHeight / innerHeight")
                assert screens <= 2.0, f"{key}: {screens:.2f} screens"


def test_it_can_be_read_at_320_pixels_and_in_double_text(browser: Browser, server: Running) -> None:
    # WCAG 2.2, 1.4.10: 320 CSS pixels wide without scrolling both ways; 1.4.4: text at 200 % (both from memory)
    with opened(browser, server.address, viewport={"width": 320, "height": 640}) as page:
        start_from(page, "4x5 many-up")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")
        page.set_viewport_size({"width": 640, "height": 800})
        page.evaluate("document.documentElement.style.fontSize = '200%'")
        assert page.evaluate("document.documentElement.scrollWidth <= innerWidth")


def test_every_result_is_spoken_and_every_picture_has_words(browser: Browser, server: Running) -> None:
    with opened(browser, server.address) as page:
        start_from(page, "8x10 printed")
        assert page.get_attribute("#say", "aria-live") == "polite"
        ledge = numbers(page)["Ledge, above the glass"]  # as the job sheet says it
        assert f"Drawn: ledge {ledge} above the glass" in page.inner_text("#say")
        assert page.inner_text("#short").startswith(f"Ledge {ledge} above the glass")
        assert ledge != numbers(page)["Ledge, above the holder's underside"]
        for name in ("plan", "film", "section"):
            assert len(str(page.get_attribute(f"#{name}", "aria-label"))) > 40, name
        controls = page.evaluate(
            "[...document.querySelectorAll('form input, form select, form textarea')].map(e => [e.id, e.labels.length])"
        )
        assert len(controls) > 100
        assert [name for name, labels in controls if labels != 1] == []
        dangling = page.evaluate(
            "['aria-describedby', 'aria-labelledby'].flatMap(a => [...document.querySelectorAll(`[${a}]`)]"
            ".flatMap(e => e.getAttribute(a).split(' ')))"
            ".filter(id => id && !document.getElementById(id))"
        )
        assert dangling == []
        doubled = page.evaluate(
            "(() => { const ids = [...document.querySelectorAll('[id]')].map(e => e.id);"
            " return ids.filter((id, i) => ids.indexOf(id) !== i); })()"
        )
        assert doubled == []
