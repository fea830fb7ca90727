"""How large a scan and a record may be is what SECURITY.md tells."""

from __future__ import annotations

from holders.measure import record_file
from holders.measure.scan import guard, model, plain, tiff
from tests.said_limits import said


def test_what_is_kept_is_what_is_told() -> None:
    assert said("keys of a bed or film record") == [record_file.MOST_KEYS]
    assert said("a bed or film record") == [record_file.MAX_BYTES]
    assert said("sides of a scan") == [model.MAX_SIDE]
    assert said("a tag of a TIFF that says how pixels lie") == [guard.MAX_TAG_BYTES]
    assert said("one strip or tile of a TIFF, unpacked") == [tiff.MAX_SEGMENT_BYTES]
    assert said("a PNG or JPEG, unpacked") == [plain.MAX_BYTES]
