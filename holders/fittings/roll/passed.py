"""Film that passes through a holder: its open ends in a finished design, and what sheet and drawings say of them."""

from __future__ import annotations

import math
from dataclasses import dataclass

from holders.core.lines import Row
from holders.design.model import Design, Edge, Fitted, Rect
from holders.fittings.roll.table import Roll
from holders.preset.resolve import Job

NAMES = {"left": "left", "right": "right", "foot": "home end", "head": "head"}


@dataclass(frozen=True, slots=True)
class OpenEnds(Fitted):
    """The open ends of each window: slots from its pocket to the holder's outside, and the film's way to the bed's rim.

    ``slots`` and ``ways`` go together, ``edges`` says at which side of the holder each slot lies; ``shown`` frames lie
    over a window at a time.
    """

    table: Roll
    edges: tuple[Edge, ...]
    slots: tuple[Rect, ...]
    tails: tuple[Rect, ...]  # the film in each slot
    ways: tuple[Rect, ...]
    shown: int

    @property
    def passes(self) -> int:
        """Scans that the whole film takes."""
        return math.ceil(self.table.frames / self.shown)

    def further(self) -> tuple[Rect, ...]:
        """The film in its slots."""
        return self.tails

    def _where(self) -> str:
        return " and ".join(dict.fromkeys(NAMES[edge] for edge in self.edges))

    def notes(self) -> tuple[str, ...]:
        """How the film is scanned."""
        last = self.table.frames - (self.passes - 1) * self.shown
        rest = "" if last == self.shown else f", {last} in the last"
        plural = "scan" if self.passes == 1 else "scans"
        return (
            f"film of {self.table.frames} frames through open ends ({self._where()}): {self.passes} {plural} of "
            f"{self.shown} frames{rest}",
        )

    def drawn(self) -> tuple[str, ...]:
        """The slots."""
        return (f"Open ends ({self._where()}): the wall is cut down to the ledge, as wide as the pocket.",)

    def making(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """Edges that film passes are smooth."""
        return (
            f"Smooth the floor's edges at the open ends ({self._where()}) with fine abrasive paper until a "
            f"cotton thread "
            "slides over them: film passes there.",
        )

    def preparing(self, what: str) -> tuple[str, ...]:  # noqa: ARG002
        """What is made ready beside the scanner."""
        flat = (
            "Film that was kept on a core curls along: let it lie flat under clean weights for a day, between "
            "lint-free paper, before you scan it.",
        )
        return (
            *(flat if self.table.core_mm is not None else ()),
            "Wind the film off by hand onto a clean, lint-free cloth at the height of the bed. Both tails lie loose: "
            "one that hangs down pulls the film off its ledge, and one that drags is scratched.",
        )

    def laying(self) -> str:
        """Film with long tails goes into a holder that lies in its place."""
        return (
            f"Lay the film in from above, along its whole way through the open ends ({self._where()}), the first "
            f"{self.shown} frames over the window, its edges flat on the ledge. Never pull it while a lid or "
            f"glass lies on "
            "it."
        )

    def afterwards(self) -> tuple[str, ...]:
        """Felt under the lamp's lid, cloth against the light; the next frames."""
        felt = (
            "Lay a strip of felt on the film where it leaves the bed, so that the lamp's lid does not press on it, "
            "and a black cloth over every open end before you scan."
        )
        on = (
            f"Lift lid and lamp, move the film on by {self.shown} frames, and scan again: {self.passes} scans in all, "
            "every one with the same exposure and no automatic levels."
        )
        return (felt,) if self.passes == 1 else (felt, on)

    def open_edges(self) -> frozenset[Edge]:
        """Where the slots lie."""
        return frozenset(self.edges)

    def takes(self, design: Design) -> tuple[str, ...]:  # noqa: ARG002
        """Felt and cloth, and what makes its way smooth."""
        return (
            "cloth",
            "abrasive",
            "thread",
            "felt",
            "black-cloth",
            *(() if self.table.core_mm is None else ("weight",)),
        )

    def to_buy(self, job: Job, design: Design) -> tuple[Row, ...]:  # noqa: ARG002
        """Felt and cloth."""
        return (
            Row(
                "felt strip, 1 mm",
                len(self.slots),
                "pieces",
                "between film and lamp lid at the bed's rim",
                thing="felt",
            ),
            Row("black cloth, opaque", 1, "piece", "over the open ends", thing="black-cloth"),
        )
