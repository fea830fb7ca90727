"""The page in a real browser, as a photographer uses it. Pictures are kept in build/page to be looked at."""

from __future__ import annotations

import io
import re
import time
import zipfile
from collections.abc import Iterator
from pathlib import Path
from typing import Any
from urllib.parse import urlsplit

import numpy as np
import pytest
import tifffile
from PIL import Image

pytest.importorskip("playwright.sync_api")
from playwright.sync_api import Browser, Page, Route, expect

from holders.core.findings import per_hundred
from holders.face.page.work.afresh import begun_afresh
from holders.face.page.work.relief import relief
from holders.facts.curl_words import curl_height_mm
from tests.face.cli.test_surface import bowl_pair
from tests.face.page.browsing import (
    NO_STEPS,
    PATIENCE_MS,
    PROGRAM,
    changed,
    chromium,
    drawn,
    emptied,
    numbers,
    opened,
    photograph,
    settle,
    start_from,
    station,
    until_drawn_anew,
)
from tests.face.page.pages import ROOT, Running
from tests.kept import shipped_study
from tests.measure.finished.scans import sagging_scan
from tests.measure.slope.simulator import Case, scan
from tests.simulators.edge_scan import EdgeScene, render, write_tiff

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(PROGRAM is None, reason="no Chromium here: apt-get install chromium"),
]
STOOD = EdgeScene(curl_per_m=6.0, angle_deg=85.0)
SLOPE = Case(dpi=1200.0, length_mm=60.0, rows=160, rise_mm=6.0, z0_mm=2.8, number=3)


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


@pytest.fixture
def next_steps_tried() -> None:
    """Next steps are tried as for a user."""


@pytest.fixture
def view(browser: Browser, server: Running, request: pytest.FixtureRequest) -> Iterator[Page]:
    with opened(browser, server.address, steps="next_steps_tried" in request.fixturenames) as page:
        yield page


def choose(page: Page) -> None:
    page.get_by_label("Flatbed", exact=True).select_option(label="A4-class flatbed, 8x10 lamp area")
    page.get_by_label("Film format").select_option(label="8x10 in sheet")
    page.get_by_label("How it is made", exact=True).select_option(label="printed")
    settle(page)


def test_from_an_empty_form_to_the_zip(view: Page) -> None:
    emptied(view)
    expect(view.locator("#say")).to_have_text(
        "Still to choose: flatbed, film format, how it is made, material. The holder then appears here."
    )
    expect(view.locator("#made")).to_be_hidden()
    photograph(view, "1-empty")
    choose(view)
    # the route brings the usual material, the bed a printer that takes it whole, and both a name
    assert view.input_value("#f-material-name") == "petg"
    assert view.input_value("#f-printer-name") == "p300"
    assert view.get_attribute("#f-title", "placeholder") == "8x10 in sheet, printed"
    assert numbers(view)["Outer size"] == "215.0 × 296.0 mm"
    photograph(view, "2-drawn", whole=True)
    with view.expect_download() as caught:
        view.get_by_role("button", name="Make the files").click()
    assert caught.value.suggested_filename == "8x10-in-sheet-printed.zip"
    with zipfile.ZipFile(io.BytesIO(Path(caught.value.path()).read_bytes())) as archive:
        names = {name.rpartition("/")[2] for name in archive.namelist()}
    assert {
        "frame.stl",
        "holder.3mf",
        "holder.step",
        "holder.glb",
        "drawing.svg",
        "film.svg",
        "manifest.json",
    } <= names
    expect(view.locator("#make-say")).to_contain_text("Done")
    expect(view.get_by_role("button", name="Cancel")).to_be_hidden()


COVER = {"thickness_mm": 2.0}


def with_a_cover(route: Route) -> None:
    """What a trial answers that found a cover to gain (the trial itself: tests of the search)."""
    values = route.request.post_data_json["values"]
    route.fulfill(
        json={"ok": True, "values": {**values, "cover": COVER}, "words": "A cover: 22 -> 68 of 100"}
    )


def test_the_first_choices_of_an_empty_form_bring_what_holds_the_film(view: Page) -> None:
    view.route("**/api/propose", with_a_cover)
    emptied(view)
    view.get_by_label("How it is made", exact=True).select_option(label="printed")
    view.get_by_label("Film format").select_option(label="4x5 in sheet")
    view.get_by_label("Flatbed", exact=True).select_option(label="A4-class flatbed, 8x10 lamp area")
    expect(view.locator("#also")).to_contain_text("Proposed for these choices: A cover: 22 → 68 of 100.")
    settle(view)
    assert view.input_value("#f-cover-thickness_mm") == "2"
    view.click("#undo")
    settle(view)
    assert not view.is_checked("#t-cover")
    assert view.input_value("#f-film-format") == "4x5"


def pressed(page: Page, card: str) -> None:
    """Press a card and wait for the holder that it gives."""
    page.evaluate("delete document.documentElement.dataset.settled")
    page.click(f".picture:has-text('{card}')")
    settle(page)


def test_while_what_holds_the_film_is_tried_the_time_is_shown_and_the_button_is_plain(view: Page) -> None:
    held: list[Route] = []
    view.route("**/api/propose", lambda route: held.append(route))  # noqa: PLW0108 - no method takes a mark
    button, line = view.locator("#make"), view.locator("#also")
    pressed(view, "4x5")
    expect(line).to_contain_text(re.compile(r"Trying what holds this film … .*by itself\. [1-9]\d* s"))
    expect(button).to_have_text("Make the frame by itself")
    expect(button).to_have_class("")
    with_a_cover(held[0])
    expect(line).to_contain_text("Proposed for these choices")
    settle(view)
    expect(button).to_have_text("Make the files")
    expect(button).to_have_class("main")
    expect(view.locator("#also-time")).to_be_empty()
    pressed(view, "8x10")
    expect(button).to_have_text("Make the frame by itself")
    expect(view.locator("#also-time")).not_to_be_empty()
    photograph(view, "12-trying")
    changed(view, "#f-lip-all_mm", "4")  # a change ends the trial and its clock
    expect(button).to_have_text("Make the files")
    expect(line).to_be_hidden()
    expect(view.locator("#also-time")).to_be_empty()


def test_another_card_is_proposed_anew_and_undone_in_one_step(view: Page) -> None:
    """What `holders new` starts with, then what its trial adds: nothing of the 8x10's lid, feet and scanner."""
    view.route("**/api/propose", with_a_cover)
    pressed(view, "4x5")
    expect(view.locator("#also")).to_contain_text("Proposed for these choices: A cover: 22 → 68 of 100.")
    settle(view)
    assert not view.is_checked("#t-lid")
    assert not view.is_checked("#t-feet")
    assert view.is_checked("#t-cover")
    assert view.input_value("#f-bed-focus_height_mm") == ""  # that scanner is nobody's
    expect(view.locator("#example")).to_contain_text("yours may differ: measure it.")
    assert view.get_attribute("#f-title", "placeholder") == "4x5 in sheet, printed"
    view.click("#undo")
    settle(view)
    assert view.input_value("#f-film-format") == "8x10"
    assert view.is_checked("#t-lid")
    expect(view.get_by_role("button", name="Undo")).to_be_disabled()


