"""The page's own files, read once into memory: a request can name one of these and nothing else."""

from __future__ import annotations

from dataclasses import dataclass
from functools import cache
from importlib import resources

TYPES = {
    ".html": "text/html; charset=utf-8",
    ".css": "text/css; charset=utf-8",
    ".js": "text/javascript; charset=utf-8",
    ".svg": "image/svg+xml",
}


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
    return found
