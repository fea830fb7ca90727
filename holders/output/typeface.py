"""The one typeface of drawings and sheets: DejaVu Sans, whose files come with the package matplotlib.

Sizes of lettering are heights of its capitals, as ISO 3098-1 counts them; SVG and PDF want the size of the whole body.
"""

from __future__ import annotations

import base64
import importlib.util
import io
from functools import cache, lru_cache
from pathlib import Path
from typing import Any

FAMILY = "DejaVu Sans"
REGULAR, BOLD = "DejaVuSans", "DejaVuSans-Bold"
CAPITAL = 0.729  # height of a capital as a share of the body; the font's own OS/2 table, in a test
BELOW = 0.24  # how far g and p reach below the line, as a share of the body
UNITS = 1000  # the body at which widths are read


def body_mm(capital_mm: float) -> float:
    """The size to give a program for capitals of this height."""
    return capital_mm / CAPITAL


@cache
def folder() -> Path:
    """Where the package keeps its fonts; nothing of it is imported, which would take a second.

    Raises ``ModuleNotFoundError`` where the package is missing.
    """
    spec = importlib.util.find_spec("matplotlib")
    if spec is None or spec.origin is None:
        raise ModuleNotFoundError("matplotlib, whose fonts are needed, is not installed")
    return Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"


def font_file(name: str) -> Path:
    """The file of one of the fonts."""
    return folder() / f"{name}.ttf"


@lru_cache(maxsize=4096)
def width(text: str, body: float, bold: bool = False) -> float:
    """How wide a text comes out at a body size, in the unit of ``body``."""
    return float(_metrics(BOLD if bold else REGULAR).getlength(text)) / UNITS * body


@cache
def _metrics(name: str) -> Any:
    from PIL import ImageFont  # noqa: PLC0415 - only where lettering is set

    return ImageFont.truetype(str(font_file(name)), UNITS, layout_engine=ImageFont.Layout.BASIC)


def face_rules(text: str, bold: str = "") -> str:
    """CSS that brings the letters of these texts along (@font-face), each font cut down to what is used."""
    found = [_rule(REGULAR, 400, text)] if text else []
    if bold:
        found.append(_rule(BOLD, 700, bold))
    return "".join(found)


def _rule(name: str, weight: int, text: str) -> str:
    data = base64.b64encode(_cut_down(name, "".join(sorted(set(text))))).decode("ascii")
    return (
        f'@font-face{{font-family:"{FAMILY}";font-weight:{weight};'
        f'src:url("data:font/woff;base64,{data}") format("woff")}}'
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
