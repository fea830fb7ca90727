"""A preset as a code on paper, written by one library (segno) and read back by another (zxing-cpp)."""

from __future__ import annotations

import io
from pathlib import Path

import numpy as np
import pytest
from PIL import Image, ImageFilter

from holders.core.errors import InputError
from holders.preset.code import MOST_BYTES, compact, dots, preset_in_photo
from holders.preset.load import load, parse, read_text
from holders.preset.schema import Preset

PRESETS = sorted((Path(__file__).parents[2] / "presets").glob("*.toml"))


def picture(preset: Preset, dot_px: int = 6) -> Image.Image:
    """The code with its quiet zone, dark on light."""
    rows = dots(preset)
    assert rows is not None
    code = np.pad(np.array(rows), 4)
    return Image.fromarray(np.where(code, 0, 255).astype(np.uint8)).resize(
        (dot_px * code.shape[1], dot_px * code.shape[0]), Image.Resampling.NEAREST
    )


def saved(image: Image.Image, kind: str = "PNG") -> bytes:
    stream = io.BytesIO()
    image.save(stream, kind)
    return stream.getvalue()


def photo(image: Image.Image, seed: int) -> Image.Image:
    """What a hand-held camera makes of it: turned, askew, unevenly lit, a little soft, grainy."""
    dice = np.random.default_rng(seed)
    side = image.width
    framed = Image.new("L", (2 * side, 2 * side), 215)
    framed.paste(image, (side // 2, side // 2))
    turned = framed.rotate(float(dice.uniform(0, 360)), Image.Resampling.BICUBIC, fillcolor=215)
    k = dice.uniform(-1e-4, 1e-4, 2) * 600 / side
    askew = turned.transform(
        turned.size,
        Image.Transform.PERSPECTIVE,
        (1, 0.02, 0, 0.03, 1, 0, *k),
        Image.Resampling.BICUBIC,
        fillcolor=215,
    )
    soft = askew.filter(ImageFilter.GaussianBlur(1.2))
    light = np.linspace(0.6, 1.0, soft.width)[None, :]
    seen = np.asarray(soft) * light + dice.normal(0, 6, (soft.height, soft.width))
    return Image.fromarray(np.clip(seen, 0, 255).astype(np.uint8))


@pytest.mark.parametrize("path", PRESETS, ids=lambda path: path.stem)
def test_the_code_says_all_that_the_preset_says(path: Path) -> None:
    preset = parse(read_text(path), path.name)
    assert parse(preset_in_photo(saved(picture(preset))), "the code") == preset


@pytest.mark.parametrize("seed", range(3))
def test_a_photo_brings_it_back(seed: int, tmp_path: Path) -> None:
    preset = load(next(path for path in PRESETS if path.stem == "8x10-printed"))
    file = tmp_path / "photo.jpg"
    file.write_bytes(saved(photo(picture(preset), seed), "JPEG"))
    assert load(file) == preset  # any command opens the photo as it opens the preset


def test_a_long_preset_has_no_code() -> None:
    preset = load(next(path for path in PRESETS if path.stem == "8x10-printed"))
    room = MOST_BYTES - len(compact(preset.model_copy(update={"note": ""})).encode())
    full, over = (preset.model_copy(update={"note": "x" * length}) for length in (room, room + 1))
    rows = dots(full)
    assert rows is not None
    assert len(rows) == 177  # the largest there is (ISO/IEC 18004, version 40; from memory)
    assert dots(over) is None


@pytest.mark.parametrize("kind", ["PNG", "JPEG"])
def test_another_picture_is_called_one(kind: str) -> None:
    with pytest.raises(InputError, match="no preset's code is found"):
        preset_in_photo(saved(Image.new("L", (300, 200), 128), kind))


def test_what_only_begins_like_a_picture_is_refused() -> None:
    for head in (b"\x89PNG\r\n\x1a\n", b"\xff\xd8\xff\xe0"):
        with pytest.raises(
            InputError, match="damaged, so no code can be looked for in it: save or photograph it again"
        ):
            preset_in_photo(head + b"\0" * 200)


def test_a_tiff_is_refused_unread() -> None:
    """Its library takes time that a small file does not show, and writes to the terminal."""
    for data in (saved(Image.new("L", (300, 200), 128), "TIFF"), b"II*\0\xff\xff\xff\xff", b"MM\0*"):
        with pytest.raises(InputError, match="save the picture as JPEG or PNG"):
            preset_in_photo(data)


def test_a_huge_picture_is_refused_before_it_is_unpacked() -> None:
    with pytest.raises(InputError, match="million pixels"):
        preset_in_photo(saved(Image.new("1", (9000, 9000)), "PNG"))
