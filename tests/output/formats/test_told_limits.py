"""How large a manifest that is read again may be is what SECURITY.md tells."""

from __future__ import annotations

from holders.output.bundle import kept
from tests.said_limits import said


def test_what_is_kept_is_what_is_told() -> None:
    assert said("a manifest that is read again") == [kept.MOST_MANIFEST_BYTES]
