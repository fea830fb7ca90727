"""What can go wrong, told so that a person can put it right.

Every error that a user may meet is one of these; the command line turns each into one clear message and the exit
code beside it. Anything else that escapes is a bug of ours.
"""

from __future__ import annotations


class HoldersError(Exception):
    """Base of all errors that are told to the user in words.

    ``exit_code`` follows the command line's promise: 1 a check says stop, 2 bad input, 3 the machine failed us.
    """

    exit_code = 2


class InputError(HoldersError):
    """Bad input: names the field, the value and the way out.

    Parameters
    ----------
    field:
        What the user would look for: a preset key such as ``lip.left_mm``, an option such as ``--rise``, a file.
    value:
        The offending value as given (shortened and made printable when shown).
    way_out:
        One sentence that says what to do.
    file, line:
        Where it stands, if it came from a file; ``line`` counts from 1.
    """

    exit_code = 2

    def __init__(
        self, field: str, value: object, way_out: str, *, file: str | None = None, line: int | None = None
    ) -> None:
        self.field = field
        self.value = value
        self.way_out = way_out
        self.file = file
        self.line = line
        super().__init__(self.message)

    @property
    def message(self) -> str:
        """The whole message on one line, safe to print on a terminal."""
        place = ""
        if self.file is not None:
            place = printable(self.file) + (f", line {self.line}" if self.line else "") + ": "
        return f"{place}{printable(self.field)} = {printable(self.value)}: {self.way_out}"


class NotConverged(HoldersError):
    """A solver could not reach its tolerance; the shape or fit it had is not used."""

    exit_code = 1


class CheckStops(HoldersError):
    """A check says stop and no reason was given to go on."""

    exit_code = 1


class MachineError(HoldersError):
    """The machine failed us: disk full, folder not writable, system library missing."""

    exit_code = 3


def printable(value: object, limit: int = 80) -> str:
    """A value as one short line without control characters (hostile names must not drive a terminal)."""
    text = value if isinstance(value, str) else repr(value)
    text = "".join(c if c.isprintable() else repr(c)[1:-1] for c in text)
    if len(text) <= limit:
        return text
    tail = (2 * limit) // 3 if "/" in text or "\\" in text else 0  # of a path, its end says most
    return f"{text[: limit - 1 - tail]}…{text[len(text) - tail :]}"
