"""The words beside the picture of a finished scan: what its marks mean, and what was found."""

from __future__ import annotations

from typing import TYPE_CHECKING

from holders.geometry.outline import Point
from holders.measure.finished.rings.regions import regions
from holders.output.draw.canvas import AXIS, FINE, HATCH_MATERIAL, Pen, Picture
from holders.output.draw.drafting.lettering import wrapped
from holders.output.words import inspected

if TYPE_CHECKING:
    from holders.measure.finished.look import InspectResult

LINE, BETWEEN, INDENT = 4.6, 1.6, 9.0  # mm
SIZE = 2.8
BLANK, SOFT_SAMPLE = "#e9e9e9", "#dadada"
RIM = Pen(0.7)
RING, DOUBTFUL = Pen(0.5), Pen(0.5, 0.0, (1.6, 1.0))


def has_corner(found: InspectResult) -> bool:
    """Whether the designed picture can be laid to the scan."""
    return found.placement.edge("left") is not None and found.placement.edge("head") is not None


def legend(found: InspectResult) -> list[tuple[str, str]]:
    """What to draw as a sample, and its words."""
    told = [
        ("white", f"sharp: {inspected.limit_words()}"),
        ("soft", "softer than that; the darker the ground, the softer"),
        ("blank", "cannot tell: too little grain beside picture and noise, or the very rim"),
    ]
    if found.placement.edges:
        told.append(
            ("rim", "where the light ends: the window's or the film's edge, mm from the scan's left or top")
        )
    if found.picture is not None and has_corner(found):
        told.append(("designed", "the picture, where the holder was designed to have it"))
    if found.rings.where:
        told.append(("ring", "Newton's rings"))
    if found.rings.strong:
        told.append(("doubtful", "a pattern like rings, stronger than bare film gives"))
    told.append(("number", "contrast kept, in % of what the lens gives at its best"))
    return told


def facts(found: InspectResult) -> list[tuple[str, str]]:
    """What was found, a sentence each (without a sample)."""
    told = [f"Sharp: {inspected.sharp(found)}.", f"Blur: {inspected.pattern(found)}."]
    for what, places in (("Rings", found.rings.where), ("Pattern", found.rings.strong)):
        told += [
            f"{what} {k}: contrast up to {100 * r.contrast:.1f} %, {r.x_mm:.0f} mm from the left, "
            f"{r.y_mm:.0f} mm from the top."
            for k, r in enumerate(regions(places), 1)
        ]
    told.append(f"Turned: {inspected.turned(found)}.")
    if found.placement.seen_fraction is not None:
        told.append(f"Shown of the designed picture: {100 * found.placement.seen_fraction:.1f} %.")
    told.append(f"Clipped: {inspected.clipped(found)}.")
    if found.border_mm is not None:
        told.append(f"Clear border: {inspected.border(found)}.")
    told += [f"Mind: {words}." for words in inspected.doubts(found)]
    told += [f"Do: {words}." for words in inspected.advice(found)]
    return [("", words) for words in told]


def _lines(words: str, wide: float) -> list[str]:
    words = words.replace(" %", "\u00a0%").replace(" mm", "\u00a0mm")  # a number keeps its unit beside it
    return wrapped(words, wide, SIZE)


def height(rows: list[tuple[str, str]], wide: float, indent: float = 0.0) -> float:
    """How high rows come out on paper, mm."""
    return sum(LINE * len(_lines(words, wide - indent)) + BETWEEN for _, words in rows)


def write(picture: Picture, rows: list[tuple[str, str]], at: Point, wide: float) -> None:
    """Rows without samples."""
    y = at[1]
    for _, words in rows:
        for line in _lines(words, wide):
            picture.text((at[0], y + 3.3), line, SIZE)
            y += LINE
        y += BETWEEN


def samples(picture: Picture, rows: list[tuple[str, str]], at: Point, wide: float) -> float:
    """Each sample with its words; where the next line would begin."""
    x, y = at
    for kind, words in rows:
        _sample(picture, kind, (x, y))
        for line in _lines(words, wide - INDENT):
            picture.text((x + INDENT, y + 3.3), line, SIZE)
            y += LINE
        y += BETWEEN
    return y


def _sample(picture: Picture, kind: str, at: Point) -> None:
    x, y = at
    box = [(x, y), (x + 7, y), (x + 7, y + 4.5), (x, y + 4.5)]
    middle = (x + 3.5, y + 2.25)
    if kind in ("white", "soft", "blank"):
        picture.polygon([box], FINE, {"white": "#fff", "soft": SOFT_SAMPLE, "blank": BLANK}[kind])
    if kind == "soft":
        picture.polygon([box], FINE, HATCH_MATERIAL)
    if kind in ("rim", "designed"):
        picture.line((x, y + 2.25), (x + 7, y + 2.25), RIM if kind == "rim" else AXIS)
    if kind in ("ring", "doubtful"):
        for radius in (2.2, 1.2):
            picture.circle(middle, radius, RING if kind == "ring" else DOUBTFUL)
    if kind == "number":
        picture.text((middle[0], y + 3.2), "87", 2.5, "middle")
