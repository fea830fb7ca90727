"""The table of limits that SECURITY.md shows, read back, to hold what a stranger is told against what is kept."""

from __future__ import annotations

import re
from pathlib import Path

PAGE = Path(__file__).parent.parent / "SECURITY.md"
BYTES = {"KiB": 2**10, "MiB": 2**20, "GiB": 2**30}


def said(what: str) -> list[int]:
    """The numbers of one row, in bytes where they are of memory."""
    (most,) = re.findall(rf"^\| {re.escape(what)} \| (.+) \|$", PAGE.read_text(encoding="utf-8"), re.M)
    return [int(number) * BYTES.get(unit, 1) for number, unit in re.findall(r"(\d+)(?: (\w+))?", most)]
