"""What the page shows between a change and its answer: nothing of the holder before may pass for the new one."""

from __future__ import annotations

from collections.abc import Iterator
from typing import Any

import pytest

pytest.importorskip("playwright.sync_api")
from playwright.sync_api import Browser, Page, Route, expect

from tests.face.page.browsing import (
    NO_STEPS,
    PATIENCE_MS,
    PROGRAM,
    chromium,
    emptied,
    faults,
    opened,
    photograph,
    settle,
    start_from,
    station,
)
from tests.face.page.pages import Running

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(PROGRAM is None, reason="no Chromium here: apt-get install chromium"),
]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


@pytest.fixture
def view(browser: Browser, server: Running) -> Iterator[Page]:
    with opened(browser, server.address) as page:
        yield page


def until_held(page: Page, held: list[Route], count: int = 1) -> None:
    """Wait until that many requests are held back."""
    for _ in range(PATIENCE_MS // 20):
        if len(held) >= count:
            return
        page.wait_for_timeout(20)
    raise AssertionError("nothing was asked")


def a_step(route: Route) -> None:
    """Answers as if one change had been tried and gained."""
    step: dict[str, Any] = {
        "text": "Make the lips 7 mm wide", "now": "39", "then": "60", "gain": 0.2, "minutes": 0.0, "cost": None,
        "hidden_mm2": 0.0, "field": "lip.all_mm", "measure": False, "by_hand": False,
        "values": {**route.request.post_data_json, "lip": {"all_mm": 7.0}},
    }  # fmt: skip
    route.fulfill(json={**NO_STEPS, "next": [step], "tried": 1})


@pytest.mark.parametrize(("question", "card"), [("afresh", "4x5"), ("propose", "4x5"), ("afresh", "Knife")])
def test_steps_of_the_holder_before_cannot_be_pressed(view: Page, question: str, card: str) -> None:
    """Neither by pointer nor by key, from the press of another card on, and that is said."""
    held: list[Route] = []
    step, say = view.locator("#next-steps button"), view.locator("#next-say")
    view.route("**/api/steps", a_step)
    start_from(view, "8x10 printed")
    expect(step).to_be_enabled()
    expect(say).to_be_empty()

    def hold(route: Route) -> None:
        held.append(route)

    view.route(f"**/api/{question}", hold)
    step.focus()
    view.click(f".picture:has-text('{card}')")
    until_held(view, held)
    for _ in range(10):  # and none comes back that was asked for before
        assert step.is_disabled()
        view.wait_for_timeout(100)
    expect(say).to_contain_text("Of the holder before, so they cannot be pressed.")
    step.locator("b").click(force=True)
    step.evaluate("step => { step.focus(); step.click(); }")
    assert not step.evaluate("step => step === document.activeElement")
    view.keyboard.press("Enter")
    assert view.input_value("#f-lip-all_mm") != "7"
    assert not faults(view)
    photograph(view, f"between-{question}-{card}")
    view.unroute(f"**/api/{question}", hold)
    view.evaluate("delete document.documentElement.dataset.settled")
    held[0].fallback()
    expect(step).to_be_enabled()  # tried on the new one
    expect(say).to_be_empty()
    view.evaluate("delete document.documentElement.dataset.settled")
    step.click()
    settle(view)
    assert view.input_value("#f-lip-all_mm") == "7"


def test_while_the_first_holder_is_drawn_that_is_said_and_there_is_nothing_to_make(
    browser: Browser, server: Running
) -> None:
    held: list[Route] = []
    free: list[bool] = []

    def hold(route: Route) -> None:
        if free:
            route.continue_()
        else:
            held.append(route)

    with opened(browser, server.address) as page:
        for kind in ("sketch", "film", "chance", "whole"):
            page.route(f"**/api/{kind}*", hold)
        page.evaluate("['holders-form', 'holders-by-hand'].forEach(key => sessionStorage.removeItem(key))")
        page.reload()
        make, say, short = (page.locator(name) for name in ("#make", "#say", "#short"))
        expect(say).to_have_text("Drawing the holder for 8x10 in sheet …")
        expect(short).to_have_text("Drawing the holder …")
        expect(make).to_be_disabled()
        assert not faults(page)
        photograph(page, "between-first")
        until_held(page, held, 1)
        held.pop(0).continue_()  # the drawing, by itself or with the film
        page.wait_for_selector("#made:not([hidden])")
        expect(say).to_have_text("Drawn; the checks are under way …")
        expect(make).to_be_disabled()
        photograph(page, "between-first-drawn")
        free.append(True)
        for route in held:
            route.continue_()
        expect(make).to_have_text("Make the files")
        expect(make).to_be_enabled()
        expect(make).to_have_class("main")
        expect(say).to_contain_text("Drawn: ledge")


def test_after_an_empty_form_the_first_holder_is_said_to_be_drawn(view: Page) -> None:
    """Not "Still to choose" above a holder that is there."""
    held: list[Route] = []
    emptied(view)
    expect(view.locator("#make")).to_be_enabled()  # a press says what is still to choose
    expect(view.locator("#short")).to_have_text("Nothing drawn yet")
    view.route("**/api/whole", lambda route: held.append(route))  # noqa: PLW0108 - no method takes a mark
    view.route("**/api/propose", lambda route: route.fulfill(json={"ok": True, "words": ""}))
    view.get_by_label("How it is made", exact=True).select_option(label="printed")
    view.get_by_label("Film format").select_option(label="4x5 in sheet")
    view.get_by_label("Flatbed", exact=True).select_option(label="A4-class flatbed, 8x10 lamp area")
    until_held(view, held)
    expect(view.locator("#say")).to_have_text("Drawn; the checks are under way …")
    expect(view.locator("#make")).to_be_disabled()
    view.unroute("**/api/whole")
    held[0].continue_()
    expect(view.locator("#make")).to_be_enabled()


def test_only_what_the_user_has_changed_is_counted_as_changed(view: Page) -> None:
    """Not what the example, another card or an opened preset brought."""
    marks = view.locator("#more-holder > summary .mark")

    def count() -> str:
        return marks.inner_text().strip()

    assert view.is_checked("#t-lid")  # the example has more than the usual
    assert count() == ""
    station(view, "holder")
    view.uncheck("#t-lid")
    settle(view)
    assert "1 changed" in count()
    view.reload()
    view.wait_for_selector("html[data-settled]")
    assert "1 changed" in count()
    station(view, "holder")
    view.check("#t-feet") if not view.is_checked("#t-feet") else view.uncheck("#t-feet")
    settle(view)
    assert "2 changed" in count()
    view.click("#undo")
    settle(view)
    assert "1 changed" in count()
    start_from(view, "8x10 mat board")
    assert "changed" not in count()
    view.click(".picture:has-text('4x5')")
    expect(view.locator("#also")).to_contain_text("nothing that was added gains")
    assert "changed" not in count()


@pytest.mark.parametrize("width", [1280, 1440, 1920])
def test_drawings_with_dimensions_take_the_width_of_the_stage(
    browser: Browser, server: Running, width: int
) -> None:
    """Nothing of them is beyond an edge, and no column stands empty beside them."""
    with opened(browser, server.address, viewport={"width": width, "height": 900}) as page:
        page.route("**/api/steps", a_step)
        start_from(page, "8x10 printed")
        expect(page.locator("#next-steps button")).to_be_enabled()
        page.get_by_role("button", name="Dimensions").click()
        for scroll in page.locator("#v-plan .scroll").all():
            room, need = scroll.evaluate("box => [box.clientWidth, box.scrollWidth]")
            assert need <= room
        stage, whole, section = (
            page.locator(name).bounding_box() for name in (".stage", "#results", "#section")
        )
        assert stage
        assert whole
        assert section
        assert stage["width"] == pytest.approx(whole["width"], abs=1)
        assert section["width"] == pytest.approx(stage["width"], abs=1)
        photograph(page, f"dimensions-{width}", whole=True)


def test_steps_that_were_asked_for_before_a_card_was_pressed_are_not_shown(view: Page) -> None:
    held: list[Route] = []
    view.route("**/api/routes", lambda route: held.append(route))  # noqa: PLW0108 - no method takes a mark
    view.route("**/api/steps", a_step)
    start_from(view, "8x10 printed")
    until_held(view, held)
    view.route("**/api/afresh", lambda route: held.append(route))  # noqa: PLW0108 - no method takes a mark
    view.click(".picture:has-text('4x5')")
    until_held(view, held, 2)
    held[0].continue_()
    view.wait_for_timeout(1500)  # steps are asked for 300 ms after the ways of making are known
    expect(view.locator("#next-steps button")).to_have_count(0)
    view.unroute("**/api/routes")
    held[1].continue_()
    expect(view.locator("#next-steps button")).to_be_enabled()
