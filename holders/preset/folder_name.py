"""A folder name made of a title in any script."""

from __future__ import annotations

import hashlib
import re
import unicodedata

from holders.core.errors import InputError

LONGEST = 60
MARK = 6  # hexadecimal digits that keep titles apart where letters are lost
WINDOWS_KEEPS = re.compile(r"con|prn|aux|nul|com\d|lpt\d")


def slug_of(title: str) -> str:
    """A folder name made of a title: lower case letters, digits and single hyphens, at most 60 of them.

    Letters outside ASCII are transliterated. Where a letter has no transliteration, the name ends in a mark made of
    the whole title, so that two such titles have two names, and each the same one every time.

    Raises ``InputError`` when nothing usable is left (so a hostile title can never name a path).
    """
    plain, lost = _ascii(unicodedata.normalize("NFC", title))
    slug = re.sub(r"[^a-z0-9]+", "-", plain.lower()).strip("-")[:LONGEST].strip("-")
    if lost:
        mark = hashlib.sha256(title.encode("utf-8", "surrogatepass")).hexdigest()[:MARK]
        slug = f"{slug[: LONGEST - MARK - 1].strip('-') or 'holder'}-{mark}"
    if not slug:
        raise InputError(
            "title", title, "needs at least one letter or digit, as the output folder is named after it"
        )
    if WINDOWS_KEEPS.fullmatch(slug):
        raise InputError("title", title, "is a name that Windows keeps for itself; add a word")
    return slug


def _ascii(text: str) -> tuple[str, bool]:
    """The text in ASCII letters, and whether a letter, digit or sign of it has none."""
    if text.isascii():
        return text, False
    from anyascii import anyascii  # noqa: PLC0415 - its tables are large, and few titles need them

    found, lost = [], False
    for char in text:
        if char.isascii():
            found.append(char)
            continue
        kind = unicodedata.category(char)
        plain = anyascii(char)
        if not re.search(r"[A-Za-z0-9]", plain):
            lost = lost or (kind[0] in "LNS" and not plain)
            plain = {"×": "x"}.get(char, " ")
        # one sign is one word: a script without spaces between its words would run together
        found.append(f" {plain} " if kind == "Lo" and plain[:1].isupper() else plain)
    return "".join(found), lost
