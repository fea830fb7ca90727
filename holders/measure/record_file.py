"""Records in files that people may edit: read within bounds, refused with file and line, grown and kept whole."""

from __future__ import annotations

import os
import re
import tomllib
from collections.abc import Callable
from dataclasses import dataclass
from pathlib import Path
from typing import Generic, TypeVar

from pydantic import BaseModel, ValidationError

from holders.core.atomic_write import replace_file
from holders.core.errors import InputError
from holders.core.toml_text import TooDeep, parsed
from holders.measure.files import unreadable

MAX_BYTES = 2 * 2**20
MOST_KEYS = 50_000  # some thousands of measurements
R = TypeVar("R", bound=BaseModel)


@dataclass(frozen=True)
class RecordFile(Generic[R]):
    """One kind of record: its ``model``, what it is called, how one is started, the ``head`` of a new file, what is
    added to it (``thing``), and ``refusal``: the complaint made of pydantic's, the text and the file's name.
    """

    model: type[R]
    name: str
    starts: str
    head: str
    thing: str
    refusal: Callable[[ValidationError, str, str], InputError]

    def load(self, path: str | Path) -> R:
        """Read one.

        Raises
        ------
        InputError
            Missing, too large, not TOML, or a measurement that cannot be true (line, key and value are named).
        """
        name = os.fspath(path)
        try:
            if Path(name).stat().st_size > MAX_BYTES:
                raise InputError(
                    "record", name, f"larger than {MAX_BYTES // 2**20} MiB, so it is no {self.name}"
                )
            text = Path(name).read_text(encoding="utf-8")
        except (OSError, UnicodeDecodeError, ValueError) as err:
            raise unreadable("record", name, err, self.starts) from err
        try:
            return self.model.model_validate(parsed(text, MOST_KEYS))
        except tomllib.TOMLDecodeError as err:
            where = re.search(r"at line (\d+)", str(err))
            raise InputError(
                "record", str(err), "not valid TOML: each line is `key = value`, tables are [[measured]], notes stand "
                "in quotes and days as 2026-11-25", file=name, line=int(where[1]) if where else None,
            ) from err  # fmt: skip
        except (RecursionError, ValueError) as err:
            if not isinstance(err, ValidationError):
                why = str(err) if isinstance(err, TooDeep) else "nested too deeply or a number too long"
                raise InputError("record", why, self.starts, file=name) from err
            raise self.refusal(err, text, name) from err

    def append(self, path: str | Path, table: str, grow: Callable[[R], R]) -> R:
        """Add a ``table`` at the end; written aside and renamed, so that the file is whole at any moment.

        What a person wrote into it (comments, order) stays. ``grow``: the record as it must read back. Raises
        InputError as ``load``, MachineError where the folder cannot be written.
        """
        file = Path(path)
        old = self.load(file) if file.exists() else self.model()
        text = file.read_text(encoding="utf-8") if file.exists() else self.head
        text = text.rstrip("\n") + "\n\n" + table
        grown = grow(old)
        # what is about to be kept must read back as what was meant
        if self.model.model_validate(parsed(text, MOST_KEYS)) != grown:
            raise InputError(
                "record", os.fspath(path), f"a {self.thing} cannot be added at its end; put tables last"
            )
        replace_file(file, text.encode())
        return grown
