"""Other sites cannot drive the page; what comes in is bounded; names from outside are never paths."""

from __future__ import annotations

import json
from collections.abc import Iterator

import pytest
from starlette.testclient import TestClient

from holders.face.page.assets import assets
from tests.face.page.pages import PORT, PRINTED, TOKEN

OPEN = ("/", "/static/main.js")
API = ("/api/form", "/api/jobs/x")


@pytest.mark.parametrize("path", [*OPEN, *API])
@pytest.mark.parametrize(
    "host", ["evil.example", f"evil.example:{PORT}", "127.0.0.1", "127.0.0.1:1", f"127.0.0.1.evil.example:{PORT}",
             f"[::1]:{PORT}", "", f"0.0.0.0:{PORT}"],
)  # fmt: skip
def test_only_its_own_address_is_answered(page: TestClient, path: str, host: str) -> None:
    answer = page.get(path, headers={"host": host})
    assert answer.status_code == 403
    assert TOKEN not in answer.text


@pytest.mark.parametrize("host", [f"127.0.0.1:{PORT}", f"localhost:{PORT}", f"LOCALHOST:{PORT}"])
def test_its_own_address_is_answered(page: TestClient, host: str) -> None:
    assert page.get("/", headers={"host": host}).status_code == 200


@pytest.mark.parametrize("path", [*OPEN, *API])
@pytest.mark.parametrize(
    "origin", ["https://evil.example", "null", f"http://127.0.0.1:{PORT + 1}", f"https://127.0.0.1:{PORT}"]
)
def test_foreign_origins_are_turned_away(page: TestClient, path: str, origin: str) -> None:
    assert page.get(path, headers={"origin": origin}).status_code == 403
    assert page.post("/api/sketch", json=PRINTED, headers={"origin": origin}).status_code == 403


@pytest.mark.parametrize("site", ["cross-site", "same-site"])
def test_requests_that_a_browser_marks_as_foreign_are_turned_away(page: TestClient, site: str) -> None:
    assert page.get("/", headers={"sec-fetch-site": site}).status_code == 403
    assert page.post("/api/make", json={}, headers={"sec-fetch-site": site}).status_code == 403


def test_typing_the_address_opens_the_page_but_no_request(page: TestClient) -> None:
    assert page.get("/", headers={"sec-fetch-site": "none"}).status_code == 200
    assert page.get("/api/form", headers={"sec-fetch-site": "none"}).status_code == 403


ROUTES = [
    ("GET", "/api/form"), ("POST", "/api/sketch"), ("POST", "/api/film"), ("POST", "/api/whole"), ("POST", "/api/open"),
    ("POST", "/api/shipped"), ("POST", "/api/save"), ("POST", "/api/make"), ("POST", "/api/measure"),
    ("POST", "/api/inspect"), ("POST", "/api/surface"), ("PUT", "/api/scan/x"), ("GET", "/api/jobs/x"),
    ("DELETE", "/api/jobs/x"),
    ("GET", "/api/jobs/x/zip"), ("POST", "/api/steps"), ("POST", "/api/routes"), ("POST", "/api/own"),
    ("POST", "/api/ramp"), ("POST", "/api/curl"), ("POST", "/api/reroute"), ("POST", "/api/propose"),
    ("POST", "/api/afresh"), ("POST", "/api/chance"),
    ("POST", "/api/ruler"), ("POST", "/api/ahead"),
]  # fmt: skip


@pytest.mark.parametrize(("method", "path"), ROUTES)
@pytest.mark.parametrize("token", ["", "wrong", TOKEN + "x", TOKEN[:-1], "é"])
def test_no_request_without_the_token_of_this_run(
    page: TestClient, method: str, path: str, token: str
) -> None:
    answer = page.request(method, path, headers={"x-holders-token": token.encode("utf-8")})
    assert answer.status_code == 403


def test_every_api_route_is_in_that_list(page: TestClient) -> None:
    found = {
        (method, route.path.replace("{key}", "x"))
        for route in page.app.app.routes  # type: ignore[attr-defined]
        for method in route.methods
        if route.path.startswith("/api/") and method != "HEAD"
    }
    assert found == set(ROUTES)


