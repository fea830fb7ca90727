"""How soon the page follows a change: drawing, section and numbers; the film in the holder; all checks.

A headless Chromium takes presets that come along, one in one piece and two in several, and changes the lip of each
thirteen times, each time waiting until all is shown; times run from the change to the frame painted that shows it. The
first paint is what the browser says of it.
Server and browser share this machine, and the browser paints without a graphics card. Where no Chromium is found it
says so and measures nothing.

Run from the project root: ``python scripts/bench_page.py [TITLE ...]``
"""

from __future__ import annotations

import argparse
import statistics
import sys
import tempfile
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from bench_rows import row  # noqa: E402

STAGES = (
    ("sketchMs", "drawing, section and numbers", "100 ms"),
    ("filmMs", "film in it", "100 ms"),
    ("chanceMs", "the chance of a good scan", "500 ms"),
    ("wholeMs", "all checks", ""),
)
CHANGES = 13
PAUSE_MS = 700  # between one change and the next, as a person makes them
TITLES = ("8x10 printed", "8x10 from a small printer", "4x5 insert with carrier")


def main() -> int:
    given = argparse.ArgumentParser(description=__doc__, formatter_class=argparse.RawDescriptionHelpFormatter)
    given.add_argument(
        "titles", metavar="TITLE", nargs="*", default=list(TITLES), help="of a preset that comes along"
    )
    titles = given.parse_args().titles
    from tests.face.page.browsing import PROGRAM, changed, chromium, opened, start_from  # noqa: PLC0415
    from tests.face.page.pages import started, stopped  # noqa: PLC0415

    if PROGRAM is None:
        print("no Chromium here: the page was not measured (apt-get install chromium)")
        return 0
    told: dict[str, list[dict[str, str]]] = {title: [] for title in titles}
    painted: list[float] = []
    with tempfile.TemporaryDirectory(prefix="bench-page-") as temp:
        server = started(Path(temp))
        try:
            for title, seen in told.items():
                with chromium() as browser, opened(browser, server.address) as page:
                    painted.append(page.evaluate("performance.getEntriesByName('first-paint')[0].startTime"))
                    start_from(page, title)
                    for k in range(CHANGES):
                        page.wait_for_timeout(PAUSE_MS)
                        changed(page, "#f-lip-all_mm", f"{2 + k / 10:g}")
                        seen.append(page.evaluate("({...document.documentElement.dataset})"))
        finally:
            stopped(server)
    # each in a browser just started: nothing is kept from another visit
    row("page: first paint", f"{statistics.median(painted):.0f} ms, at most {max(painted):.0f} ms", "1000 ms")
    for title, seen in told.items():
        for key, words, aim in STAGES:
            spent = sorted(float(one[key]) for one in seen)
            median = f"{statistics.median(spent):.0f} ms"
            print(f"{title}: {words}: median {median} of {[round(s) for s in spent]}")
            row(f"page, {title}: {words} after a change of the lip", median, aim)
    return 0


if __name__ == "__main__":
    raise SystemExit(main())
