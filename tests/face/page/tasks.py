"""Nine tasks on the page, from its first sight to the end, by pointer or by keyboard alone."""

from __future__ import annotations

import re
import zipfile
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Any

import tifffile
from playwright.sync_api import Page, TimeoutError, expect

from tests.face.page.browsing import PATIENCE_MS, numbers, settle
from tests.measure.finished.scans import sagging_scan
from tests.measure.slope.simulator import Case, scan

SLOPE = Case(dpi=1200.0, length_mm=60.0, rows=160, rise_mm=6.0, z0_mm=2.8, number=3)
MOST_TABS = 400
CHOOSER_MS = 15_000
THREE_MF = "holder.3mf"
# a control that has the focus and is covered by the bar at the foot or by the stations at the head, or not in sight
UNSEEN = """() => {
    const here = document.activeElement, box = here.getBoundingClientRect();
    if (here.matches("input[type=file]") || box.width === 0) return "";
    const x = Math.min(Math.max(box.x + box.width / 2, 1), innerWidth - 1), y = box.y + Math.min(box.height / 2, 20);
    const top = document.elementFromPoint(x, y);
    const labels = [...(here.labels || [])];
    const seen = top && (here.contains(top) || top.contains(here) || labels.some(l => l.contains(top)));
    return seen ? "" : `${here.id || here.textContent.slice(0, 30)} at ${Math.round(x)}, ${Math.round(y)}`;
}"""


# words cut off by the box they stand in, and buttons that reach over one another
CUT = """(() => {
    const seen = e => e.offsetParent && !e.closest('.quietly, .scroll, svg') && getComputedStyle(e).clipPath === 'none';
    const all = [...document.querySelectorAll('button, label, p, li, dd, dt, h2, h3, summary, a')].filter(seen);
    const cut = all.filter(e => getComputedStyle(e).overflow !== 'visible'
        && (e.scrollWidth > e.clientWidth + 1 || e.scrollHeight > e.clientHeight + 1))
        .map(e => `cut: ${e.textContent.slice(0, 50)}`);
    const out = all.filter(e => {
        const b = e.getBoundingClientRect();
        return !e.matches('.skip') && b.width && (b.right > innerWidth + 1 || b.left < -1); })
        .map(e => `beyond the edge: ${e.textContent.slice(0, 50)}`);
    const lists = [...document.querySelectorAll('select')].filter(seen).filter(e => {
        const pen = document.createElement('canvas').getContext('2d'); pen.font = getComputedStyle(e).font;
        const text = e.selectedOptions[0] ? e.selectedOptions[0].textContent : '';
        return pen.measureText(text).width > e.clientWidth - 34; })
        .map(e => `cut in a list: ${e.selectedOptions[0].textContent}`);
    return [...cut, ...out, ...lists];
})()"""


@dataclass
class Hand:
    """What a person does to a page: ``keys`` for one who has no mouse."""

    page: Page
    keys: bool = False

    def reach(self, selector: str) -> None:
        """Tab until the control has the focus; what has it on the way is in sight."""
        goal = self.page.locator(selector).first
        goal.evaluate(
            "goal => { for (const e of document.querySelectorAll('[data-goal]')) e.removeAttribute('data-goal');"
            " goal.setAttribute('data-goal', ''); }"
        )
        for _ in range(MOST_TABS):
            if self.page.evaluate("document.activeElement.matches('[data-goal]')"):
                unseen = "never looked at"
                for _ in range(40):  # it scrolls there smoothly
                    unseen = self.page.evaluate(UNSEEN)
                    if not unseen:
                        return
                    self.page.wait_for_timeout(50)
                raise AssertionError(f"the focus is hidden: {unseen}")
            self.page.keyboard.press("Tab")
        raise AssertionError(f"{selector} cannot be reached by keyboard")

    def press(self, selector: str) -> None:
        """A button."""
        if not self.keys:
            self.page.locator(selector).first.click()
            return
        self.reach(selector)
        self.page.keyboard.press("Enter")

    def tick(self, selector: str) -> None:
        """A box to tick."""
        if not self.keys:
            self.page.check(selector)
            return
        self.reach(selector)
        self.page.keyboard.press("Space")
        assert self.page.is_checked(selector)

    def choose(self, selector: str, label: str) -> None:
        """A row of a list."""
        if not self.keys:
            self.page.select_option(selector, label=label)
            return
        self.reach(selector)
        for _ in range(self.page.evaluate("s => document.querySelector(s).options.length", selector)):
            if self.chosen(selector) == label:
                break
            self.page.keyboard.press("ArrowUp")
        for _ in range(2 * self.page.evaluate("s => document.querySelector(s).options.length", selector)):
            if self.chosen(selector) == label:
                break
            self.page.keyboard.press("ArrowDown")
        assert self.chosen(selector) == label
        self.page.keyboard.press("Enter")

    def chosen(self, selector: str) -> str:
        """The row of a list that stands there."""
        found: str = self.page.evaluate(
            "s => { const e = document.querySelector(s); return e.selectedOptions[0]?.textContent ?? ''; }",
            selector,
        )
        return found

    def type(self, selector: str, text: str) -> None:
        """Letters into a field, in place of those there."""
        if not self.keys:
            self.page.fill(selector, text)
            return
        self.reach(selector)
        self.page.keyboard.press("Control+a")
        self.page.keyboard.type(text)

    def give(self, selector: str, file: Path) -> None:
        """A file."""
        if not self.keys:
            self.page.set_input_files(selector, file)
            return
        for tries_left in (2, 1, 0):  # a browser opens no chooser for a key that it comes to seconds later
            self.reach(selector)
            try:
                with self.page.expect_file_chooser(timeout=CHOOSER_MS) as caught:
                    self.page.keyboard.press("Space")
            except TimeoutError:
                if not tries_left:
                    raise
            else:
                caught.value.set_files(file)
                return

    def unfold(self, selector: str) -> None:
        """A folded part, if it is folded."""
        if not self.page.evaluate("s => document.querySelector(s).open", selector):
            self.press(f"{selector} > summary")

    def station(self, key: str) -> None:
        """One of the five stations."""
        self.press(f"[data-station={key}]")

    def view(self, words: str) -> None:
        """One of the views of the stage."""
        self.page.evaluate(
            "w => { for (const b of document.querySelectorAll('#views button'))"
            " b.toggleAttribute('data-this', b.textContent === w); }",
            words,
        )
        self.press("#views [data-this]")


