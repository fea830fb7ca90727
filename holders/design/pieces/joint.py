"""The joints of a seam, drawn in plan: walls that stand upright print without supports and go together from above.

Both pieces stand on the same flat plate while they are put together, so their ledges come out flush. Two shapes, in
coordinates along the seam (u) and across it (v, from the piece below the seam to the one above):

* *tongue*, in the middle of a rail: one flank straight, the other leaning out so that it cannot be drawn out along v.
  It always leans toward greater u, so a piece that is turned over finds a socket that leans the wrong way;
* *lap*, for a rail too narrow for a tongue: half the rail's width runs past the other half.

The tongue has its nominal size; the socket is larger by the clearance all round. Beside the joint both pieces meet on
the seam itself, so that the whole keeps its size.
"""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holders.design.model import JointKind
from holders.geometry.offset import grown
from holders.geometry.outline import Outline, Point, Vertex, rectangle

ROOT_MM = 1.0  # how far a tongue's outline reaches back into its own piece, to be one with it
WIDEST_MM = 8.0  # of a tongue
TONGUE_SHARE = 0.45  # of the rail's width: the rest are the cheeks of the socket
LEAN_MM = 0.9  # how much wider a tongue is at its tip than at its root, where it can be had
HOLD_MM = 0.2  # the least of it that is left to hold when both gaps have closed on one side
TIP_MM = 0.3  # radius of a tongue's corners
LONGEST_MM = 7.0  # how far a tongue or lap reaches past its seam, at most
SHORT_MM = 3.0  # and at least
BESIDE_MM = 1.2  # plain rail wanted beyond either end of a joint, at least
STRAY_MM = 0.25  # by so much a bend may reach into it unnoticed
OVER_MM = 0.6  # how far a lap's outline reaches past the rail into the open


@dataclass(frozen=True, slots=True)
class JointRules:
    """What a joint keeps to: least wall and the gap on each side between tongue and socket, mm."""

    wall_mm: float
    clearance_mm: float

    @property
    def beside_mm(self) -> float:
        """How far beyond either end of a tongue its rail must go on plain, so that a wall stays beyond the socket."""
        return max(BESIDE_MM, self.wall_mm + self.clearance_mm + STRAY_MM)

    @property
    def least_lean_mm(self) -> float:
        """The least lean that still holds when the tongue lies against one side of its socket."""
        return 2 * self.clearance_mm + HOLD_MM

    @property
    def least_tongue_mm(self) -> float:
        """The narrowest rail that takes a tongue: two cheeks, the neck, its lean, both gaps."""
        return 3 * self.wall_mm + self.least_lean_mm + 2 * self.clearance_mm

    @property
    def least_lap_mm(self) -> float:
        """The narrowest rail that takes a lap: two halves and the gap between them."""
        return 2 * self.wall_mm + self.clearance_mm


@dataclass(frozen=True, slots=True)
class Shape:
    """A joint in (u, v): its outlines, how far it reaches past the seam, and a point of its root on the seam.

    ``play_mm`` is how far the pieces can be drawn apart until a tongue's lean holds them; a lap never does.
    """

    kind: JointKind
    tongue: Outline
    socket: Outline
    reach_mm: float
    root: Point
    play_mm: float


def head_mm(rail_mm: float, rules: JointRules) -> float:
    """Width of a tongue at its tip in a rail ``rail_mm`` wide."""
    most = rail_mm - 2 * (rules.wall_mm + rules.clearance_mm)
    return min(most, WIDEST_MM, max(TONGUE_SHARE * rail_mm, rules.wall_mm + rules.least_lean_mm))


def tongue_reach_mm(rail_mm: float, rules: JointRules, short: bool = False) -> float:
    """How far a tongue reaches past its seam."""
    return SHORT_MM if short else min(LONGEST_MM, max(SHORT_MM, 1.3 * head_mm(rail_mm, rules)))


def lap_reach_mm(rail_mm: float) -> float:
    """How far a lap reaches past its seam."""
    return min(LONGEST_MM, max(5.0, 2.5 * rail_mm))


def tongue(middle: float, v: float, rail_mm: float, rules: JointRules, short: bool = False) -> Shape:
    """A tongue in the middle of a rail ``rail_mm`` wide; ``short`` where it has no room for its whole length.

    Raises ``ValueError`` when the rail is too narrow.
    """
    if rail_mm < rules.least_tongue_mm - 1e-9:
        raise ValueError(f"a rail of {rail_mm:.2f} mm is too narrow for a tongue")
    head, reach = head_mm(rail_mm, rules), tongue_reach_mm(rail_mm, rules, short)
    lean = min(max(LEAN_MM, rules.least_lean_mm), head - rules.wall_mm)
    low, high = middle - head / 2, middle + head / 2
    corners = [
        (low, v - ROOT_MM),
        (high - lean, v - ROOT_MM),
        (high - lean, v),
        (high, v + reach),
        (low, v + reach),
    ]
    radius = min(TIP_MM, head / 4)
    outline = rounded(corners, (0.0, 0.0, 0.0, radius, radius))
    slope = lean / reach  # the gaps beside both flanks, taken across, close along it
    play = rules.clearance_mm * (1 + math.hypot(1, slope)) / slope
    return Shape("tongue", outline, grown(outline, rules.clearance_mm), reach, (middle - lean / 2, v), play)


def lap(low: float, high: float, open_at: float, v: float, rules: JointRules) -> Shape:
    """A lap in a rail from ``low`` to ``high`` that lies open beyond ``open_at`` (which is ``high`` or greater).

    Raises ``ValueError`` when the rail is too narrow.
    """
    width = high - low
    if width < rules.least_lap_mm - 1e-9:
        raise ValueError(f"a rail of {width:.2f} mm is too narrow for a lap")
    flank = (low + high + rules.clearance_mm) / 2
    reach = lap_reach_mm(width)
    outline = rectangle(flank, v - ROOT_MM, open_at + OVER_MM - flank, reach + ROOT_MM)
    root = ((flank + high) / 2, v)
    return Shape("lap", outline, grown(outline, rules.clearance_mm), reach, root, math.inf)


def rounded(corners: Sequence[Point], radii: Sequence[float]) -> Outline:
    """A polygon whose corners are rounded, each by its own radius (0 leaves it sharp)."""
    found: list[Vertex] = []
    count = len(corners)
    for k, (here, radius) in enumerate(zip(corners, radii, strict=True)):
        if radius <= 0:
            found.append(Vertex(*here))
            continue
        before, after = corners[k - 1], corners[(k + 1) % count]
        back, on = _unit(here, before), _unit(here, after)
        turn = math.pi - math.acos(max(-1.0, min(1.0, back[0] * on[0] + back[1] * on[1])))
        side = math.copysign(1.0, back[1] * on[0] - back[0] * on[1])
        cut = radius * math.tan(turn / 2)
        found.append(Vertex(here[0] + back[0] * cut, here[1] + back[1] * cut, side * math.tan(turn / 4)))
        found.append(Vertex(here[0] + on[0] * cut, here[1] + on[1] * cut))
    return Outline(tuple(found))


def _unit(start: Point, end: Point) -> Point:
    dx, dy = end[0] - start[0], end[1] - start[1]
    size = math.hypot(dx, dy)
    return dx / size, dy / size
