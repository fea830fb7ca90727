"""Nine tasks on the page in a real browser, at four widths, light and dark: done, photographed and checked.

Each is done from its first sight to its end by pointer, or with ``--keys`` by keyboard alone. Wherever there is
something to see, a picture of the whole page goes to build/tasks, an accessibility checker looks at it, no letters may
be under 12 px, and nothing may be cut or scroll sideways. What is found is printed; the exit code is 1 then.

Run from the project root: ``python scripts/page_tasks.py [--keys] [--width 390 ...] [--scheme light ...]
[--task NAME ...]``
"""

from __future__ import annotations

import argparse
import sys
import tempfile
import time
from functools import partial
from pathlib import Path

ROOT = Path(__file__).resolve().parents[1]
sys.path.insert(0, str(ROOT))

from playwright.sync_api import Page  # noqa: E402

from tests.face.page.browsing import SMALL, chromium, faults, opened  # noqa: E402
from tests.face.page.pages import started, stopped  # noqa: E402
from tests.face.page.tasks import CUT, TASKS, Hand, Told  # noqa: E402

PICTURES = ROOT / "build" / "tasks"
HIGH = {390: 844, 768: 1024, 1024: 768, 1440: 900}


def main() -> int:
    asked = argparse.ArgumentParser(description=__doc__)
    asked.add_argument("--width", type=int, nargs="*", default=list(HIGH))
    asked.add_argument("--scheme", nargs="*", default=["light", "dark"])
    asked.add_argument("--task", nargs="*", default=[task.__name__ for task in TASKS])
    asked.add_argument("--keys", action="store_true", help="by keyboard alone")
    options = asked.parse_args()
    PICTURES.mkdir(parents=True, exist_ok=True)
    bad: list[str] = []
    with tempfile.TemporaryDirectory(prefix="page-tasks-") as temp:
        server = started(Path(temp))
        try:
            with chromium() as browser:
                for width in options.width:
                    for scheme in options.scheme:
                        for task in (one for one in TASKS if one.__name__ in options.task):
                            name = f"{task.__name__}-{width}-{scheme}"
                            look = {
                                "viewport": {"width": width, "height": HIGH.get(width, 900)},
                                "color_scheme": scheme,
                                "steps": task.__name__ == "next_step",
                            }
                            begun = time.monotonic()
                            found: list[str] = []
                            try:
                                with opened(browser, server.address, **look) as page:
                                    see = partial(seen, found, name)
                                    task(Hand(page, options.keys), Told(Path(temp), see))
                            except Exception as error:
                                found.append(f"{name}: not done: {str(error)[:400]}")
                            print(f"{name}: {time.monotonic() - begun:.1f} s", *found, sep="\n  ", flush=True)
                            bad += found
        finally:
            stopped(server)
    return 1 if bad else 0


def seen(found: list[str], name: str, page: Page, what: str) -> None:
    """A picture of what stands there now, and what is wrong with it."""
    page.screenshot(path=PICTURES / f"{name}-{what}.png", full_page=True)
    found += [f"{name}-{what}: {fault}" for fault in (*faults(page), *page.evaluate(CUT))]
    if small := page.evaluate(SMALL):
        found.append(f"{name}-{what}: letters under 12 px: {small}")
    if page.evaluate("document.documentElement.scrollWidth > innerWidth"):
        found.append(f"{name}-{what}: the page scrolls sideways")


if __name__ == "__main__":
    raise SystemExit(main())
