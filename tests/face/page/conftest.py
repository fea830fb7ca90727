"""A page to talk to, in this process or as a program of its own."""

from __future__ import annotations

import tempfile
from collections.abc import Iterator
from pathlib import Path

import pytest
from starlette.testclient import TestClient

from holders.face.page.app import Limits, make_app
from tests.face.page.pages import HEAD, PORT, TOKEN, Running, started, stopped


@pytest.fixture(scope="session")
def limits() -> Limits:
    return Limits(upload_bytes=64 * 1024 * 1024, stall_s=2.0)


@pytest.fixture(scope="session")
def page(limits: Limits) -> Iterator[TestClient]:
    """The page in this process; every request carries the right host and token unless it says otherwise."""
    with TestClient(
        make_app(PORT, TOKEN, limits), base_url=f"http://127.0.0.1:{PORT}", headers=HEAD
    ) as client:
        yield client


@pytest.fixture(scope="session")
def server() -> Iterator[Running]:
    with tempfile.TemporaryDirectory(prefix="page-test-") as temp:
        running = started(Path(temp))
        yield running
        stopped(running)
