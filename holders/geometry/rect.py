"""An upright rectangle, mm: what most of a holder is laid out in."""

from __future__ import annotations

from dataclasses import dataclass


@dataclass(frozen=True, slots=True)
class Rect:
    """An upright rectangle on the bed: corner of least x and y, width along x, height along y."""

    x: float
    y: float
    width: float
    height: float

    @property
    def right(self) -> float:
        """Greatest x."""
        return self.x + self.width

    @property
    def top(self) -> float:
        """Greatest y."""
        return self.y + self.height

    def inset(self, left: float, right: float, head: float, foot: float) -> Rect:
        """The rectangle with each edge moved inward."""
        return Rect(self.x + left, self.y + foot, self.width - left - right, self.height - head - foot)

    def grown(self, by: float) -> Rect:
        """The rectangle with every edge moved outward."""
        return self.inset(-by, -by, -by, -by)

    def moved(self, across: float, along: float) -> Rect:
        """The rectangle shifted by so much along x and along y."""
        return Rect(self.x + across, self.y + along, self.width, self.height)

    def shared(self, other: Rect) -> Rect | None:
        """What both cover; None where they share no area."""
        x, y = max(self.x, other.x), max(self.y, other.y)
        width, height = min(self.right, other.right) - x, min(self.top, other.top) - y
        return Rect(x, y, width, height) if width > 0 and height > 0 else None

    def contains(self, other: Rect, slack: float = 1e-9) -> bool:
        """Whether ``other`` lies inside (touching counts)."""
        return (
            other.x >= self.x - slack
            and other.y >= self.y - slack
            and other.right <= self.right + slack
            and other.top <= self.top + slack
        )

    def overlaps(self, other: Rect, slack: float = 1e-9) -> bool:
        """Whether the two share more than a border."""
        return (
            min(self.right, other.right) - max(self.x, other.x) > slack
            and min(self.top, other.top) - max(self.y, other.y) > slack
        )
