"""A preset as a code of square dots on paper: the text itself, no address, so that a photo brings it back.

The code is a QR code (ISO/IEC 18004). Comments and keys left as they are by default are not in it.
"""

from __future__ import annotations

import contextlib
import io
import warnings
from typing import Any

from holders.core.errors import InputError
from holders.preset.carried import MAX_CARRIER_BYTES, MAX_PRESET_BYTES
from holders.preset.tables.plain import PlainPreset
from holders.preset.template import toml_value

MOST_BYTES = 2331  # of a code of 177 x 177 dots with medium correction (ISO/IEC 18004, from memory)
MOST_PIXELS = 60_000_000  # of a photo that is looked at
WIDEST_PX = 3000  # a photo is made no wider than this before it is searched
SEARCHED = {b"\xff\xd8\xff": "JPEG", b"\x89PNG": "PNG"}
TIFF_HEADS = (b"II*\0", b"MM\0*")


def compact(preset: PlainPreset) -> str:
    """The preset as the shortest readable TOML: only what was set."""
    values: dict[str, Any] = preset.model_dump(mode="json", exclude_unset=True, exclude_none=True)
    version = values.pop("holders_preset", None)
    plain = [] if version is None else [f"holders_preset={toml_value(version)}"]
    plain += [f"{key}={toml_value(value)}" for key, value in values.items() if not isinstance(value, dict)]
    tables = [
        line
        for name, table in values.items()
        if isinstance(table, dict)
        for line in (f"[{name}]", *(f"{key}={toml_value(value)}" for key, value in table.items()))
    ]
    return "\n".join([*plain, *tables]) + "\n"


def dots(preset: PlainPreset) -> tuple[tuple[bool, ...], ...] | None:
    """The code's dots by rows from the top, True where dark, without the quiet zone of four dots that it needs around.

    None for a preset too long for one code.
    """
    import segno  # noqa: PLC0415 - only where a sheet is written

    data = compact(preset).encode()
    if len(data) > MOST_BYTES:
        return None
    made = segno.make_qr(data, error="m", mode="byte", boost_error=False)
    return tuple(tuple(bool(dot) for dot in row) for row in made.matrix)


def pictured(head: bytes) -> bool:
    """Whether a file beginning so is a picture that may show a code (JPEG, PNG; a TIFF, to be refused in words)."""
    return head.startswith((*SEARCHED, *TIFF_HEADS))


def preset_in_photo(data: bytes, name: str = "the picture") -> str:
    """The preset's text in a picture of its code: a photo or a screenshot, turned or askew as it may be.

    Raises
    ------
    InputError
        When the picture cannot be read, is too large, or shows no code with a preset in it.
    """
    if len(data) > MAX_CARRIER_BYTES:
        raise InputError(
            "preset", name, f"a picture of more than {MAX_CARRIER_BYTES // 2**20} MiB: make it smaller"
        )
    if data.startswith(
        TIFF_HEADS
    ):  # its decoder is not bounded by the file's size, and writes to the terminal
        raise InputError(
            "preset",
            name,
            "a TIFF is not searched for a code: save the picture as JPEG or PNG; a finished scan belongs to the "
            "station Scan",
        )
    import zxingcpp  # noqa: PLC0415 - only with a picture
    from PIL import Image, ImageOps  # noqa: PLC0415

    try:
        with (
            warnings.catch_warnings(action="ignore"),
            Image.open(io.BytesIO(data), formats=tuple(SEARCHED.values())) as opened,
        ):
            if opened.width * opened.height > MOST_PIXELS:
                raise InputError(
                    "preset",
                    name,
                    f"a picture of more than {MOST_PIXELS // 10**6} million pixels: crop it to the code",
                )
            opened.draft("L", (WIDEST_PX, WIDEST_PX))
            grey = ImageOps.exif_transpose(opened.convert("L"))
    except (MemoryError, InputError):
        raise
    except Exception:  # whatever a decoder makes of a stranger's bytes
        raise InputError(
            "preset",
            name,
            "a picture whose file is damaged, so no code can be looked for in it: save or photograph it again",
        ) from None
    grey.thumbnail((WIDEST_PX, WIDEST_PX))
    for found in zxingcpp.read_barcodes(grey, formats=zxingcpp.BarcodeFormats(zxingcpp.BarcodeFormat.QRCode)):
        raw = bytes(found.bytes)
        if b"holders_preset" in raw and len(raw) <= MAX_PRESET_BYTES:
            with contextlib.suppress(UnicodeDecodeError):
                return raw.decode()
    raise InputError(
        "preset",
        name,
        "a picture in which no preset's code is found: take it from nearer, sharp, with the white margin in it; "
        "a finished scan belongs to the station Scan",
    )
