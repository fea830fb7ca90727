"""What the page takes from a stranger, and how long it works for one, is what SECURITY.md tells."""

from __future__ import annotations

from holders.face.page import bodies, patience, server
from holders.face.page.app import Limits
from tests.said_limits import said


def test_what_is_kept_is_what_is_told() -> None:
    page = Limits()
    assert said("a scan sent to the page") == [bodies.UPLOAD_BYTES]
    assert said("JSON sent to the page") == [bodies.JSON_BYTES]
    assert said("connections to the page") == [server.AT_ONCE, patience.MOST_IDLE]
    assert said("the head of a request to the page") == [patience.HEAD_S]
    assert said("an answer of the page") == [page.answer_s]
    assert said("files made on the page") == [page.make_s]
    assert said("a scan measured on the page") == [page.job_s]