def with_a_small_frame(route: Route) -> None:
    values = route.request.post_data_json["values"]
    size = {"outer_width_mm": 125.0, "outer_length_mm": 150.0}
    answer = {**values, "layout": {**values["layout"], **size}}
    route.fulfill(json={"ok": True, "values": answer, "words": "A frame of 125 x 150 mm"})


def test_a_small_frame_that_was_proposed_goes_with_its_number_of_films(view: Page) -> None:
    view.route("**/api/propose", with_a_small_frame)
    pressed(view, "4x5")
    expect(view.locator("#also")).to_contain_text("A frame of 125 x 150 mm")
    settle(view)
    assert numbers(view)["Outer size"] == "125.0 × 150.0 mm"
    station(view, "film")
    changed(view, "#f-layout-count", "2")
    assert numbers(view)["Outer size"] == "215.0 × 296.0 mm"


def test_another_way_says_about_until_the_holder_of_its_card_is_known_which_a_press_then_has(
    view: Page,
) -> None:
    held, proposed = held_back(view, "ahead"), held_back(view, "propose")
    start_from(view, "8x10 printed")
    laser = until_one_more(view, held)
    asked = laser.request.post_data_json
    assert (asked["route"], asked["by_hand"]) == ("laser", [])
    efforts = {
        way: view.locator(f".picture:has-text('{way}') small") for way in ("Printer", "Laser", "Knife")
    }
    expect(efforts["Printer"]).to_have_text(re.compile(r"^[\d.]+\sh, \d+\sg$"))
    for way in ("Laser", "Knife"):  # of this very holder made that way, which its card would not propose
        expect(efforts[way]).to_have_text(re.compile(r"^about \d\ssheets?, \d+\smin$"))
    begun, left = begun_afresh({**asked["values"], "route": "laser"}, [])
    told = {
        "values": {**begun, "cover": COVER},
        "words": "A cover: 22 -> 68 of 100",
        "effort": "3 sheets, 71 min",
    }
    laser.fulfill(json={"ok": True, "begun": begun, "left": left, **told})
    expect(efforts["Laser"]).to_have_text(re.compile(r"^3\ssheets, 71\smin$"))
    assert until_one_more(view, held, 1).request.post_data_json["route"] == "knife"
    pressed(view, "Laser")
    expect(view.locator("#also")).to_contain_text("Proposed for these choices: A cover: 22 → 68 of 100.")
    assert view.is_checked("#t-cover")
    assert not proposed  # it was tried before
    changed(view, "#f-lip-all_mm", "3")
    expect(efforts["Knife"]).to_have_text(
        re.compile(r"^\d\ssheets?, \d+\smin$")
    )  # the card keeps this holder now


def test_what_was_set_by_hand_stays_and_the_rest_is_proposed_at_a_press(view: Page) -> None:
    asked: list[dict[str, Any]] = []
    view.on("request", lambda r: asked.append(r.post_data_json) if path_of(r.url) == "propose" else None)
    changed(view, "#f-lip-all_mm", "3")
    view.locator("#f-lip-all_mm").blur()
    pressed(view, "4x5")
    line, go = view.locator("#also"), view.get_by_role("button", name="Propose the rest again")
    expect(line).to_contain_text("Kept as you set it: Lip on every edge 3.")
    expect(line).to_contain_text("left out: the heights of the example's scanner")
    expect(go).to_be_visible()
    assert view.is_checked("#t-lid")  # nothing was proposed
    assert not asked
    photograph(view, "11-kept")
    view.evaluate("delete document.documentElement.dataset.settled")
    go.click()
    settle(view)
    expect(line).to_contain_text("Kept as you set it: Lip on every edge 3.")
    expect(line).to_contain_text("nothing that was added gains")
    expect(go).to_be_hidden()
    assert not view.is_checked("#t-lid")
    assert view.input_value("#f-lip-all_mm") == "3"
    assert [one["by_hand"] for one in asked] == [["lip.all_mm"]]
    # a list fires two events for one choice; it is taken once
    begun: list[str] = []
    view.on("request", lambda r: begun.append(path_of(r.url)) if path_of(r.url) == "reroute" else None)
    view.evaluate("delete document.documentElement.dataset.settled")
    view.get_by_label("How it is made", exact=True).select_option(label="cut by laser")
    settle(view)
    assert begun == ["reroute"]
    # of a preset from a file all is the user's own
    data = (ROOT / "presets" / "5x7-printed.toml").read_bytes()
    view.evaluate("delete document.documentElement.dataset.settled")
    view.set_input_files("#open", {"name": "mine.toml", "mimeType": "text/plain", "buffer": data})
    settle(view)
    pressed(view, "4x5")
    expect(line).to_contain_text("Kept: what the preset you opened says of the holder.")
    assert view.input_value("#f-bed-focus_height_mm") == "3.1"
    assert view.input_value("#f-title") == "5x7 printed with lid"


def test_a_drawing_says_that_it_slides_where_it_is_wider_than_its_place(view: Page) -> None:
    view.get_by_role("button", name="Dimensions").click()
    for width, slides in ((390, True), (1440, False)):
        view.set_viewport_size({"width": width, "height": 900})
        plan = expect(view.locator(".scroll:has(#plan)"))
        (plan.to_have_class if slides else plan.not_to_have_class)(re.compile("slides"))


def test_the_make_button_says_what_it_is(view: Page) -> None:
    button = view.locator("#make")
    expect(button).to_have_class("main")
    expect(button).to_have_text("Make the files")
    changed(view, "#f-lip-all_mm", "0.9")
    expect(button).to_have_class("halt")
    expect(button).to_have_text("Make the files anyway")
    expect(view.locator("#short")).to_have_text("Stop: A film cut small falls through")
    view.fill("#f-lip-all_mm", "wide")
    expect(view.locator("#veil")).to_be_visible()
    expect(button).to_have_class("")
    changed(view, "#f-lip-all_mm", "2.5")
    expect(button).to_have_class("main")
    view.route(
        "**/api/whole", lambda route: route.fulfill(json={**route.fetch().json(), "never": "PVC: chlorine"})
    )
    changed(view, "#f-lip-all_mm", "2.6")
    expect(button).to_have_text("Not to be made")
    expect(button).to_have_attribute("aria-disabled", "true")
    button.press("Enter")
    expect(view.locator("#make-say")).to_have_text("Not to be made: PVC: chlorine.")