@dataclass(frozen=True)
class Told:
    """What a task is given: a place for its files, and whom to call when there is something to see."""

    temp: Path
    see: Callable[[Page, str], None]


def changing(page: Page, act: Callable[[], Any]) -> None:
    """Do what changes the holder, and wait for all that follows."""
    page.evaluate("delete document.documentElement.dataset.settled")
    act()
    settle(page)


def small_printer(hand: Hand, told: Told) -> None:
    """An 8x10 holder on a printer too small for it."""
    page = hand.page
    told.see(page, "first")
    hand.press(".picture:has-text('8x10')")
    hand.station("make")
    changing(page, lambda: hand.choose("#f-printer-name", "220 mm printer"))
    told.see(page, "printer")
    hand.station("holder")
    assert re.search(r"in (two|2) pieces|pieces", page.inner_text("#details")), page.inner_text("#details")
    hand.view("3D")
    page.wait_for_timeout(400)
    told.see(page, "in-pieces")
    hand.view("Dimensions")
    told.see(page, "dimensions")


def four_in_acrylic(hand: Hand, told: Told) -> None:
    """Four sheets of 4x5, laser-cut in acrylic."""
    page = hand.page
    hand.choose("#shipped", "an empty form")
    expect(page.locator("#made")).to_be_hidden()
    told.see(page, "empty")
    hand.choose("#f-bed-name", "A4-class flatbed, 8x10 lamp area")
    hand.press(".picture:has-text('4x5')")
    changing(page, lambda: hand.press(".picture:has-text('Laser')"))
    assert page.input_value("#f-material-name") == "acrylic-cast"
    hand.station("film")
    changing(page, lambda: hand.type("#f-layout-count", "4"))
    told.see(page, "film")
    hand.station("holder")
    assert page.locator("#glass .film").count() == 4
    told.see(page, "holder")


def board_by_knife(hand: Hand, told: Told) -> None:
    """Board and a knife, for the film that is there."""
    page = hand.page
    changing(page, lambda: hand.press(".picture:has-text('Knife')"))
    assert page.is_hidden("#f-printer-name")
    told.see(page, "holder")
    hand.view("In focus")
    told.see(page, "focus")
    hand.station("make")
    told.see(page, "make")


def measured(hand: Hand, told: Told) -> None:
    """The scanner measured by a scan of a slope, and the height used."""
    page, path = hand.page, told.temp / "slope.tif"
    dots = (SLOPE.dpi, SLOPE.dpi)
    tifffile.imwrite(path, scan(SLOPE), resolution=dots, resolutionunit="INCH", photometric="minisblack")
    hand.station("scanner")
    told.see(page, "scanner")
    hand.type("#m-rise", "6")
    hand.type("#m-run", "60")
    hand.give("#m-scan", path)
    expect(page.locator("#m-say")).to_contain_text(re.compile(r"Sharpest 2\.(79|8)"))
    told.see(page, "sharpest")
    changing(page, lambda: hand.press("#m-use"))
    assert abs(float(page.input_value("#f-bed-focus_height_mm")) - SLOPE.z0_mm) < 0.05


