"""The page's own files, read once into memory: a request can name one of these and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import resources

from holders.output.typeface import BOLD, REGULAR, SPARE, font_file

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
}
# the page's letters, the same as on the drawings; the last is for what the typeface lacks
FONTS = {"text.ttf": REGULAR, "text-bold.ttf": BOLD, "spare.ttf": SPARE[REGULAR]}


@dataclass(frozen=True, slots=True)
class Asset:
    """A file to serve."""

    data: bytes
    media_type: str


@cache
def assets() -> dict[str, Asset]:
    """All files by name."""
    found = {}
    for entry in resources.files("holders.face.page").joinpath("static").iterdir():
        ending = "." + entry.name.rpartition(".")[2]
        if ending in TYPES:
            found[entry.name] = Asset(entry.read_bytes(), TYPES[ending])
    return {**found, **_fonts()}


def _fonts() -> dict[str, Asset]:
    try:
        return {name: Asset(font_file(font).read_bytes(), TYPES[".ttf"]) for name, font in FONTS.items()}
    except (ModuleNotFoundError, FileNotFoundError):
        return {}  # the reader's own letters will do
