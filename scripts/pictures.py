"""The README's pictures: the page as Chromium shows it, pages of a job sheet, an inspected scan, what a
holder is for.

Needs chromium and pdftoppm (Debian).

Run from the project root: ``PYTHONPATH=. python scripts/pictures.py``
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from collections.abc import Callable
from pathlib import Path
from typing import Any

import numpy as np
from numpy.typing import NDArray
from PIL import Image, ImageDraw, ImageFont
from scipy.interpolate import RegularGridInterpolator

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from holders.face.shared.expected import expected_of  # noqa: E402
from holders.measure.finished.look import inspect_scan  # noqa: E402
from holders.output.draw.inspect import inspect_sheet  # noqa: E402
from holders.output.sheet.content import sheet_content  # noqa: E402
from holders.output.sheet.pdf import pdf_bytes  # noqa: E402
from holders.output.typeface import BOLD, REGULAR, font_file  # noqa: E402
from holders.study import study_file  # noqa: E402
from tests.face.page.browsing import chromium, opened, start_from  # noqa: E402
from tests.face.page.pages import started, stopped  # noqa: E402
from tests.measure.finished.scans import scan_of  # noqa: E402
from tests.simulators.finished_scan import FinishedScan, Rings, render  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
PRESET = ROOT / "presets" / "8x10-printed.toml"
SHOWN = ("To buy and to cut", "Loading the film", "Cautions")  # one page for each
HIGH = 700  # pixels
TOO_HIGH_MM = 0.5
PAGE_HIGH = 1000  # px: one screen
STEPS_MS = 300_000.0  # a busy machine takes its time to try them
SCANNED_DPI = 600
PANE, CLOSE_PX = (560, 500), 360  # px: the film, and its middle twice enlarged
Array = NDArray[np.floating]


def page(target: Path) -> None:
    """The page with a shipped preset opened."""
    with tempfile.TemporaryDirectory() as temp:
        running = started(Path(temp))
        try:
            with chromium() as browser, opened(browser, running.address, steps=True) as view:
                view.set_viewport_size({"width": 1360, "height": PAGE_HIGH})
                start_from(view, "8x10 printed")
                view.wait_for_selector("html[data-steps]", timeout=STEPS_MS)
                view.wait_for_function(
                    "![...document.querySelectorAll('small')].some((one) => one.textContent === '…')"
                )
                view.screenshot(path=target)
        finally:
            stopped(running)


def job_sheet(target: Path) -> None:
    """Pages of the job sheet side by side."""
    found = study_file(PRESET)
    with tempfile.TemporaryDirectory() as temp:
        paper = Path(temp) / "sheet.pdf"
        paper.write_bytes(pdf_bytes(sheet_content(found, found.preset_text), found.job.paper))
        subprocess.run(["pdftoppm", "-r", "110", "-png", str(paper), str(Path(temp) / "page")], check=True)
        texts = subprocess.run(
            ["pdftotext", "-layout", str(paper), "-"], capture_output=True, text=True, check=True
        )
        pages = texts.stdout.split("\f")
        files = sorted(Path(temp).glob("page-*.png"))
        chosen = [next(k for k, text in enumerate(pages) if words in text) for words in SHOWN]
        images = [Image.open(files[k]).convert("RGB") for k in dict.fromkeys(chosen)]
        scaled = [image.resize((round(image.width * HIGH / image.height), HIGH)) for image in images]
        whole = Image.new("RGB", (sum(i.width + 12 for i in scaled) - 12, HIGH), (160, 160, 160))
        x = 0
        for image in scaled:
            whole.paste(image, (x, 0))
            x += image.width + 12
        whole.save(target, optimize=True)


def inspected(target: Path) -> None:
    """What ``holders inspect`` draws of a scan made of the holder's own prediction, its film too high."""
    design = expected_of(study_file(PRESET))
    with tempfile.TemporaryDirectory() as temp:
        scan = scan_of(Path(temp) / "finished.tif", design, TOO_HIGH_MM, 100.0)
        target.write_bytes(inspect_sheet(inspect_scan(scan, design=design)))


class Lying:
    """A film's heights over its window, as the simulator of finished scans asks for them."""

    def __init__(self, size_mm: tuple[float, float], heights: Callable[[Array, Array], Array]) -> None:
        """``heights``: mm above the glass at places from the window's middle."""
        self.width_mm, self.height_mm = size_mm
        self.height = heights


