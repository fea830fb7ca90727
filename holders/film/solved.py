"""Films once solved, kept in a folder: the next command, the page's other workers and the next day have them at once.

The folder is the one that ``HOLDERS_FILMS`` names; without it nothing is kept, and the command line names the user's
own (:mod:`holders.film.folder`). A file holds numbers only (an ``.npz`` that is read without running anything) and is
found by what was asked for *and* by the code that solved it, so that no film outlives the method it was found with.
What cannot be read or written is as if it were not there.
"""

from __future__ import annotations

import json
import os
import secrets
from contextlib import suppress
from dataclasses import asdict, dataclass
from functools import cache
from hashlib import blake2b
from io import BytesIO
from itertools import accumulate
from pathlib import Path
from typing import Any
from zipfile import BadZipFile

import numpy as np
import scipy

from holders.film.folder import FOLDER
from holders.film.models import Branch, ContactForce, LidRest, Sheet, Support, Surface

MOST_BYTES = 200_000_000  # some 2,000 films
SWEEPS = "03"  # file names below it, about one in 85: each such is a time to look how much there is
ARRAYS = ("x", "y", "z", "deflection")
OWN = ("sheet", "support", "branch", "other_branches", "contact_forces", "lid")
ROOMS = ("film", "facts")  # whose code decides what a film looks like


@dataclass(frozen=True)
class Kept:
    """A film as it was solved, and the work that this took (see :class:`holders.film.solver.interior.Effort`)."""

    surface: Surface
    work: float


def place(sheet: Sheet, support: Support, *settings: float) -> Path | None:
    """The file of this film, whether it is there or not; None where nothing is kept.

    Parameters
    ----------
    sheet, support:
        The film and what it lies on.
    settings:
        The numbers of how it is solved: tolerance, degree, what else is looked for.
    """
    folder = os.environ.get(FOLDER)
    if not folder:
        return None
    asked = (_method(), sheet.model_dump_json(), support.model_dump_json(), *map(repr, settings))
    return Path(folder) / f"{blake2b(chr(0).join(asked).encode(), digest_size=20).hexdigest()}.npz"


def read(file: Path, sheet: Sheet, support: Support) -> Kept | None:
    """The film of this sheet on this support in a file; None where there is none that can be read."""
    try:
        with file.open("rb") as raw, np.load(raw, allow_pickle=False) as found:
            arrays = {name: found[name] for name in ARRAYS}
            told = json.loads(found["told"].tobytes())
            work = float(told.pop("work"))
            lid = told.pop("lid")
        surface = Surface(
            sheet=sheet,
            support=support,
            branch=Branch(**told.pop("branch")),
            other_branches=tuple(Branch(**one) for one in told.pop("other_branches")),
            contact_forces=tuple(ContactForce(**one) for one in told.pop("contact_forces")),
            lid=None if lid is None else LidRest(**lid),
            **arrays,
            **told,
        )
        os.utime(file)  # used just now
        return Kept(surface, work)
    except (OSError, ValueError, KeyError, TypeError, EOFError, BadZipFile):
        return None


def write(file: Path, surface: Surface, work: float) -> None:
    """Keep a film, whole or not at all; a disk that is full or may not be written to is no fault."""
    told = {
        name: value
        for name, value in vars(surface).items()
        if name not in ARRAYS and name not in OWN
    } | {
        "branch": asdict(surface.branch),
        "other_branches": [asdict(one) for one in surface.other_branches],
        "contact_forces": [asdict(one) for one in surface.contact_forces],
        "lid": None if surface.lid is None else asdict(surface.lid),
        "work": work,
    }  # fmt: skip
    whole = BytesIO()
    text = json.dumps(told, default=_plain).encode()
    np.savez(whole, told=np.frombuffer(text, np.uint8), **{name: getattr(surface, name) for name in ARRAYS})
    aside = file.with_name(f".{file.name}.{secrets.token_hex(6)}")
    with suppress(OSError):
        try:
            file.parent.mkdir(mode=0o700, parents=True, exist_ok=True)
            if file.name < SWEEPS:
                _swept(file.parent)
            aside.write_bytes(whole.getvalue())
            aside.replace(file)
        finally:
            aside.unlink(missing_ok=True)


def _plain(value: Any) -> Any:
    """A number of numpy as Python's own."""
    if isinstance(value, np.generic):
        return value.item()
    raise TypeError(type(value).__name__)


@cache
def _method() -> str:
    """What solves: the code of the rooms that decide it, and the libraries below them."""
    package = Path(__file__).parents[1]
    seen = blake2b(f"{np.__version__} {scipy.__version__}".encode(), digest_size=20)
    for room in ROOMS:
        for file in sorted((package / room).rglob("*.py")):
            seen.update(file.read_bytes())
    return seen.hexdigest()


def _swept(folder: Path) -> None:
    """Where the folder holds too much, what was used longest ago goes."""
    films = [(path.stat(), path) for path in folder.glob("*.npz")]
    films.sort(key=lambda one: one[0].st_mtime, reverse=True)
    for (_, path), total in zip(films, accumulate(stat.st_size for stat, _ in films), strict=True):
        if total > MOST_BYTES:
            path.unlink(missing_ok=True)
