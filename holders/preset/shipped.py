"""Where the shipped presets are: inside an installed package, beside it in a checkout.

The build copies the top-level folder ``presets/`` into the package (``setup.py``), so there is one copy in the
repository and every way of installing finds it.
"""

from __future__ import annotations

import tomllib
from collections.abc import Mapping
from functools import cache
from pathlib import Path

SUFFIX = ".toml"


def shipped_folder() -> Path:
    """The folder of the shipped presets."""
    package = Path(__file__).resolve().parents[1]
    beside = package.parent / "presets"  # a checkout; an installed package lies in a folder of packages
    inside = package / "presets"
    return inside if inside.is_dir() else beside


def shipped_paths() -> tuple[Path, ...]:
    """The shipped preset files, by name."""
    return tuple(sorted(shipped_folder().glob(f"*{SUFFIX}")))


def shipped_as(text: str) -> str:
    """The name of the shipped preset that is this very text; "" for a preset of one's own."""
    return next((file.stem for file in shipped_paths() if file.read_text(encoding="utf-8") == text), "")


def is_example(title: str, bed: Mapping[str, object]) -> bool:
    """Whether a preset's title and what it says of its bed (None: says nothing) are those of a shipped one, whose
    scanner nobody has.
    """
    told = {key: value for key, value in bed.items() if value is not None}
    return any(one == (title, told) for one in _examples())


@cache
def _examples() -> tuple[tuple[str, dict[str, object]], ...]:
    read = [tomllib.loads(file.read_text(encoding="utf-8")) for file in shipped_paths()]
    return tuple((one["title"], one["bed"]) for one in read)


def preset_path(path: Path) -> Path:
    """The file that a user's PRESET means: a file of that name, else the shipped preset called so.

    A file always wins, so that a copy in the current folder is never passed over. Only a bare name without folder and
    suffix can mean a shipped preset. What is neither is returned as it came, for the reader to refuse.
    """
    bare = len(path.parts) == 1 and path.suffix != SUFFIX
    try:
        if not bare or path.is_file():
            return path
    except (OSError, ValueError):  # a name that no file can have
        return path
    return next((file for file in shipped_paths() if file.stem == path.name), path)