def test_a_curl_says_how_high_the_film_stands(view: Page) -> None:
    station(view, "film")
    means = view.locator("#f-base-curl_per_m-means")
    usual = curl_height_mm(float(str(view.get_attribute("#f-base-curl_per_m", "placeholder"))), 203.0)
    expect(means).to_contain_text(f"{usual:.1f} mm high in the middle of its width (20")
    view.fill("#f-base-curl_per_m", "4")
    expect(means).to_contain_text(f"{curl_height_mm(4.0, 203.0):.0f} mm high in the middle")


def steps(url: str) -> bool:
    """Whether a request is of those that have tests of their own: the chance before the checks; after all others, as
    often as it takes, next steps and other ways of making.
    """
    return path_of(url) in ("chance", "steps", "routes", "ahead")


def path_of(url: str) -> str:
    return urlsplit(url).path.rpartition("/")[2]


def test_numbers_and_drawing_follow_the_lip(view: Page) -> None:
    start_from(view, "8x10 printed")
    # what the film's own row says of a choice left open, not that there is none
    assert view.locator("#f-base-back_coat option").first.text_content() == "usual: not known"
    before, plan = numbers(view), drawn(view, "plan")
    asked: list[str] = []
    view.on("request", lambda request: asked.append(path_of(request.url)) if not steps(request.url) else None)
    for k in range(3):
        view.wait_for_timeout(300)
        asked.clear()
        changed(view, "#f-lip-all_mm", f"{2.6 + k / 10:g}")
        told = view.evaluate("({...document.documentElement.dataset})")
        # nothing is asked for twice, and the checks come last (how soon: bench_page.py)
        assert asked[-1] == "whole"
        assert sorted(asked) in (["film", "whole"], ["film", "sketch", "whole"])
        assert 0 < float(told["sketchMs"]) < float(told["wholeMs"])
        assert 0 < float(told["filmMs"]) < float(told["wholeMs"])
    assert numbers(view)["Lip"].startswith("left 2.80, right 2.80")
    assert numbers(view)["Windows"] != before["Windows"]
    assert drawn(view, "plan") != plan


def test_crop_boxes_stand_in_pixels_of_the_resolution_that_is_set(view: Page) -> None:
    emptied(view)
    choose(view)
    expect(view.locator("#crops-say")).to_contain_text("Pixels are for 2400 ppi, the usual setting")
    view.evaluate("document.querySelectorAll('details').forEach(d => { d.open = true; })")
    cells = view.locator("#crops tr").filter(has_text="1 crop").all_inner_texts()
    by = {unit: [float(v) for v in re.findall(r"[0-9.]+", row.partition(unit)[2])] for row, unit in
          zip(cells, ("mm", "inch", "pixels"), strict=True)}  # fmt: skip
    assert by["pixels"] == pytest.approx([2400 * v for v in by["inch"]], abs=1.8)  # inches have three places
    assert by["mm"] == pytest.approx([25.4 * v for v in by["inch"]], abs=0.065)
    station(view, "scanner")
    changed(view, "#f-room-scan_ppi", "1200")
    expect(view.locator("#crops-say")).to_contain_text("Pixels are for 1200 ppi, as set")
    (row,) = view.locator("#crops tr").filter(has_text="1 crop").filter(has_text="pixels").all_inner_texts()
    half = [float(v) for v in re.findall(r"[0-9.]+", row.partition("pixels")[2])]
    assert half == pytest.approx([v / 2 for v in by["pixels"]], abs=0.8)
    view.locator("#crops-fold").scroll_into_view_if_needed()
    photograph(view, "crop-boxes")


def test_changes_while_the_film_is_solved_are_not_lost(view: Page) -> None:
    start_from(view, "8x10 printed")
    held: list[Route] = []
    view.route("**/api/whole", lambda route: route.continue_() if held else held.append(route))
    view.fill("#f-lip-all_mm", "3")
    while not held:
        view.wait_for_timeout(20)
    view.fill("#f-lip-all_mm", "3.5")
    expect(view.locator("#numbers")).to_contain_text("left 3.50, right 3.50")
    view.wait_for_timeout(
        300
    )  # the film of the second change would be asked for now, but the first is under way
    held[0].continue_()
    settle(view)
    expect(view.locator(".pending")).to_have_count(0)
    expect(view.locator("#say")).to_contain_text("Drawn")


def test_the_chance_is_there_before_the_checks(view: Page) -> None:
    wholes = held_back(view, "whole")
    before = view.inner_text("#verdict-number")
    view.fill("#f-lip-all_mm", "0.9")
    whole = until_one_more(view, wholes)
    assert view.inner_text("#verdict-number") != before
    assert "old" not in str(view.get_attribute("#verdict", "class"))
    expect(view.locator("#verdict-text")).to_contain_text("Do not make it like this")
    number = view.inner_text("#verdict-number")
    whole.continue_()
    settle(view)
    assert view.inner_text("#verdict-number") == number
    told = view.evaluate("({...document.documentElement.dataset})")
    assert 0 < float(told["chanceMs"]) < float(told["wholeMs"])


def held_back(view: Page, kind: str) -> list[Route]:
    """The requests of a kind from now on, none of which goes on by itself."""
    found: list[Route] = []
    view.route(f"**/api/{kind}*", lambda route: found.append(route))  # noqa: PLW0108 - it counts parameters
    return found


def until_one_more(view: Page, routes: list[Route], before: int = 0) -> Route:
    end = time.monotonic() + PATIENCE_MS / 1000
    while len(routes) <= before and time.monotonic() < end:
        view.wait_for_timeout(20)
    assert len(routes) > before
    return routes[-1]


IN_PIECES = (
    "8x10 from a small printer"  # to cut it up takes as long as the film, so it is asked for beside it
)
OWN_CLOCK = """
    let shown = 0;
    performance.now = () => shown;
    window.later = (ms) => { shown += ms; };
"""


def test_the_film_is_asked_for_together_with_the_drawing_which_may_come_later(view: Page) -> None:
    start_from(view, IN_PIECES)
    view.wait_for_timeout(300)
    plan, film = drawn(view, "plan"), drawn(view, "film")
    sketches, wholes = held_back(view, "sketch"), held_back(view, "whole")
    view.fill("#f-lip-all_mm", "3.5")
    until_one_more(view, sketches)
    expect(view.locator("#numbers")).to_contain_text("left 3.50, right 3.50")
    until_drawn_anew(view, "film", film)
    section = drawn(view, "section")
    view.wait_for_timeout(300)
    assert drawn(view, "plan") == plan
    assert not wholes  # the checks wait for both
    sketches[0].continue_()
    until_drawn_anew(view, "plan", plan)
    until_one_more(view, wholes)
    # the drawing brought its plan, and did not cover what the film's answer had told of the ledge
    assert drawn(view, "section") == section
    assert "Film sags below the ledge" in numbers(view)
    wholes[0].continue_()
    settle(view)