@pytest.mark.parametrize("method", ["OPTIONS", "TRACE", "PATCH", "HEAD"])
def test_other_methods_are_refused_and_nothing_is_granted(page: TestClient, method: str) -> None:
    answer = page.request(method, "/api/form", headers={"access-control-request-method": "POST"})
    assert answer.status_code == 403
    assert not [name for name in answer.headers if name.startswith("access-control")]


def test_headers_that_protect(page: TestClient) -> None:
    for path in ("/", "/static/main.js", "/api/form", "/static/nothing", "/nowhere"):
        headers = page.get(path).headers
        policy = headers["content-security-policy"]
        assert "default-src 'self'" in policy
        assert "frame-ancestors 'none'" in policy
        assert "unsafe" not in policy
        assert headers["x-content-type-options"] == "nosniff"
        assert headers["cache-control"] == "no-store"
        assert "server" not in headers


@pytest.mark.parametrize(
    "name",
    ["../app.py", "..%2fapp.py", "%2e%2e/app.py", "..\\app.py", "/etc/passwd", "%2fetc%2fpasswd", "index.html",
     "main.js%00.css", "style.css/", "."],
)  # fmt: skip
def test_no_name_reaches_another_file(page: TestClient, name: str) -> None:
    answer = page.get(f"/static/{name}", follow_redirects=False)
    assert answer.status_code in (307, 404)
    assert b"import" not in answer.content


@pytest.mark.parametrize("key", ["../../etc/passwd", "presets/8x10-printed.toml", "", "p99", "é" * 40])
def test_presets_and_jobs_are_looked_up_never_opened_by_name(page: TestClient, key: str) -> None:
    answer = page.post("/api/shipped", json={"key": key})
    assert answer.status_code == 422
    assert page.get(f"/api/jobs/{key or 'x'}/zip").status_code == 404
    assert page.request("PUT", f"/api/scan/{key or 'x'}", content=b"x").status_code == 404


def test_bodies_are_bounded(page: TestClient) -> None:
    assert page.post("/api/open", content=b"#" * 65_537).status_code == 413
    assert page.post("/api/sketch", json={"note": "x" * 200_000}).status_code == 413

    def unannounced() -> Iterator[bytes]:
        for _ in range(100):
            yield b"#" * 4096

    assert page.post("/api/open", content=unannounced()).status_code == 413
    assert page.post("/api/open", content=b"", headers={"content-length": "-1"}).status_code == 400


@pytest.mark.parametrize("body", [b"", b"{", b"[]", b"1", b"[" * 50_000, b"\xff\xfe", b"null"])
def test_what_is_no_json_object_is_refused(page: TestClient, body: bytes) -> None:
    for path in ("/api/sketch", "/api/save", "/api/make", "/api/measure", "/api/inspect", "/api/shipped"):
        answer = page.post(path, content=body, headers={"content-type": "application/json"})
        assert answer.status_code == 400, (path, answer.text)
        assert answer.json()["message"]


def test_a_plain_form_post_is_no_json(page: TestClient) -> None:
    # what another site's <form> can send without asking
    for kind in ("text/plain", "application/x-www-form-urlencoded", "multipart/form-data"):
        answer = page.post("/api/sketch", content=json.dumps(PRINTED), headers={"content-type": kind})
        assert answer.status_code == 415


def test_a_hostile_title_stays_text(page: TestClient) -> None:
    title = '<script>alert(1)</script> & "x"'
    answer = page.post("/api/sketch", json={**PRINTED, "title": title}).json()
    assert answer["ok"]
    assert "<script" not in answer["plan"]
    saved = page.post("/api/save", json={**PRINTED, "title": "../../x/..\\y"}).json()
    assert saved["name"] == "x-y.toml"
    refused = page.post("/api/save", json={**PRINTED, "title": "///"})
    assert refused.status_code == 422
    assert refused.json()["errors"][0]["field"] == "title"


def test_all_that_the_page_loads_is_its_own() -> None:
    for name, asset in assets().items():
        if asset.media_type == "font/ttf":
            assert asset.data[:4] == b"\0\1\0\0", (
                name
            )  # TrueType (OpenType specification, from memory): no text
            continue
        text = asset.data.decode("utf-8").replace("http://www.w3.org/2000/svg", "")
        assert "http:" not in text, name
        assert "https:" not in text, name
        assert "//cdn" not in text, name
    index = assets()["index.html"].data.decode()
    assert "style=" not in index
    assert "onclick" not in index
    assert "<script>" not in index
