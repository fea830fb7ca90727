"""Others on the same machine, and connections that break off: no key is given away, no place kept, no traceback."""

from __future__ import annotations

import http.client
import json
import os
import socket
import stat
import subprocess
import sys
import time
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from holders.face.page.assets import assets
from holders.face.page.runfolder import leading_to
from holders.face.page.server import bound
from holders.measure.ramp import RampGeometry
from tests.face.page.pages import PORT, ROOT, TOKEN, Running, started, stopped

HALF_OPEN = 60


def fetched(running: Running, method: str, path: str, body: bytes = b"") -> tuple[int, bytes]:
    link = http.client.HTTPConnection("127.0.0.1", running.port, timeout=10)
    head = {"x-holders-token": running.token, "content-type": "application/json"}
    link.request(method, path, body=body or None, headers=head)
    answer = link.getresponse()
    found = answer.status, answer.read()
    link.close()
    return found


def test_what_anybody_may_ask_for_holds_no_key(page: TestClient) -> None:
    for path in ("/", *(f"/static/{name}" for name in assets() if name != "index.html")):
        answer = page.get(path, headers={"x-holders-token": ""})
        assert answer.status_code == 200
        assert TOKEN not in answer.text
        assert "@TOKEN@" not in answer.text


@pytest.mark.skipif(sys.platform == "win32", reason="rights of files")
def test_no_command_line_holds_the_key_and_the_file_that_does_is_the_user_s_own(tmp_path: Path) -> None:
    """Every user may read the command line of a browser that is started with an address."""
    browser, seen = tmp_path / "browser.sh", tmp_path / "seen"
    browser.write_text(f'#!/bin/sh\nprintf "%s" "$*" > {seen}.new\nmv {seen}.new {seen}\n')
    browser.chmod(0o755)
    code = "from holders.face.page.server import serve\nif __name__ == '__main__':\n    serve(0)\n"
    (tmp_path / "run.py").write_text(code, encoding="utf-8")
    environment = {**os.environ, "TMPDIR": str(tmp_path), "BROWSER": f"{browser} %s", "DISPLAY": ":99"}
    process = subprocess.Popen(
        [sys.executable, "-u", str(tmp_path / "run.py")], stdout=subprocess.PIPE, text=True, env=environment
    )
    try:
        assert process.stdout is not None
        key = process.stdout.readline().strip().partition("#")[2]
        assert len(key) >= 40
        end = time.monotonic() + 20
        while not seen.exists() and time.monotonic() < end:
            time.sleep(0.05)
        told = seen.read_text()
        assert key not in told
        path = Path(told.removeprefix("file://"))
        assert key in path.read_text(encoding="utf-8")
        assert stat.S_IMODE(path.stat().st_mode) == 0o600
        assert stat.S_IMODE(path.parent.stat().st_mode) == 0o700
    finally:
        process.terminate()
        process.communicate(timeout=15)
    assert not list(tmp_path.glob("holders-page-*"))


def test_only_a_window_may_be_led_here_from_elsewhere(page: TestClient) -> None:
    led = {"sec-fetch-site": "cross-site", "sec-fetch-mode": "navigate", "sec-fetch-dest": "document"}
    assert page.get("/", headers=led).status_code == 200
    assert page.get("/", headers={**led, "sec-fetch-dest": "iframe"}).status_code == 403
    assert page.get("/", headers={**led, "sec-fetch-mode": "cors"}).status_code == 403
    assert page.get("/api/form", headers=led).status_code == 403
    assert page.get("/static/main.js", headers=led).status_code == 403
    assert page.get("/", headers={**led, "host": f"evil.example:{PORT}"}).status_code == 403


def test_an_address_cannot_break_out_of_the_file_that_leads_to_it(tmp_path: Path) -> None:
    text = leading_to('http://127.0.0.1:1/#"><script>', tmp_path).read_text(encoding="utf-8")
    assert "<script>" not in text


def test_two_that_start_together_take_two_ports() -> None:
    with bound(None) as one, bound(None) as two:
        assert one.getsockname()[1] != two.getsockname()[1]