def test_a_title_that_looks_like_markup_stays_words(view: Page) -> None:
    start_from(view, "8x10 printed")
    title = "</title></text><img src=x onerror=alert(1)><b>8x10"
    changed(view, "#f-title", title)
    inside = (
        "[...document.querySelectorAll('.drawing')].filter(d => d.shadowRoot)"
        ".flatMap(d => [...d.shadowRoot.querySelectorAll('*')]).map(e => e.localName)"
    )
    assert set(view.evaluate(inside)) <= {"svg", "defs", "pattern", "path", "rect", "g", "text", "circle"}
    assert title in view.title()
    assert view.locator("img").count() == 0


@pytest.fixture
def paced(browser: Browser, server: Running) -> Iterator[Page]:
    """The page with a clock that stands still, so that a film is as soon there as a test says."""
    with opened(browser, server.address, script=OWN_CLOCK, expected=("429", "503")) as page:
        start_from(page, "8x10 printed")
        page.evaluate("later(1000)")
        yield page


def names_asked(view: Page) -> list[str]:
    """What is asked for from now on."""
    found: list[str] = []
    view.on(
        "request",
        lambda request: found.append(request.url.rpartition("/")[2]) if not steps(request.url) else None,
    )
    return found


def test_a_film_that_is_soon_there_brings_the_drawing(paced: Page) -> None:
    plan, film = drawn(paced, "plan"), drawn(paced, "film")
    wholes = held_back(paced, "whole")
    asked = names_asked(paced)
    paced.fill("#f-lip-all_mm", "3.5")
    until_drawn_anew(paced, "film", film)
    assert drawn(paced, "plan") != plan  # at once, not after it
    assert "Film sags below the ledge" in numbers(paced)
    whole = until_one_more(paced, wholes)
    # on a busy machine the drawing was asked for as well, as the film was late
    assert [name for name in asked if name != "sketch"] == ["film?drawing", "whole"]
    whole.continue_()
    settle(paced)


def test_after_a_film_that_took_long_the_drawing_is_asked_for_beside_it(paced: Page) -> None:
    films = held_back(paced, "film")
    for lip, film_ms, wanted in (
        ("3.5", 400, "film?drawing"),
        ("3.4", 50, "film"),  # as the last one took long
        ("3.3", 50, "film?drawing"),
    ):
        before = len(films)  # a fast page asks while the field is still being filled
        paced.fill("#f-lip-all_mm", lip)
        film = until_one_more(paced, films, before)
        assert film.request.url.rpartition("/")[2] == wanted
        paced.evaluate(f"later({film_ms})")
        film.continue_()
        settle(paced)
        paced.evaluate("later(1000)")


def test_a_holder_in_pieces_is_asked_for_beside_its_film(paced: Page) -> None:
    start_from(paced, IN_PIECES)
    paced.evaluate("later(1000)")
    asked = names_asked(paced)
    changed(paced, "#f-lip-all_mm", "3.5")
    assert asked == ["film", "sketch", "whole"]


def test_a_film_that_is_late_after_all_does_not_keep_the_drawing_back(paced: Page) -> None:
    films, wholes = held_back(paced, "film"), held_back(paced, "whole")
    plan = drawn(paced, "plan")
    paced.fill("#f-lip-all_mm", "3.5")
    film = until_one_more(paced, films)
    assert film.request.url.endswith("drawing")
    flat = until_drawn_anew(paced, "plan", plan)
    expect(paced.locator("#numbers")).to_contain_text("left 3.50, right 3.50")
    film.continue_()
    until_one_more(paced, wholes).continue_()
    settle(paced)
    assert drawn(paced, "plan") != flat  # what is lettered on it is the ledge of the film


def test_a_late_drawing_does_not_cover_what_the_film_brought(paced: Page) -> None:
    films, sketches, wholes = (held_back(paced, kind) for kind in ("film", "sketch", "whole"))
    before = drawn(paced, "plan")
    paced.fill("#f-lip-all_mm", "3.5")
    film, sketch = until_one_more(paced, films), until_one_more(paced, sketches)
    film.continue_()
    plan = until_drawn_anew(paced, "plan", before)
    whole = until_one_more(paced, wholes)  # the checks need not wait for what the film brought
    sketch.continue_()
    paced.wait_for_timeout(400)
    assert drawn(paced, "plan") == plan
    whole.continue_()
    settle(paced)


@pytest.mark.parametrize(
    "refusal",
    [
        {"status": 503, "json": {"ok": False, "message": "that holder could not be worked out"}},
        {"json": {"ok": False, "errors": [{"field": "lip.all_mm", "value": "3.4", "way_out": "no"}]}},
    ],
    ids=["failed", "refused"],
)
def test_the_drawing_is_there_where_the_film_that_should_bring_it_fails(
    paced: Page, refusal: dict[str, Any]
) -> None:
    films = held_back(paced, "film")
    section = drawn(paced, "section")
    paced.fill("#f-lip-all_mm", "3.5")
    until_one_more(paced, films).fulfill(**refusal)
    until_drawn_anew(paced, "section", section)
    expect(paced.locator("#numbers")).to_contain_text("left 3.50, right 3.50")


def test_what_the_film_is_refused_for_stays_when_the_drawing_comes_later(view: Page) -> None:
    start_from(view, "8x10 printed")
    view.wait_for_timeout(300)
    sketches = held_back(view, "sketch")
    asked: list[str] = []
    view.on("request", lambda request: asked.append(request.url.rpartition("/")[2]))
    words = {"field": "lip.all_mm", "value": "3.5", "way_out": "the film would lie on the glass"}
    view.route("**/api/film*", lambda route: route.fulfill(json={"ok": False, "errors": [words]}))
    view.fill("#f-lip-all_mm", "3.5")
    until_one_more(view, sketches)
    expect(view.locator("#say")).to_contain_text("Not drawn: look at Lip")
    sketches[0].continue_()
    expect(view.locator("#numbers")).to_contain_text("left 3.50, right 3.50")
    view.wait_for_timeout(300)
    expect(view.locator("#f-lip-all_mm")).to_have_attribute("aria-invalid", "true")
    expect(view.locator("#say")).to_contain_text("Not drawn")
    assert "whole" not in asked
    view.unroute("**/api/film*")
    view.unroute("**/api/sketch*")
    changed(view, "#f-lip-all_mm", "3")
    expect(view.locator("#say")).to_contain_text("Drawn")


def test_a_drawing_that_fails_is_told_and_the_next_change_is_answered(
    browser: Browser, server: Running
) -> None:
    with opened(browser, server.address, expected=("429", "503")) as view:
        fail_and_go_on(view)


def fail_and_go_on(view: Page) -> None:
    start_from(view, IN_PIECES)
    view.wait_for_timeout(300)
    sketches = held_back(view, "sketch")
    view.fill("#f-lip-all_mm", "3.5")
    until_one_more(view, sketches)
    expect(view.locator("#numbers")).to_contain_text("left 3.50, right 3.50")
    sketches[0].fulfill(status=503, json={"ok": False, "message": "that holder could not be worked out"})
    expect(view.locator("#trouble")).to_contain_text("could not be worked out")
    # one that fails when a newer change is wanted takes nothing from that
    view.fill("#f-lip-all_mm", "3.2")
    until_one_more(view, sketches, 1)
    view.fill("#f-lip-all_mm", "3.1")
    sketches[1].fulfill(status=503, json={"ok": False, "message": "that holder could not be worked out"})
    until_one_more(view, sketches, 2).continue_()
    settle(view)
    assert numbers(view)["Lip"].startswith("left 3.10, right 3.10")


