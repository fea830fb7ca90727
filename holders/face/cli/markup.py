"""Text of any origin on a terminal: no control character of it arrives, and no markup of it is obeyed."""

from __future__ import annotations

from rich import markup

from holders.core.plain_text import escaped


def escape(text: str) -> str:
    """The text as rich prints it letter for letter; what could drive a terminal stands as its escape."""
    return markup.escape(escaped(text))