def test_half_open_connections_keep_no_place(server: Running) -> None:
    """Sixty that send half a request, and sixty that have had an answer and stay."""
    asleep = []
    try:
        for number in range(2 * HALF_OPEN):
            one = socket.create_connection(("127.0.0.1", server.port), timeout=5)
            asleep.append(one)
            whole = number >= HALF_OPEN
            head = f"GET / HTTP/1.1\r\nHost: 127.0.0.1:{server.port}\r\n" + ("\r\n" if whole else "X-")
            one.sendall(head.encode())
            if number in (HALF_OPEN - 1, 2 * HALF_OPEN - 1):
                assert fetched(server, "GET", "/")[0] == 200
                assert fetched(server, "GET", "/api/form")[0] == 200
    finally:
        for one in asleep:
            one.close()


@pytest.mark.parametrize("text", [r'{"title": "\ud800"}', r'{"\udfff": 1}', r'{"a": ["\ud800x"]}'])
def test_half_a_character_is_no_json(page: TestClient, text: str) -> None:
    head = {"content-type": "application/json"}
    for path in ("/api/sketch", "/api/save", "/api/make", "/api/measure", "/api/inspect", "/api/shipped"):
        answer = page.post(path, content=text.encode(), headers=head)
        assert answer.status_code == 400, (path, answer.text)


def test_an_upload_that_breaks_off_leaves_no_trace(tmp_path: Path) -> None:
    running = started(tmp_path)
    try:
        for where, method in (("/api/scan/", "PUT"), ("/api/open", "POST"), ("/api/sketch", "POST")):
            path = where
            if method == "PUT":
                status, body = fetched(running, "POST", "/api/inspect", b"{}")
                assert status == 200
                path = where + json.loads(body)["key"]
            with socket.create_connection(("127.0.0.1", running.port), timeout=5) as link:
                head = (
                    f"{method} {path} HTTP/1.1\r\nHost: 127.0.0.1:{running.port}\r\n"
                    f"X-Holders-Token: {running.token}\r\nContent-Type: application/json\r\n"
                    "Content-Length: 100000\r\n\r\n"
                )
                link.sendall(head.encode() + b"{" * 1000)
                time.sleep(0.3)
        time.sleep(0.5)
        assert fetched(running, "GET", "/api/form")[0] == 200
        assert not [path for path in tmp_path.rglob("scan") if path.is_file()]
    finally:
        _, words = stopped(running)
    assert words == ""


def test_no_text_of_a_stranger_is_parsed_in_the_server_s_own_process(
    page: TestClient, monkeypatch: pytest.MonkeyPatch
) -> None:
    """Whatever reads presets, forms, ramps or carriers fails here; the workers are processes of their own."""

    def here(*_: object, **__: object) -> None:
        raise AssertionError("parsed in the server's own process")

    for place in (
        "tomllib.loads",
        "holders.core.toml_text.parsed",
        "holders.preset.load.parse",
        "holders.preset.load.validate",
        "holders.preset.carried.preset_carried",
        "holders.face.shared.slope.geometry_of",
        "holders.face.page.form.values.preset_of",
        "holders.face.page.form.values.text_of",
        "holders.face.page.work.orders.look_of",
        "holders.face.page.work.orders.measure_of",
        "holders.face.page.work.orders.stood_of",
    ):
        monkeypatch.setattr(place, here)
    opened = page.post("/api/open", content=(ROOT / "presets" / "8x10-printed.toml").read_bytes()).json()
    assert opened["ok"]
    assert page.post("/api/open", content=b"a" + b".a" * 30_000 + b"=1").json()["ok"] is False
    values, ramp = opened["values"], RampGeometry().model_dump_json()
    for path, given in (
        ("/api/inspect", {"values": values}),
        ("/api/measure", {"ramp_text": ramp}),
        ("/api/curl", {"base": "triacetate", "hollow": "base"}),
        ("/api/save", values),
        ("/api/sketch", values),
    ):
        answer = page.post(path, json=given)
        assert answer.status_code == 200, (path, answer.text)
        assert answer.json()["ok"] is True
    for path, given in (("/api/inspect", {"values": {}}), ("/api/curl", {"base": "x" * 50})):
        assert page.post(path, json=given).status_code == 422
    for path in ("/api/inspect", "/api/curl", "/api/measure"):
        assert page.post(path, json={"path": "/etc/passwd"}).status_code == 400