def test_of_changes_in_a_row_the_film_waits_for_the_drawing(view: Page) -> None:
    start_from(view, "8x10 printed")
    view.wait_for_timeout(300)
    films, sketches = held_back(view, "film"), held_back(view, "sketch")
    view.evaluate(
        """() => {
            const field = document.getElementById("f-lip-all_mm");
            for (const value of ["3", "3.2", "3.5"]) {
                field.value = value;
                field.dispatchEvent(new Event("input", { bubbles: true }));
            }
        }"""
    )
    until_one_more(view, films).continue_()  # of the first change, no longer wanted
    until_one_more(view, sketches).continue_()
    until_one_more(view, sketches, 1)
    view.wait_for_timeout(500)
    assert len(films) == 1
    asked: list[str] = []
    view.on("request", lambda request: asked.append(request.url.rpartition("/")[2]))
    sketches[1].continue_()
    until_one_more(view, films, 1)
    view.wait_for_timeout(300)
    assert "whole" not in asked
    films[1].continue_()
    settle(view)
    assert (len(films), len(sketches)) == (2, 2)  # none for the change in the middle
    assert numbers(view)["Lip"].startswith("left 3.50, right 3.50")


def test_nonsense_is_told_beside_the_field(view: Page) -> None:
    start_from(view, "8x10 printed")
    lip = view.get_by_label("Lip on every edge mm")
    lip.fill("wide")
    error = view.locator("#f-lip-all_mm-error")
    expect(error).to_contain_text("wide: must be a number")
    assert lip.get_attribute("aria-invalid") == "true"
    assert "f-lip-all_mm-error" in str(lip.get_attribute("aria-describedby"))
    expect(view.locator("#say")).to_contain_text("Not drawn: look at Lip on every edge")
    photograph(view, "3-nonsense")
    lip.fill("99")
    expect(error).to_have_text("99: must be at most 50 mm")
    lip.fill("2,5")
    expect(error).to_be_hidden()
    assert lip.get_attribute("aria-invalid") is None
    settle(view)
    assert numbers(view)["Lip"].startswith("left 2.50")
    station(view, "film")
    view.fill("#f-layout-count", "many")
    expect(view.locator("#f-layout-count-error")).to_contain_text("many")


def test_a_finding_stands_at_its_field_and_leads_there(view: Page) -> None:
    start_from(view, "8x10 printed")
    changed(view, "#f-lip-all_mm", "0.9")
    note = view.locator("#f-lip-all_mm-notes li.stop").first
    expect(note).to_contain_text("A film cut small falls through")
    expect(note).to_contain_text("mm; good: at least ")
    view.locator("#checks li.stop").get_by_role("link", name="Change: Lip on every edge").first.click()
    assert view.evaluate("document.activeElement.id") == "f-lip-all_mm"
    view.locator("#checks li.warn").get_by_role("link", name="Change: With lid frame").first.click()
    assert view.evaluate("document.activeElement.id") == "t-lid"  # in a folded part, now open
    view.get_by_role("button", name="Make the files").click()
    expect(view.locator("#reason-box")).to_be_visible()
    expect(view.locator("#make-say")).to_contain_text("give the reason")
    assert view.evaluate("document.activeElement.id") == "reason"
    photograph(view, "4-stop")


def test_a_broken_preset_leaves_the_form_and_tells_the_line(view: Page, tmp_path: Path) -> None:
    start_from(view, "8x10 printed")
    broken = tmp_path / "broken.toml"
    broken.write_text(
        'holders_preset = 1\ntitle = "x"\nroute = "print"\n[bed]\nname = "a4-wide"\nglas_width_mm = 216\n'
    )
    view.set_input_files("#open", broken)
    trouble = view.get_by_role("alert")
    expect(trouble).to_contain_text(
        "Line 6: bed.glas_width_mm = 216: no such key here; did you mean `glass_width_mm`?"
    )
    expect(trouble).to_contain_text("glas_width_mm = 216")
    assert view.evaluate("document.activeElement.id") == "trouble"
    assert view.input_value("#f-title") == "8x10 printed"
    photograph(view, "5-broken-preset")
    trouble.get_by_role("button", name="Close").click()
    expect(trouble).to_be_hidden()
    view.set_input_files("#open", {"name": "big.toml", "mimeType": "text/plain", "buffer": b"#" * 70_000})
    expect(view.get_by_role("alert")).to_contain_text("64 KiB")


def test_save_and_open_again(view: Page, tmp_path: Path) -> None:
    start_from(view, "5x7 printed with lid")
    before = numbers(view)
    with view.expect_download() as caught:
        view.get_by_role("button", name="Save the preset").click()
    kept = tmp_path / caught.value.suggested_filename
    caught.value.save_as(kept)
    assert kept.name == "5x7-printed-with-lid.toml"
    emptied(view)
    view.set_input_files("#open", kept)
    view.wait_for_selector("html[data-settled]")
    assert numbers(view) == before
    assert view.is_checked("#t-lid")


def test_somebody_elses_measurements_are_taken_out_and_brought_back(view: Page, tmp_path: Path) -> None:
    theirs = tmp_path / "theirs.toml"
    theirs.write_text((ROOT / "presets" / "5x7-printed.toml").read_text(encoding="utf-8"), encoding="utf-8")
    view.set_input_files("#open", theirs)
    expect(view.locator("#theirs-say")).to_contain_text("Sharpest height")
    view.get_by_role("button", name="somebody else").click()
    settle(view)
    assert view.input_value("#f-bed-focus_height_mm") == ""
    expect(view.locator("#theirs-list")).to_contain_text("(theirs: 3.1): scan a focus ramp")
    view.get_by_role("button", name="Undo").click()
    assert view.input_value("#f-bed-focus_height_mm") == "3.1"


def test_a_cover_that_a_preset_has_is_ticked(view: Page) -> None:
    start_from(view, "5x7 under glass")
    assert view.is_checked("#t-cover")
    assert not view.is_checked("#t-lid")
    station(view, "holder")
    expect(view.locator("#f-cover-thickness_mm")).to_be_visible()
    view.uncheck("#t-cover")
    settle(view)
    expect(view.locator("#f-cover-thickness_mm")).to_be_hidden()
    view.get_by_role("button", name="Undo").click()
    assert view.is_checked("#t-cover")


