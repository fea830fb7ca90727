"""The page's own files, read once into memory: a request can name one of these and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import resources, util
from pathlib import Path

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
    ".ttf": "font/ttf",
}
# the page's letters, the same as on the drawings: DejaVu Sans, an open typeface that comes with a package
FONTS = {"text.ttf": "DejaVuSans.ttf", "text-bold.ttf": "DejaVuSans-Bold.ttf"}


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
    spec = util.find_spec("matplotlib")
    if spec is None or spec.origin is None:
        return {}  # the reader's own letters will do
    folder = Path(spec.origin).parent / "mpl-data" / "fonts" / "ttf"
    return {
        name: Asset((folder / file).read_bytes(), TYPES[".ttf"])
        for name, file in FONTS.items()
        if (folder / file).is_file()
    }
