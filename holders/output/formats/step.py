"""STEP: the whole holder as it stands assembled, every part a named solid with true arcs."""

from __future__ import annotations

from collections.abc import Sequence

from holders.solid.exchange import Body, step_bytes

__all__ = ["Body", "holder_step"]


def holder_step(title: str, bodies: Sequence[Body]) -> bytes:
    """The assembly as STEP text (AP214, mm); the same bodies give the same bytes."""
    return step_bytes(title, bodies)