def test_undo_and_redo(view: Page) -> None:
    undo, redo = view.get_by_role("button", name="Undo"), view.get_by_role("button", name="Redo")
    expect(undo).to_be_disabled()
    emptied(view)
    choose(view)
    view.fill("#f-lip-all_mm", "3")
    view.locator("#f-lip-all_mm").blur()
    station(view, "holder")
    view.check("#t-feet")
    settle(view)
    assert numbers(view)["Feet stand out"] != "0.00 mm"
    undo.click()
    assert not view.is_checked("#t-feet")
    view.locator("#checks-title").click()
    view.keyboard.press("Control+z")
    assert view.input_value("#f-lip-all_mm") == ""
    view.keyboard.press("Control+Shift+z")
    assert view.input_value("#f-lip-all_mm") == "3"
    redo.click()
    assert view.is_checked("#t-feet")
    expect(redo).to_be_disabled()
    for _ in range(5):
        undo.click()
    assert view.input_value("#f-route") == ""
    undo.click()
    assert view.input_value("#f-title") == "8x10 printed"  # what the page opened with
    expect(undo).to_be_disabled()


def test_a_scan_cancelled_before_the_server_has_answered_is_not_sent(view: Page, tmp_path: Path) -> None:
    path = tmp_path / "slope.tif"
    tifffile.imwrite(path, np.zeros((300, 900), np.uint8), resolution=(2400, 2400))
    station(view, "scanner")
    view.get_by_label("The far end is higher by mm").fill("6")
    view.get_by_label("Over a length of mm").fill("60")
    held: list[Route] = []
    view.route("**/api/measure", lambda route: held.append(route))  # noqa: PLW0108
    sent: list[str] = []
    view.on("request", lambda request: sent.append(request.url) if request.method == "PUT" else None)
    with view.expect_request("**/api/measure"):
        view.set_input_files("#m-scan", path)
    view.locator("#m-cancel").click()
    held[0].continue_()
    expect(view.locator("#m-say")).to_have_text("Cancelled.")
    expect(view.locator("#m-scan")).to_be_focused()
    assert not sent


def test_a_scan_is_measured_and_used(view: Page, tmp_path: Path) -> None:
    path = tmp_path / "slope.tif"
    dots = (SLOPE.dpi, SLOPE.dpi)
    tifffile.imwrite(path, scan(SLOPE), resolution=dots, resolutionunit="INCH", photometric="minisblack")
    station(view, "scanner")
    view.set_input_files("#m-scan", path)
    expect(view.locator("#m-rise-error")).to_contain_text("say by how many mm")
    assert view.evaluate("document.activeElement.id") == "m-rise"
    view.get_by_label("The far end is higher by mm").fill("6")
    view.get_by_label("Over a length of mm").fill("60")
    view.set_input_files("#m-scan", path)
    expect(view.locator("#m-say")).to_contain_text(re.compile(r"Sharpest 2\.(79|8)"))
    expect(view.locator("#m-picture")).to_be_visible()
    view.locator("#m-result").scroll_into_view_if_needed()
    photograph(view, "6-measured")
    # the scan itself with its ends, and the same scan with them swapped
    expect(view.locator("#m-ends b").first).to_have_text("LOW")
    assert "low end at the left" in str(view.get_attribute("#m-scan-picture", "aria-label"))
    assert view.evaluate("document.getElementById('m-scan-picture').width") > 400
    view.get_by_role("button", name="Swap the ends and measure again").click()
    expect(view.locator("#m-say")).to_contain_text(re.compile(r"Sharpest 3\.(1|2)"))  # 6 mm - 2.8 mm
    expect(view.locator("#m-ends b").first).to_have_text("HIGH")
    view.get_by_role("button", name="Swap the ends and measure again").click()
    expect(view.locator("#m-say")).to_contain_text(re.compile(r"Sharpest 2\.(79|8)"))
    before = view.input_value("#f-bed-focus_height_mm")
    view.get_by_role("button", name="Use these heights in the form").click()
    assert float(view.input_value("#f-bed-focus_height_mm")) == pytest.approx(SLOPE.z0_mm, abs=0.05)
    assert view.evaluate("document.activeElement.id") == "f-bed-focus_height_mm"
    view.get_by_role("button", name="Undo").click()
    assert view.input_value("#f-bed-focus_height_mm") == before


def test_a_finished_scan_is_looked_at(view: Page, tmp_path: Path) -> None:
    path, bare = sagging_scan(tmp_path / "12.tif"), tmp_path / "bare.tif"
    tifffile.imwrite(bare, np.full((200, 200), 9000, np.uint16), photometric="minisblack")
    emptied(view)
    station(view, "scan")
    view.set_input_files("#l-scan", bare)
    expect(view.locator("#l-dpi-error")).to_contain_text("pixels per inch")
    assert view.evaluate("document.activeElement.id") == "l-dpi"
    view.set_input_files("#l-scan", path)
    expect(view.locator("#l-say")).to_contain_text("rings cannot be judged without colour")
    expect(view.locator("#l-say")).to_contain_text("without a holder")  # the form is still empty
    expect(view.locator("#l-picture")).to_be_visible()
    assert "the middle differs from the edges" in str(view.get_attribute("#l-picture", "aria-label"))
    expect(view.locator("#l-advice")).to_contain_text("the middle and the edges differ in focus")
    expect(view.locator("#l-dpi-error")).to_be_hidden()
    start_from(view, "8x10 printed")
    view.set_input_files("#l-scan", path)
    expect(view.locator("#l-rows")).to_contain_text("against what was designed")
    view.locator("#l-result").scroll_into_view_if_needed()
    photograph(view, "7-inspected", whole=True)


def test_two_scans_show_the_measured_film_over_the_computed_one(view: Page, tmp_path: Path) -> None:
    first, second = bowl_pair(tmp_path)
    start_from(view, "8x10 printed")
    station(view, "scan")
    view.set_input_files("#lie-scan", first)
    expect(view.locator("#lie-say")).to_have_text("Now the other scan.")
    view.set_input_files("#lie-second", second)
    expect(view.locator("#lie-say")).to_contain_text("Measured.")
    expect(view.locator("#lie-rows")).to_contain_text("beside the prediction")
    view.locator("#lie-result").scroll_into_view_if_needed()
    photograph(view, "8-lies", whole=True)
    view.get_by_role("button", name="In focus").click()
    expect(view.locator("#film-measured")).to_be_checked()
    expect(view.locator("#film-read")).to_contain_text("what was computed")
    expect(view.locator("#film .computed")).to_have_count(1)
    photograph(view, "8-relief", whole=True)
    view.locator("#film-measured").uncheck()
    expect(view.locator("#film .computed")).to_have_count(0)
    # the scan with the holder slid back goes in beside the two that are there
    station(view, "scan")
    expect(view.locator("#lie-drop3")).to_be_hidden()
    view.locator("#lie-back").check()
    expect(view.locator("#lie-drop3")).to_be_visible()
    photograph(view, "8-third", whole=True)
    sent: list[str] = []
    view.on("request", lambda asked: sent.append(asked.url) if "/api/scan/" in asked.url else None)
    view.set_input_files("#lie-third", first)
    expect(view.locator("#lie-cancel")).to_be_visible()
    expect(view.locator("#lie-cancel")).to_be_hidden()
    expect(view.locator("#lie-say")).to_contain_text("Measured.")
    assert len(sent) == 3


