"""Connections that say nothing, of which anybody on this machine may open any number, keep no place from the page."""

from __future__ import annotations

import asyncio
from typing import Any

from uvicorn.protocols.http.h11_impl import H11Protocol

MOST_IDLE = 16  # a browser keeps six
HEAD_S = 10.0  # from the start of a connection to the end of its first request's head


class Patient(H11Protocol):
    """HTTP as the server speaks it, with the idle bounded in number and the half-open also in time."""

    def connection_made(self, transport: asyncio.Transport) -> None:  # type: ignore[override]
        """Take the connection in; the one that has been idle longest gives way where there are too many."""
        super().connection_made(transport)
        self.since = self.loop.time()
        self.late = self.loop.call_later(HEAD_S, self._too_late)
        idle = [other for other in self.connections if isinstance(other, Patient) and other.idle]
        for other in sorted(idle, key=lambda one: one.since)[: max(0, len(idle) - MOST_IDLE)]:
            other.transport.abort()
            self.connections.discard(other)  # its place is free before the loop comes round to it

    def connection_lost(self, exc: Exception | None) -> None:
        """Forget it."""
        self.late.cancel()
        super().connection_lost(exc)

    @property
    def idle(self) -> bool:
        """Whether no request of it is being answered."""
        cycle: Any = self.cycle
        return cycle is None or bool(cycle.response_complete)

    def _too_late(self) -> None:
        if self.cycle is None:
            self.transport.abort()
