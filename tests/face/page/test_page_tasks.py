"""Nine tasks by keyboard alone, in a real browser, with an accessibility checker: the short form of page_tasks.py."""

from __future__ import annotations

from collections.abc import Callable, Iterator
from pathlib import Path

import pytest

pytest.importorskip("playwright.sync_api")
pytest.importorskip("axe_playwright_python.sync_playwright")
from playwright.sync_api import Browser, Page

from tests.face.page.browsing import PROGRAM, SMALL, chromium, faults, opened
from tests.face.page.pages import Running
from tests.face.page.tasks import CUT, TASKS, Hand, Told

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(PROGRAM is None, reason="no Chromium here: apt-get install chromium"),
]
QUICK = {"nonsense", "to_the_zip"}  # the other tasks, by keyboard too, with --slow
EACH = [
    pytest.param(task, id=task.__name__, marks=[] if task.__name__ in QUICK else [pytest.mark.slow])
    for task in TASKS
]
LOOKS = [
    pytest.param(1024, True, id="keys"),
    *(pytest.param(width, False, id=str(width), marks=pytest.mark.slow) for width in (390, 768, 1440)),
]


@pytest.fixture(scope="module")
def browser() -> Iterator[Browser]:
    with chromium() as found:
        yield found


@pytest.fixture(scope="module")
def files(tmp_path_factory: pytest.TempPathFactory) -> Path:
    """One folder for all tasks: what one has made another opens."""
    return tmp_path_factory.mktemp("tasks")


def nothing_wrong(page: Page, what: str) -> None:
    """Nobody is kept out, nothing is small, cut or beyond the edge."""
    assert faults(page) == [], what
    assert page.evaluate(SMALL) == [], what
    assert page.evaluate(CUT) == [], what
    assert page.evaluate("document.documentElement.scrollWidth <= innerWidth"), what


@pytest.mark.parametrize(("width", "keys"), LOOKS)
@pytest.mark.parametrize("task", EACH)
def test_a_task_is_done_to_its_end(
    browser: Browser,
    server: Running,
    files: Path,
    task: Callable[[Hand, Told], None],
    width: int,
    keys: bool,
) -> None:
    look = {"viewport": {"width": width, "height": 900}, "steps": task.__name__ == "next_step"}
    with opened(browser, server.address, **look) as page:
        task(Hand(page, keys), Told(files, nothing_wrong))
