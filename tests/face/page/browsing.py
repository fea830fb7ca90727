"""A headless Chromium from the system, that reaches this machine alone and notes every request it makes."""

from __future__ import annotations

import shutil
import time
from collections.abc import Iterator
from contextlib import contextmanager
from typing import Any
from urllib.parse import urlsplit

from playwright.sync_api import Browser, Page, expect, sync_playwright

from tests.face.page.pages import ROOT

PICTURES = ROOT / "build" / "page"
PROGRAM = shutil.which("chromium") or shutil.which("chromium-browser")
ARGUMENTS = [
    "--no-sandbox", "--disable-gpu", "--disable-background-networking", "--disable-component-update",
    "--host-resolver-rules=MAP * ~NOTFOUND, EXCLUDE 127.0.0.1",
]  # fmt: skip


# what has words of its own in letters under 12 px
SMALL = """[...document.querySelectorAll('body *')].filter(e => e.offsetParent
    && [...e.childNodes].some(c => c.nodeType === 3 && c.textContent.trim())
    && parseFloat(getComputedStyle(e).fontSize) < 12).map(e => e.id || e.className || e.localName)"""
NO_STEPS = {"ok": True, "next": [], "tried": 0, "done": True}
PATIENCE_MS = 60_000  # a machine busy with other tests must not make a test fail
expect.set_options(timeout=PATIENCE_MS)


@contextmanager
def chromium(*more: str) -> Iterator[Browser]:
    with sync_playwright() as driver:
        browser = driver.chromium.launch(executable_path=PROGRAM, args=[*ARGUMENTS, *more])
        try:
            yield browser
        finally:
            browser.close()


@contextmanager
def opened(
    browser: Browser,
    address: str,
    expected: tuple[str, ...] = ("413", "422", "429"),
    script: str = "",
    steps: bool = False,
    **look: Any,
) -> Iterator[Page]:
    """The page, laid out; at the end no request has left this machine and no error was met.

    ``script`` runs before the page's own. Only with ``steps`` are next steps tried, and what holds the film of
    an empty form's first choices, which takes ten seconds of the processor for every holder shown; else the answer is
    that there are none, and that nothing is known of what other ways' cards would propose.
    """
    asked: list[str] = []
    wrong: list[str] = []

    def allowed(text: str) -> bool:
        return any(status in text for status in expected)

    context = browser.new_context(
        accept_downloads=True, **{"viewport": {"width": 1360, "height": 900}, **look}
    )
    page = context.new_page()
    page.add_init_script(script)
    if not steps:
        page.route("**/api/steps", lambda route: route.fulfill(json=NO_STEPS))
        page.route("**/api/propose", lambda route: route.fulfill(json={"ok": True, "words": ""}))
        page.route("**/api/ahead", lambda route: route.fulfill(json={"ok": False}))
    page.set_default_timeout(PATIENCE_MS)
    context.on("request", lambda request: asked.append(request.url))
    page.on("pageerror", lambda error: wrong.append(str(error)))
    page.on("console", lambda m: wrong.append(m.text) if m.type == "error" and not allowed(m.text) else None)
    try:
        page.goto(address)
        page.wait_for_selector("html[data-ready]")
        page.wait_for_selector("html[data-settled]")  # the holder that it opens with
        yield page
    finally:
        context.close()
    away = [
        url
        for url in asked
        if urlsplit(url).hostname != "127.0.0.1" and not url.startswith("blob:http://127.0.0.1")
    ]
    assert asked
    assert not away
    assert not wrong, wrong


def settle(page: Page) -> None:
    """Wait until the film of the newest change is drawn (in a selector: the page forbids evaluated text)."""
    page.wait_for_selector("html[data-settled]")


def changed(page: Page, field: str, text: str) -> None:
    """Type into a field and wait for all that follows."""
    page.fill(field, text)
    settle(page)


def station(page: Page, key: str) -> None:
    """Open one of the five stations, and all that is folded in it."""
    page.click(f"[data-station={key}]")
    page.evaluate(
        "document.querySelectorAll('.station:not([hidden]) details').forEach(d => { d.open = true; })"
    )


def emptied(page: Page) -> None:
    """Begin with an empty form."""
    page.select_option("#shipped", value="empty")
    page.wait_for_function("document.getElementById('made').hidden")


def start_from(page: Page, title: str) -> None:
    """Take a preset that comes along."""
    # what stood there before is no sign of it
    page.evaluate("delete document.documentElement.dataset.settled")
    page.select_option("#shipped", label=title)
    settle(page)


def numbers(page: Page) -> dict[str, str]:
    """The numbers as they stand on the page."""
    found: dict[str, str] = page.evaluate(
        "Object.fromEntries([...document.querySelectorAll('#numbers dt')]"
        ".map(t => [t.textContent, t.nextElementSibling.textContent]))"
    )
    return found


def drawn(page: Page, name: str) -> str:
    """A drawing as it stands on the page, as text."""
    return str(
        page.evaluate(
            "name => { const e = document.getElementById(name); return (e.shadowRoot || e).innerHTML; }", name
        )
    )


def until_drawn_anew(page: Page, name: str, before: str) -> str:
    """Wait until a drawing is another one, and return it."""
    end = time.monotonic() + PATIENCE_MS / 1000
    while (now := drawn(page, name)) == before and time.monotonic() < end:
        page.wait_for_timeout(20)
    assert now != before
    return now


def faults(page: Page) -> list[str]:
    """What the accessibility checker finds, whatever its weight; and it must have looked at contrast and names."""
    from axe_playwright_python.sync_playwright import Axe

    found: dict[str, Any] = Axe().run(page, options={"resultTypes": ["violations", "passes"]}).response
    passed = {rule["id"] for rule in found["passes"]}
    assert {"color-contrast", "label", "select-name", "button-name"} <= passed
    return [
        f"{rule['impact']}: {rule['id']}: {rule['nodes'][0]['html'][:200]}" for rule in found["violations"]
    ]


def photograph(page: Page, name: str, whole: bool = False) -> None:
    """Keep a picture of the page to look at."""
    PICTURES.mkdir(parents=True, exist_ok=True)
    page.screenshot(path=PICTURES / f"{name}.png", full_page=whole)
