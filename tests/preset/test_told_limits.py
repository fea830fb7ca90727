"""How large what carries a preset may be is what SECURITY.md tells."""

from __future__ import annotations

from holders.preset import carried, code, load
from tests.said_limits import said


def test_what_is_kept_is_what_is_told() -> None:
    assert said("a preset file") == [load.MAX_BYTES] == [carried.MAX_PRESET_BYTES]
    carriers = "a file that carries a preset (3MF, PDF, SVG, DXF, GLB, zip, picture of a code)"
    assert said(carriers) == [carried.MAX_CARRIER_BYTES]
    assert said("entries of a zip or 3MF") == [carried.MAX_ENTRIES]
    assert [most * 10**6 for most in said("a picture of a code")] == [code.MOST_PIXELS]