def nonsense(hand: Hand, told: Told) -> None:
    """Words where a number goes, then a number out of all bounds, taken back."""
    page = hand.page
    hand.type("#f-lip-all_mm", "wide")
    expect(page.locator("#f-lip-all_mm-error")).to_contain_text("wide: must be a number")
    told.see(page, "a-word")
    hand.type("#f-lip-all_mm", "99")
    expect(page.locator("#veil-say")).to_contain_text("must be at most 50")
    told.see(page, "veiled")
    page.locator("#f-lip-all_mm").blur()
    changing(page, lambda: hand.press("#veil-undo"))
    expect(page.locator("#veil")).to_be_hidden()
    assert page.input_value("#f-lip-all_mm") == "2.5"  # what was drawn last, however many bad ones came after
    picture = told.temp / "weir.png"
    picture.write_bytes(b"\x89PNG\r\n\x1a\n" + bytes(64))
    hand.give("#open", picture)
    expect(page.locator("#trouble")).to_be_visible()
    told.see(page, "a-picture")


def to_the_zip(hand: Hand, told: Told) -> None:
    """All files in one."""
    page = hand.page
    with page.expect_download() as caught:
        hand.press("#make")
        told.see(page, "making")
    kept_as = told.temp / caught.value.suggested_filename
    caught.value.save_as(kept_as)
    with zipfile.ZipFile(kept_as) as archive:
        names = {name.rpartition("/")[2]: name for name in archive.namelist()}
        solids = min(name for name in names if name.endswith(".3mf"))
        (told.temp / THREE_MF).write_bytes(archive.read(names[solids]))
    assert {"frame.stl", "drawing.pdf", "job-sheet.pdf"} <= set(names)
    expect(page.locator("#make-say")).to_contain_text("Done")
    told.see(page, "done")


def kept(hand: Hand, told: Told) -> None:
    """Saved, opened again, and opened from the 3MF that the zip has, once that was made."""
    page = hand.page
    changing(page, lambda: hand.choose("#shipped", "5x7 printed with lid"))
    before = numbers(page)
    with page.expect_download() as caught:
        hand.press("#save")
    preset = told.temp / caught.value.suggested_filename
    caught.value.save_as(preset)
    changing(page, lambda: hand.choose("#shipped", "8x10 mat board"))
    assert numbers(page) != before
    changing(page, lambda: hand.give("#open", preset))
    assert numbers(page) == before
    expect(page.locator("#theirs")).to_be_visible()
    told.see(page, "opened")
    hand.press("#theirs-keep")
    changing(page, lambda: hand.choose("#shipped", "50 mm mounts"))
    changing(page, lambda: hand.give("#open", told.temp / THREE_MF))
    assert page.input_value("#f-title") == "8x10 printed"
    told.see(page, "from-3mf")


def inspected(hand: Hand, told: Told) -> None:
    """A finished scan looked at."""
    page, path = hand.page, sagging_scan(told.temp / "12.tif")
    hand.station("scan")
    told.see(page, "scan")
    hand.give("#l-scan", path)
    expect(page.locator("#l-say")).to_contain_text("rings cannot be judged without colour")  # it is gray
    told.see(page, "found")


def next_step(hand: Hand, told: Told) -> None:
    """The first step that is no measurement, done and undone."""
    page = hand.page
    changing(page, lambda: hand.choose("#shipped", "5x7 printed with lid"))
    page.wait_for_selector("html[data-steps]", timeout=4 * PATIENCE_MS)
    told.see(page, "steps")
    before = page.inner_text("#verdict-number")
    step = "#next-steps button:not(:has-text('Measure'))"
    promised = page.locator(step).first.locator("b").inner_text()
    page.evaluate(
        "for (const b of document.querySelectorAll('#next-steps button'))"
        " b.toggleAttribute('data-do', !b.textContent.includes('Measure'));"
    )
    changing(page, lambda: hand.press("#next-steps [data-do]"))
    assert promised == f"{before} → {page.inner_text('#verdict-number')} of 100"
    told.see(page, "done")
    changing(page, lambda: hand.press("#undo"))
    assert page.inner_text("#verdict-number") == before


TASKS: tuple[Callable[[Hand, Told], None], ...] = (
    small_printer, four_in_acrylic, board_by_knife, measured, nonsense, to_the_zip, kept, inspected, next_step,
)  # fmt: skip
