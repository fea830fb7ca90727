"""What the picture of a scan's measurement is called: after the scan, so that no two scans share one."""

from __future__ import annotations

import hashlib
from pathlib import Path

LONGEST = 40


def drawn_name(scan: Path, what: str) -> str:
    """``<scan>-<what>.svg``; where a file name cannot hold the scan's own, with a mark that is always the same for it.

    Raises ``InputError`` as :func:`holders.preset.resolve.slug_of`.
    """
    from holders.preset.folder_name import slug_of

    slug = slug_of(f"{scan.stem[:LONGEST]} {what}")
    if slug == f"{scan.stem}-{what}":
        return f"{slug}.svg"
    mark = hashlib.sha256(scan.stem.encode("utf-8", "surrogateescape")).hexdigest()[:6]
    return f"{slug}-{mark}.svg"
