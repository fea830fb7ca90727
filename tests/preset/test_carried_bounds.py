"""How large a file that carries a preset may be, at the bound itself."""

from __future__ import annotations

import io
import zipfile

import pytest

from holders.core.errors import InputError
from holders.output.formats.carry import into_svg
from holders.preset.carried import MAX_CARRIER_BYTES, MAX_ENTRIES, PART, preset_carried

DRAWING = b'<?xml version="1.0"?>\n<svg xmlns="http://www.w3.org/2000/svg"><title>weir</title><g /></svg>\n'


def test_a_drawing_of_32_mib_opens_and_a_larger_one_does_not() -> None:
    drawing = into_svg(DRAWING, "title = 1")
    full = drawing + b" " * (32 * 1024**2 - len(drawing))
    assert len(full) == MAX_CARRIER_BYTES
    assert preset_carried(full) == "title = 1"
    with pytest.raises(InputError, match="larger than 32 MiB"):
        preset_carried(full + b" ")


@pytest.mark.parametrize(("entries", "opens"), [(1000, True), (1001, False)])
def test_a_zip_of_a_thousand_entries_opens_and_one_of_more_does_not(entries: int, opens: bool) -> None:
    assert MAX_ENTRIES == 1000
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(PART, "title = 1")
        for number in range(entries - 1):
            archive.writestr(f"x{number}", b"")
    if opens:
        assert preset_carried(out.getvalue()) == "title = 1"
    else:
        with pytest.raises(InputError, match="has no preset in it"):
            preset_carried(out.getvalue())


@pytest.mark.parametrize(("marks", "opens"), [(999, True), (1000, False)])
def test_a_zip_that_says_it_has_more_lines_than_it_may_is_not_read(marks: int, opens: bool) -> None:
    """Counted in the bytes, before a directory of any length is read: with its own line, 1000 and 1001 of them."""
    out = io.BytesIO()
    with zipfile.ZipFile(out, "w") as archive:
        archive.writestr(PART, "title = 1")
        archive.writestr("x", b"PK\x01\x02" * (marks - 1))
    if opens:
        assert preset_carried(out.getvalue()) == "title = 1"
    else:
        with pytest.raises(InputError, match="has no preset in it"):
            preset_carried(out.getvalue())
