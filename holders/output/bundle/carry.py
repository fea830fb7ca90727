"""Every file of a holder that can carry its preset does: what was made can be made again from any of them."""

from __future__ import annotations

from collections.abc import Callable, Mapping
from functools import partial
from pathlib import PurePath

from holders.output.formats.export import Producer
from holders.output.formats.registry import format_of


def with_preset(files: Mapping[str, bytes | Producer], slug: str, text: str) -> dict[str, bytes | Producer]:
    """The files, each with the preset in it where its format can carry one, and ``<slug>.toml`` itself.

    Without a text (a design that came from no preset file) they are returned as they are.
    """
    if not text:
        return dict(files)
    made: dict[str, bytes | Producer] = {}
    for name, what in files.items():
        carry = format_of(PurePath(name).suffix).carry
        if carry is None:
            made[name] = what
        elif isinstance(what, bytes):
            made[name] = carry(what, text)
        else:
            made[name] = partial(_later, what, carry, text)
    made[f"{slug}.toml"] = text.encode("utf-8")
    return made


def _later(make: Producer, carry: Callable[[bytes, str], bytes], text: str) -> bytes:
    return carry(make(), text)
