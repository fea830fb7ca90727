"""Finding the line of a key in a TOML text, so that an error can point at it.

``tomllib`` keeps no positions. A preset is flat (tables of plain values, and lists of such tables), so a scan of
headers and keys finds them; where the scan is unsure it names the line of the table, never a wrong key.
"""

from __future__ import annotations

import re
from collections.abc import Sequence

_HEADER = re.compile(r"^\s*\[\s*([A-Za-z0-9_.\-\"' ]+?)\s*\]\s*(#.*)?$")
_LISTED = re.compile(r"^\s*\[\[\s*([A-Za-z0-9_.\-\"' ]+?)\s*\]\]\s*(#.*)?$")
_KEY = re.compile(r"^\s*([A-Za-z0-9_\-\"'. ]+?)\s*=")

LONGEST = 200


def line_of(text: str, path: Sequence[str | int]) -> int | None:
    """The line (from 1) where the key ``path`` is set, else its nearest parent's, else None.

    A number in the path is the place (from 0) of a table in a list of them, or of a value in a list.
    """
    names = [str(p) for p in path]
    table: list[str] = []
    counts: dict[str, int] = {}
    best: int | None = None
    best_depth = 0
    for number, whole in enumerate(text.splitlines(), 1):
        line = whole[:LONGEST]  # beyond it no key of ours ends, and the search would take long
        if header := _LISTED.match(line):
            name = ".".join(_split(header[1]))
            counts[name] = counts.get(name, -1) + 1
            here = table = [*_split(header[1]), str(counts[name])]
        elif header := _HEADER.match(line):
            first, *rest = _split(header[1])
            here = table = [first, *([str(counts[first])] if first in counts else []), *rest]
        elif key := _KEY.match(line):
            here = [*table, *_split(key[1])]
        else:
            continue
        depth = len(here)
        if here == names[:depth] and depth > best_depth:
            best, best_depth = number, depth
    return best


def _split(dotted: str) -> list[str]:
    return [part.strip().strip("\"'") for part in dotted.split(".")]
