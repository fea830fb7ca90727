"""What a job sheet is made of: sections of words, lists, tables, drawings and plain text. Pure data."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Words:
    """A paragraph."""

    text: str


@dataclass(frozen=True, slots=True)
class Items:
    """A list; ``numbered`` where the order counts."""

    rows: tuple[str, ...]
    numbered: bool = False


@dataclass(frozen=True, slots=True)
class Steps(Items):
    """Numbered steps, each with a small picture beside it."""

    pictures: tuple[Drawing, ...] = ()


@dataclass(frozen=True, slots=True)
class Boxes:
    """Empty boxes to write readings in, each with its name, below what they are for; a picture of where to read."""

    text: str
    names: tuple[str, ...]
    picture: Drawing | None = None


@dataclass(frozen=True, slots=True)
class Table:
    """Rows below a head; ``caption`` says what is in it."""

    caption: str
    head: tuple[str, ...]
    rows: tuple[tuple[str, ...], ...]


@dataclass(frozen=True, slots=True)
class Drawing:
    """A picture as SVG (size in mm) and what it shows."""

    caption: str
    svg: bytes
    width_mm: float
    height_mm: float


@dataclass(frozen=True, slots=True)
class Verbatim:
    """Text to be copied as it stands; on paper ``brief`` in its place, and ``note`` on what that is.

    Without ``on_paper`` only the note stands there: a code on the paper holds the text.
    """

    text: str
    brief: str = ""
    note: str = ""
    on_paper: bool = True

    @property
    def printed(self) -> str:
        """What of it stands on paper."""
        return (self.brief or self.text) if self.on_paper else ""


Block = Words | Items | Boxes | Table | Drawing | Verbatim


@dataclass(frozen=True, slots=True)
class Section:
    """A part of the sheet; ``key`` names its anchor.

    ``leaf`` is the page that it belongs to: 1 making, 2 loading and scanning, 3 the annex. Two ``half`` sections in a
    row stand side by side.
    """

    key: str
    title: str
    blocks: tuple[Block, ...]
    leaf: int = 3
    half: bool = False


@dataclass(frozen=True, slots=True)
class Sheet:
    """The whole job sheet."""

    title: str
    subtitle: str
    sections: tuple[Section, ...]
