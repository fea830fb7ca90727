"""The one typeface of page, drawings and sheets: Source Sans Pro, an open typeface whose files come with a package.

Letters and signs that it lacks are DejaVu Sans, from the package matplotlib. Sizes of lettering are heights of its
capitals, as ISO 3098-1 counts them; SVG and PDF want the size of the whole body.
"""

from __future__ import annotations

import base64
import importlib.util
import io
from collections.abc import Iterator
from functools import cache, lru_cache
from itertools import groupby
from pathlib import Path
from typing import Any

FAMILY = "Source Sans Pro"
REGULAR, BOLD, ITALIC = "SourceSansPro-Regular", "SourceSansPro-Semibold", "SourceSansPro-It"
SPARE = {
    REGULAR: "DejaVuSans",
    BOLD: "DejaVuSans-Bold",
    ITALIC: "DejaVuSans-Oblique",
}  # what the typeface lacks
MONO = "DejaVuSansMono"
FOLDERS = {
    "SourceSansPro": ("font_source_sans_pro", "files"),
    "DejaVuSans": ("matplotlib", "mpl-data/fonts/ttf"),
}
CAPITAL = (
    0.654  # height of a flat capital (H) as a share of the body, the lesser of both weights: their outlines
)
BELOW = 0.23  # how far g and p reach below the line, as a share of the body
UNITS = 1000  # the body at which widths are read


def body_mm(capital_mm: float) -> float:
    """The size to give a program for capitals of this height."""
    return capital_mm / CAPITAL


@cache
def font_file(name: str) -> Path:
    """The file of one of the fonts; no package is imported for it, which would take a second.

    Raises ``ModuleNotFoundError`` where the package that brings it is missing.
    """
    package, inside = FOLDERS[name.partition("-")[0].removesuffix("Mono")]
    spec = importlib.util.find_spec(package)
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError(f"{package}, whose fonts are needed, is not installed")
    return Path(spec.origin).parent / inside / f"{name}.ttf"


@cache
def letters_of(name: str) -> frozenset[int]:
    """The code points that a font has letters for."""
    from fontTools.ttLib import TTFont  # noqa: PLC0415 - only where lettering is set

    with TTFont(str(font_file(name)), lazy=True) as font:
        return frozenset(font.getBestCmap())


def runs(text: str, name: str) -> Iterator[tuple[str, str]]:
    """A text in pieces, each with the font that has its letters: ``name``, or the spare one."""
    spare = SPARE.get(name)
    if spare is None:
        yield name, text
        return
    own, others = letters_of(name), letters_of(spare)
    for lacking, piece in groupby(text, lambda char: ord(char) not in own and ord(char) in others):
        yield spare if lacking else name, "".join(piece)


@lru_cache(maxsize=4096)
def width(text: str, body: float, bold: bool = False) -> float:
    """How wide a text comes out at a body size, in the unit of ``body``."""
    found = sum(_metrics(font).getlength(part) for font, part in runs(text, BOLD if bold else REGULAR))
    return float(found) / UNITS * body


@cache
def _metrics(name: str) -> Any:
    from PIL import ImageFont  # noqa: PLC0415 - only where lettering is set

    return ImageFont.truetype(str(font_file(name)), UNITS, layout_engine=ImageFont.Layout.BASIC)


def face_rules(text: str, bold: str = "") -> str:
    """CSS that brings the letters of these texts along (@font-face), each font cut down to what is used."""
    return "".join(_rules(REGULAR, 400, text)) + "".join(_rules(BOLD, 700, bold))


def _rules(name: str, weight: int, text: str) -> Iterator[str]:
    parts: dict[str, set[str]] = {}
    for font, part in runs(text, name):
        parts.setdefault(font, set()).update(char for char in part if font == name or not char.isspace())
    for font in sorted(filter(parts.get, parts), key=lambda font: font != name):
        letters = "".join(sorted(parts[font]))
        data = base64.b64encode(_cut_down(font, letters)).decode("ascii")
        only = "" if font == name else f";unicode-range:{','.join(f'U+{ord(char):X}' for char in letters)}"
        yield (
            f'@font-face{{font-family:"{FAMILY}";font-weight:{weight};'
            f'src:url("data:font/woff;base64,{data}") format("woff"){only}}}'
        )


@lru_cache(maxsize=32)
def _cut_down(name: str, letters: str) -> bytes:
    from fontTools import subset  # noqa: PLC0415 - half a second, only where a file is written

    options = subset.Options(
        flavor="woff", hinting=False, layout_features=[], name_IDs=[], notdef_outline=True
    )
    options.drop_tables += ["FFTM"]  # the editor's time stamp
    out = io.BytesIO()
    with subset.load_font(str(font_file(name)), options) as font:
        cutter = subset.Subsetter(options)
        cutter.populate(text=letters)
        cutter.subset(font)
        font.flavor = "woff"
        font.save(out)
    return out.getvalue()
