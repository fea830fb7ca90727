"""The README's pictures: the page as Chromium shows it, pages of a job sheet, an inspected scan.

Needs chromium and pdftoppm (Debian).

Run from the project root: ``PYTHONPATH=. python scripts/pictures.py``
"""

from __future__ import annotations

import subprocess
import sys
import tempfile
from pathlib import Path

from PIL import Image

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from holders.face.shared.expected import expected_of  # noqa: E402
from holders.measure.finished.look import inspect_scan  # noqa: E402
from holders.output.draw.inspect import inspect_sheet  # noqa: E402
from holders.output.sheet.content import sheet_content  # noqa: E402
from holders.output.sheet.pdf import pdf_bytes  # noqa: E402
from holders.study import study_file  # noqa: E402
from tests.face.page.browsing import chromium, opened, start_from  # noqa: E402
from tests.face.page.pages import started, stopped  # noqa: E402
from tests.measure.finished.scans import scan_of  # noqa: E402

PICTURES = ROOT / "docs" / "pictures"
PRESET = ROOT / "presets" / "8x10-printed.toml"
SHOWN = ("To buy and to cut", "Loading the film", "Cautions")  # one page for each
HIGH = 700  # pixels
TOO_HIGH_MM = 0.5
PAGE_HIGH = 1000  # px: one screen


def page(target: Path) -> None:
    """The page with a shipped preset opened."""
    with tempfile.TemporaryDirectory() as temp:
        running = started(Path(temp))
        try:
            with chromium() as browser, opened(browser, running.address) as view:
                view.set_viewport_size({"width": 1360, "height": PAGE_HIGH})
                start_from(view, "8x10 printed")
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


def main() -> None:
    PICTURES.mkdir(parents=True, exist_ok=True)
    inspected(PICTURES / "inspected.svg")
    job_sheet(PICTURES / "job-sheet.png")
    page(PICTURES / "page.png")


if __name__ == "__main__":
    main()