def test_a_dropped_file_is_taken_as_a_scan_and_one_beside_it_is_not(view: Page) -> None:
    station(view, "scanner")
    view.fill("#m-rise", "6")
    view.fill("#m-run", "60")
    data = view.evaluate_handle(
        "() => { const d = new DataTransfer(); d.items.add(new File(['no picture'], '../../etc/x.tif')); return d; }"
    )
    view.dispatch_event("body", "drop", {"dataTransfer": data})
    expect(view.locator("#m-say")).to_have_text("")
    view.dispatch_event("#m-drop", "drop", {"dataTransfer": data})
    expect(view.locator("#m-say")).to_contain_text("neither TIFF nor PNG nor JPEG")


def test_the_view_turns_within_a_second(view: Page) -> None:
    start_from(view, "5x7 printed with lid")
    view.get_by_role("button", name="3D").click()
    picture = "document.querySelector('#turn').toDataURL()"
    colours = (
        "(() => { const c = document.querySelector('#turn');"
        " const d = c.getContext('2d').getImageData(0, 0, c.width, c.height).data; const s = new Set();"
        " for (let i = 0; i < d.length; i += 4) s.add(d.slice(i, i + 4).join()); return s.size; })()"
    )
    end = time.monotonic() + PATIENCE_MS / 1000
    while view.evaluate(colours) <= 3 and time.monotonic() < end:  # it is drawn when the rest is painted
        view.wait_for_timeout(50)
    view.wait_for_timeout(300)
    assert view.evaluate(colours) > 3
    before = view.evaluate(picture)
    for name in ("Turn", "Tilt", "Pull apart"):
        slider = view.get_by_label(name, exact=True)
        slider.focus()
        view.keyboard.press("PageDown")
        after = view.evaluate(picture)
        assert after != before, name
        before = after
    begun = view.evaluate("performance.now()")
    view.evaluate("document.querySelector('#turn-round').dispatchEvent(new Event('input'))")
    assert view.evaluate("performance.now()") - begun < 1000


def test_by_keyboard_alone(view: Page) -> None:
    def tab_to(name: str, most: int = 60) -> None:
        for _ in range(most):
            if view.evaluate("document.activeElement.id") == name:
                return
            view.keyboard.press("Tab")
        raise AssertionError(f"{name} cannot be reached")

    view.keyboard.press("Tab")
    assert view.evaluate("document.activeElement.className") == "skip"
    emptied(view)
    for name, letters in (("f-film-format", "8x"), ("f-route", "pr"), ("f-bed-name", "A4")):
        tab_to(name)
        view.keyboard.type(letters)
    settle(view)
    tab_to("f-lip-all_mm")
    view.keyboard.type("2.5")
    view.keyboard.press("Tab")
    tab_to("make")
    outline = view.evaluate("getComputedStyle(document.activeElement).outlineWidth")
    assert outline == "3px"
    with view.expect_download() as caught:
        view.keyboard.press("Enter")
    assert caught.value.suggested_filename.endswith(".zip")
    view.locator("#checks-title").click()
    view.keyboard.press("Control+z")
    assert view.input_value("#f-lip-all_mm") == ""


def test_making_can_be_cancelled(view: Page) -> None:
    start_from(view, "8x10 from a small printer")  # solids in pieces take long enough to be cancelled
    view.get_by_role("button", name="Make the files").click()
    view.get_by_role("button", name="Cancel").click()
    expect(view.locator("#make-say")).to_have_text("Cancelled; nothing was kept.")
    expect(view.get_by_role("button", name="Make the files")).to_be_enabled()
    station(view, "holder")
    changed(view, "#f-lip-all_mm", "2.1")
    assert numbers(view)["Lip"].startswith("left 2.10")


def test_a_cancel_before_the_server_has_answered_is_not_lost(view: Page) -> None:
    """On a busy machine one is quicker than the first answer; the job then ends as soon as it is known."""
    start_from(view, "8x10 from a small printer")
    held: list[Route] = []
    view.route("**/api/make", lambda route: held.append(route))  # noqa: PLW0108
    with view.expect_request("**/api/make"):
        view.get_by_role("button", name="Make the files").click()
    view.get_by_role("button", name="Cancel").click()
    expect(view.locator("#make-say")).to_have_text("Starting.")
    held[0].continue_()
    expect(view.locator("#make-say")).to_have_text("Cancelled; nothing was kept.")
    expect(view.get_by_role("button", name="Make the files")).to_be_focused()


def test_a_reloaded_page_keeps_the_form(view: Page) -> None:
    start_from(view, "8x10 mat board")
    view.reload()
    view.wait_for_selector("html[data-settled]")
    assert view.input_value("#f-title") == "8x10 mat board"
    assert view.is_hidden("#f-printer-name")


def test_a_finished_holder_with_its_verdict_is_there_at_first(view: Page) -> None:
    settle(view)
    assert view.input_value("#f-title") == "8x10 printed"
    expect(view.locator("#glass svg .film")).to_have_count(1)
    answer = shipped_study(ROOT / "presets" / "8x10-printed.toml").verdict  # what the command line says
    expect(view.locator("#verdict-text")).to_have_text(answer.text)
    expect(view.locator("#verdict-number")).to_have_text(per_hundred(answer.chance))
    expect(view.locator("#bar-number")).to_have_text(f"{per_hundred(answer.chance)} of 100")
    expect(view.locator("#make")).to_be_in_viewport()
    expect(view.get_by_role("button", name="Undo")).to_be_disabled()


def test_a_next_step_is_done_by_one_press_and_undone(next_steps_tried: None, view: Page) -> None:
    start_from(view, "5x7 printed with lid")
    view.wait_for_selector("html[data-steps]", timeout=4 * PATIENCE_MS)
    before = view.inner_text("#verdict-number"), {**numbers(view)}
    step = view.locator("#next-steps button", has_not_text="Measure").first
    promised = step.locator("b").inner_text()
    assert promised.startswith(f"{before[0]} →")
    view.evaluate("delete document.documentElement.dataset.settled")
    step.click()
    settle(view)
    assert promised == f"{before[0]} → {view.inner_text('#verdict-number')} of 100"  # what it promised
    expect(view.get_by_role("button", name="Undo")).to_be_focused()
    photograph(view, "8-step-done")
    view.evaluate("delete document.documentElement.dataset.settled")
    view.keyboard.press("Enter")
    settle(view)
    assert (view.inner_text("#verdict-number"), numbers(view)) == before


