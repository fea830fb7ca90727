"""The code on a job sheet, held before the computer's camera: a film that the browser takes for its camera."""

from __future__ import annotations

import io
from pathlib import Path

import pytest
from PIL import Image
from playwright.sync_api import expect

from holders.preset.load import load
from tests.face.page.browsing import PROGRAM, chromium, opened, settle
from tests.face.page.pages import ROOT, Running
from tests.preset.test_code import picture

pytestmark = [
    pytest.mark.outside,
    pytest.mark.skipif(PROGRAM is None, reason="no Chromium here"),
]
BOARD = ROOT / "presets" / "8x10-mat-board.toml"


def filmed(path: Path) -> Path:
    """Twenty pictures of an empty table, then the code on it, as motion JPEG."""
    code = picture(load(BOARD), 4)
    empty = Image.new("L", (1280, 960), 190)
    held = empty.copy()
    held.paste(code, ((1280 - code.width) // 2, (960 - code.height) // 2))
    frames = io.BytesIO()
    for image in [empty] * 20 + [held] * 200:
        image.convert("RGB").save(frames, "JPEG", quality=92)
    path.write_bytes(frames.getvalue())
    return path


def test_a_code_before_the_camera_brings_its_design(server: Running, tmp_path: Path) -> None:
    film = filmed(tmp_path / "camera.mjpeg")
    with (
        chromium(
            "--use-fake-ui-for-media-stream",
            "--use-fake-device-for-media-stream",
            f"--use-file-for-fake-video-capture={film}",
        ) as browser,
        opened(browser, server.address) as page,
    ):
        page.select_option("#shipped", value="camera")
        expect(page.locator("#camera")).to_be_visible()
        expect(page.locator("#f-title")).to_have_value(load(BOARD).title)
        settle(page)
        expect(page.locator("#camera")).to_be_hidden()
        assert page.evaluate(
            "document.getElementById('camera-view').srcObject === null"
        )  # it is switched off
        page.select_option("#shipped", value="camera")
        page.click("#camera-stop")
        expect(page.locator("#camera")).to_be_hidden()


def test_without_a_camera_it_says_what_to_do(server: Running) -> None:
    with chromium() as browser, opened(browser, server.address) as page:
        page.select_option("#shipped", value="camera")
        expect(page.locator("#trouble")).to_contain_text("Take a photo of the code and press Open")
