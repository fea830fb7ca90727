"""Counts on composites, and what such counts are worth: the protocol of the ring detector's tests and bench.

Two sets that share no picture, no random number and not every shape of gap: one that the detector was made on
(``held_out=False``), one whose single results were not looked at while it was made (``held_out=True``). The pools are
named in ``composites``. Half of a set's composites have rings. The seeds are in ``composites.composite``; the same
number of a pool is always the same composite.
"""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import dataclass, field

import numpy as np

from holders.measure.finished.rings.rings import RingsResult, find_rings
from tests.measure.finished.composites import Composite, Pool, composite

Z95 = 1.959964  # two-sided 95 % of the normal distribution


def wilson(hits: int, count: int) -> tuple[float, float]:
    """95 % score interval of a share (E. B. Wilson, J. Am. Stat. Assoc. 22 (1927) 209; formula from memory)."""
    if count == 0:
        return 0.0, 1.0
    p, z2 = hits / count, Z95**2
    middle = (p + z2 / (2 * count)) / (1 + z2 / count)
    half = Z95 / (1 + z2 / count) * float(np.sqrt(p * (1 - p) / count + z2 / (4 * count**2)))
    return max(0.0, middle - half), min(1.0, middle + half)


def looked_at(c: Composite) -> RingsResult:
    """The detector on a composite; the pitch of 0.1 mm plays no part in finding."""
    return find_rings((c.pixels / float(np.iinfo(c.pixels.dtype).max)).astype(np.float32), 0.1)


@dataclass
class Tally:
    """Scores by number, with rings and without, and the pictures' names."""

    with_rings: dict[int, float] = field(default_factory=dict)
    without: dict[int, float] = field(default_factory=dict)
    names: dict[int, str] = field(default_factory=dict)

    @property
    def found(self) -> int:
        return sum(s >= 1 for s in self.with_rings.values())

    @property
    def alarms(self) -> int:
        return sum(s >= 1 for s in self.without.values())

    @property
    def detection(self) -> float:
        return self.found / len(self.with_rings)

    @property
    def false_alarms(self) -> float:
        return self.alarms / len(self.without)

    def row(self) -> str:
        """One line of a table: shares with their 95 % intervals."""
        low, high = wilson(self.found, len(self.with_rings))
        below, above = wilson(self.alarms, len(self.without))
        return (
            f"found {self.found:4d} of {len(self.with_rings):4d} = {self.detection:6.1%} [{low:6.1%}, {high:6.1%}]   "
            f"false {self.alarms:3d} of {len(self.without):4d} = {self.false_alarms:6.1%} [{below:6.1%}, {above:6.1%}]"
        )


def tally(
    numbers: Iterable[int],
    *,
    held_out: bool,
    colour: bool = True,
    side: int = 480,
    contrast: float = 0.02,
    recorded: bool = False,
    pool: Pool = "whole",
) -> Tally:
    """Look at each numbered composite twice: with rings and (another one) without."""
    out = Tally()
    for n in numbers:
        for rings, scores in ((True, out.with_rings), (False, out.without)):
            made = composite(
                n,
                held_out=held_out,
                with_rings=rings,
                colour=colour,
                side=side,
                contrast=contrast,
                recorded=recorded,
                pool=pool,
            )
            scores[n], out.names[n] = looked_at(made).score, made.name
    return out