def test_what_is_to_be_measured_leads_to_its_station(next_steps_tried: None, view: Page) -> None:
    start_from(view, "8x10 printed")
    view.wait_for_selector("html[data-steps]", timeout=4 * PATIENCE_MS)
    kept = view.input_value("#f-bed-focus_sigma_mm")
    view.locator("#next-steps button", has_text="Measure where your scanner is sharpest").click()
    expect(view.locator("#s-scanner")).to_be_visible()
    assert view.evaluate("document.activeElement.id") == "m-scan"  # the box to drop the scan on
    assert view.input_value("#f-bed-focus_sigma_mm") == kept  # nothing is put in that was not measured


def test_a_curl_to_be_measured_leads_to_the_box_for_its_scan(view: Page) -> None:
    step = {"text": "Measure how curled your film is", "now": "39", "then": "60", "gain": 0.2, "minutes": 0.0,
            "cost": None, "hidden_mm2": 0.0, "field": "base.curl_per_m", "measure": True, "by_hand": False,
            "values": {}}  # fmt: skip
    view.route("**/api/steps", lambda route: route.fulfill(json={**NO_STEPS, "next": [step]}))
    start_from(view, "8x10 printed")
    view.locator("#next-steps button").click()
    expect(view.locator("#s-film")).to_be_visible()
    assert view.evaluate("document.activeElement.id") == "c-scan"
    expect(view.locator("#c-chord")).to_be_in_viewport()  # the ruler's numbers beside it


def test_the_relief_says_height_and_blur_at_the_mark(view: Page) -> None:
    start_from(view, "8x10 printed")
    view.get_by_role("button", name="In focus").click()
    found_whole = shipped_study(ROOT / "presets" / "8x10-printed.toml")
    found = found_whole.film
    assert found.grid is not None
    middle = (found.band.low_mm + found.band.high_mm) / 2
    for slider, value in (("#probe-across", "50"), ("#probe-down", "50")):
        view.fill(slider, value)
    z = float(found.grid.z[len(found.grid.y) // 2, len(found.grid.x) // 2])
    blur = abs(z - middle) / (found.band.width_mm / 2)
    words = view.inner_text("#film-read")
    said = re.fullmatch(
        r"At the mark: ([\d.]+) mm above the glass, .*Sharp, with (\d+) % of the blur .*", words
    )
    assert said, words
    assert float(said[1]) == pytest.approx(z, abs=0.006)  # two decimals
    assert float(said[2]) == pytest.approx(100 * blur, abs=2)
    assert view.locator("#film .contour").count() >= 2
    key = view.locator("#film .key")
    scale = dict(relief(found_whole.job, found_whole.design, found)["scale"])
    for place in (key, view.locator("#film .surface")):  # the colours of the job sheet's picture
        used = place.locator(".tint").evaluate_all("all => all.map(e => e.getAttribute('fill'))")
        assert len(set(used)) > 5
        assert set(used) <= set(scale.values())
    expect(key.locator("text", has_text="this film")).to_have_count(1)
    for words in (f"sharp below {found.band.high_mm:.2f}", f"sharp above {found.band.low_mm:.2f}"):
        expect(key.locator("text", has_text=words)).to_have_count(1)
    photograph(view, "9-relief")
    # the same holder with film of another curl in it
    expect(view.locator("#curl-read")).to_contain_text("Near what is usual")
    before = drawn(view, "film")
    view.fill("#curl-try", "0")
    assert drawn(view, "film") != before
    expect(view.locator("#curl-read")).to_contain_text("hollow toward the base")
    expect(view.locator("#curl-read")).to_contain_text("0 of 100 films of this kind curl less")
    # and the film that has dried on the warm bed
    before = drawn(view, "film")
    view.check("#film-warm")
    assert drawn(view, "film") != before
    photograph(view, "9-relief-warm")


def test_a_picture_of_the_holder_is_handed_over(view: Page, tmp_path: Path) -> None:
    start_from(view, "8x10 printed")
    # a browser that lets no picture onto the clipboard gets a file
    view.evaluate("void (navigator.clipboard.write = () => Promise.reject(new Error('no')))")
    with view.expect_download() as waited:
        view.get_by_role("button", name="Copy picture of my holder").click()
    waited.value.save_as(tmp_path / "holder.png")
    with Image.open(tmp_path / "holder.png") as image:
        assert image.width == 1600
        colours = image.convert("RGB").resize((160, image.height // 10)).getcolors(1 << 20)
    assert colours is not None
    assert len(colours) > 200  # film, glass and slab, not an empty ground
    expect(view.locator("#share-say")).to_contain_text("my-holder.png")


def test_after_an_error_the_old_picture_is_veiled(view: Page) -> None:
    start_from(view, "8x10 printed")
    view.fill("#f-lip-all_mm", "99")
    expect(view.locator("#veil")).to_be_visible()
    expect(view.locator("#veil-say")).to_contain_text("Lip on every edge: 99: must be at most 50")
    photograph(view, "10-veiled")
    view.locator("#f-lip-all_mm").blur()
    view.get_by_role("button", name="Take the change back").click()
    settle(view)
    expect(view.locator("#veil")).to_be_hidden()
    assert view.input_value("#f-lip-all_mm") == "2.5"


def test_film_stood_on_edge_gives_its_curl_to_the_form(view: Page, tmp_path: Path) -> None:
    path = tmp_path / "stood.tif"
    write_tiff(path, render(STOOD))
    station(view, "film")
    view.select_option("#c-hollow", value="emulsion")
    view.set_input_files("#c-scan", path)
    expect(view.locator("#c-say")).to_contain_text("per m toward the emulsion")
    view.get_by_role("button", name="Use this curl in the form").click()
    settle(view)
    assert float(view.input_value("#f-base-curl_per_m")) == pytest.approx(STOOD.curl_per_m, abs=0.1)


def test_a_ruler_gives_its_curl_to_the_form(view: Page) -> None:
    station(view, "film")
    view.get_by_role("button", name="Take these two").click()
    expect(view.locator("#c-chord-error")).to_contain_text("between the film's two ends")
    view.fill("#c-chord", "100")
    view.fill("#c-rise", "5")
    view.get_by_role("button", name="Take these two").click()
    expect(view.locator("#c-say")).to_contain_text("Say which side is hollow")
    expect(view.get_by_role("button", name="Use this curl in the form")).to_be_disabled()
    view.select_option("#c-hollow", value="emulsion")
    view.get_by_role("button", name="Take these two").click()
    expect(view.locator("#c-say")).to_contain_text("Curl 3.96 ±")
    view.get_by_role("button", name="Use this curl in the form").click()
    settle(view)
    assert float(view.input_value("#f-base-curl_per_m")) == pytest.approx(3.96, abs=0.01)


def test_an_empty_form_shows_no_effort_of_the_film_before(view: Page) -> None:
    start_from(view, "8x10 printed")
    efforts = view.locator("#s-holder .picture small")
    expect(efforts.first).to_contain_text(re.compile(r"\d\sg$"))
    emptied(view)
    assert efforts.all_inner_texts() == ["", "", ""]