def mill() -> NDArray[np.float32]:
    """The paper mill of the invented archive's valley, 0 to 1: bricks, windows and its name, drawn here."""
    wide, high = 2400, 3000
    view = Image.new("L", (wide, high), 205)
    pen = ImageDraw.Draw(view)
    pen.polygon([(0, 900), (600, 560), (1200, 820), (1800, 500), (wide, 740), (wide, high), (0, high)], 150)
    pen.rectangle((1860, 260, 2030, 2200), 96)  # the chimney
    pen.rectangle((200, 1000, 2200, 2350), 128)
    for course, row in enumerate(range(1000, 2350, 26)):  # bricks, every other course half a brick on
        pen.line((200, row, 2200, row), 92, 3)
        for x in range(200 + course % 2 * 36, 2200, 72):
            pen.line((x, row, x, row + 26), 92, 3)
    for x in range(300, 2100, 290):
        for y in (1080, 1750):
            pen.rectangle((x, y, x + 150, y + 240), 40)
            for bar in (50, 100):
                pen.line((x + bar, y, x + bar, y + 240), 190, 5)
            for bar in (80, 160):
                pen.line((x, y + bar, x + 150, y + bar), 190, 5)
    pen.rectangle((560, 1400, 1840, 1620), 222)
    pen.text((1200, 1470), "LOW WEIR", 30, ImageFont.truetype(str(font_file(BOLD)), 84), "mm")
    words = "paper mill  ·  writing, printing and wrapping papers"
    pen.text((1200, 1560), words, 50, ImageFont.truetype(str(font_file(REGULAR)), 42), "mm")
    pen.rectangle((0, 2350, wide, 2440), 70)
    for x in range(0, wide + 80, 34):  # the weir
        pen.line((x, 2440, x - 60, 2680), 225, 5)
    pen.rectangle((0, 2680, wide, high), 120)
    return np.asarray(view, np.float32) / 255


def before_and_after(target: Path) -> None:
    """One simulated 4x5 film scanned twice: laid on the glass, and in the shipped holder for it.

    Film, lens and focus are the same in both. On the glass the film, curled by 0.4 per m both ways, touches in its
    middle: rings stand about it, one for each half wavelength (550 nm) of the gap. In the holder it lies as the
    holder's own study says.
    """
    found = study_file(ROOT / "presets" / "4x5-four-up.toml")
    grid, opening, focus_mm = found.film.grid, found.design.windows[0].opening, found.design.heights.focus
    if grid is None:
        raise SystemExit("4x5-four-up: no film was found in it")
    size, curl, reach_mm = (opening.width, opening.height), 0.4e-3, 4.0
    held = RegularGridInterpolator(
        (grid.y - grid.y.mean(), grid.x - grid.x.mean()), grid.z, bounds_error=False, fill_value=None
    )
    rings = Rings("spot", size[0] / 2, size[1] / 2, reach_mm, curl * reach_mm**2 / 550e-6, 0.08)
    view = mill()
    panes = []
    for heights, seen in (
        (lambda x, y: curl * (x * x + y * y) / 2, rings),
        (lambda x, y: held(tuple(reversed(np.broadcast_arrays(x, y)))), None),
    ):
        lying: Any = Lying(size, heights)
        scan = FinishedScan(
            lying, focus_mm, dpi=SCANNED_DPI, rings=seen, dust_per_cm2=0.0, detail=0.02, view=view
        )
        light = np.asarray(render(scan), float)
        tone = 255 * (light / np.quantile(light, 0.999)).clip(0, 1) ** (1 / 2.2)
        panes.append(Image.fromarray(tone.astype(np.uint8)))
    font = ImageFont.truetype(str(font_file(REGULAR)), 26)
    whole = Image.new("L", (2 * PANE[0] + 20, PANE[1] + CLOSE_PX + 54), 236)
    for k, (pane, title) in enumerate(zip(panes, ("Laid on the glass", "In its holder"), strict=True)):
        left, x, y = k * (PANE[0] + 20), pane.width // 2, pane.height // 2
        ImageDraw.Draw(whole).text((left, 6), title, 20, font)
        small = pane.resize((PANE[0], round(pane.height * PANE[0] / pane.width)), Image.Resampling.LANCZOS)
        whole.paste(small.crop((0, 0, *PANE)), (left, 44))
        close = pane.crop((x - PANE[0] // 4, y - CLOSE_PX // 4, x + PANE[0] // 4, y + CLOSE_PX // 4))
        whole.paste(close.resize((PANE[0], CLOSE_PX), Image.Resampling.LANCZOS), (left, 54 + PANE[1]))
    whole.save(target, optimize=True)


def main() -> None:
    PICTURES.mkdir(parents=True, exist_ok=True)
    inspected(PICTURES / "inspected.svg")
    job_sheet(PICTURES / "job-sheet.png")
    page(PICTURES / "page.png")
    before_and_after(PICTURES / "before-after.png")


if __name__ == "__main__":
    main()
