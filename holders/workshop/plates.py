"""How the printed parts lie on the printer's plate: as few plates as the packing finds, nothing over an edge."""

from __future__ import annotations

import math
from collections.abc import Sequence
from dataclasses import dataclass

from holders.design.model import Part, Rect
from holders.workshop.nest.pack import Bin, Packed, ways

GAP_MM = 6.0  # between neighbours: a brim of 3 mm round each (common practice, no source)
ANGLES = 1801  # tried between 0 and 90 degrees for a part that lies only askew
SLACK_MM = 1e-6


@dataclass(frozen=True, slots=True)
class Laid:
    """One piece of a part on a plate: its number among its like, the middle of its box, and how far it is turned."""

    part: str
    copy: int
    x: float
    y: float
    turn_deg: float = 0.0


Plate = tuple[Laid, ...]


def plates(parts: Sequence[Part], room: Rect | None) -> tuple[Plate, ...]:
    """Every piece of every part on a plate, as it lies on the printer (``print_pose``), mm from the plate's corner.

    Parameters
    ----------
    parts:
        Each as often as its quantity.
    room:
        Where on the plate pieces may lie. None where no printer is known: all on one plate, above one another.

    A piece larger than the room lies alone over its middle, turned so that least of it is outside.
    """
    sizes = [_size(part) for part in parts]
    if room is None:
        return (_column(parts, sizes),)
    single = [(p, copy) for p, part in enumerate(parts) for copy in range(1, part.quantity + 1)]
    straight = [_straight(sizes[p], room) for p, _ in single]
    alone: list[tuple[int, Plate]] = []
    for (p, copy), fits in zip(single, straight, strict=True):
        if not fits:
            turn = _least_over(sizes[p], room)
            alone.append((p, (Laid(parts[p].name, copy, *_middle(room), turn),)))
    packed = [one for one, fits in zip(single, straight, strict=True) if fits]
    together = _packed(parts, sizes, packed, room) if packed else []
    return tuple(plate for _, plate in sorted([*alone, *together], key=lambda pair: pair[0]))


def plate_names(stem: str, count: int) -> tuple[str, ...]:
    """What the package of each plate is called: after the output where there is one, else by its number."""
    if count == 1:
        return (f"{stem}.3mf",)
    return tuple(f"plate-{number}.3mf" for number in range(1, count + 1))


def extent_mm(parts: Sequence[Part], laid: Sequence[Plate]) -> tuple[float, float]:
    """Width and depth of the smallest printer's plate that takes each of ``laid`` as it lies, without brims, mm."""
    sizes = {part.name: _size(part) for part in parts}
    wide, deep = [], []
    for plate in laid:
        boxes = [(one.x, one.y, *_around(sizes[one.part], one.turn_deg)) for one in plate]
        wide.append(max(x + w / 2 for x, _, w, _ in boxes) - min(x - w / 2 for x, _, w, _ in boxes))
        deep.append(max(y + d / 2 for _, y, _, d in boxes) - min(y - d / 2 for _, y, _, d in boxes))
    return max(wide), max(deep)


def _around(size: tuple[float, float], turn_deg: float) -> tuple[float, float]:
    """The upright rectangle around one that is turned."""
    c, s = abs(math.cos(math.radians(turn_deg))), abs(math.sin(math.radians(turn_deg)))
    return size[0] * c + size[1] * s, size[0] * s + size[1] * c


def _packed(
    parts: Sequence[Part], sizes: Sequence[tuple[float, float]], single: Sequence[tuple[int, int]], room: Rect
) -> list[tuple[int, Plate]]:
    """Plates with the number of the first part on each; the fewest that any rule of packing finds."""
    wanted = [(sizes[p][0] + GAP_MM, sizes[p][1] + GAP_MM) for p, _ in single]
    bins = [Bin(room.width + GAP_MM, room.height + GAP_MM, None)]
    whole = [found for found in ways(bins, wanted, "any") if len(found) == len(single)]
    best = min(whole, key=lambda found: (max(one.copy for one in found), sum(one.turned for one in found)))
    by_copy: dict[int, list[Packed]] = {}
    for one in sorted(best, key=lambda one: one.item):
        by_copy.setdefault(one.copy, []).append(one)
    found = []
    for group in by_copy.values():
        boxes = [(one, *_turned(sizes[single[one.item][0]], one.turned)) for one in group]
        dx = room.x + (room.width - max(one.x + w for one, w, _ in boxes) - min(b[0].x for b in boxes)) / 2
        dy = room.y + (room.height - max(one.y + h for one, _, h in boxes) - min(b[0].y for b in boxes)) / 2
        laid = tuple(
            Laid(
                parts[single[one.item][0]].name,
                single[one.item][1],
                one.x + w / 2 + dx,
                one.y + h / 2 + dy,
                90.0 if one.turned else 0.0,
            )
            for one, w, h in boxes
        )
        found.append((single[group[0].item][0], laid))
    return found


def _column(parts: Sequence[Part], sizes: Sequence[tuple[float, float]]) -> Plate:
    found, y = [], 0.0
    for part, (wide, deep) in zip(parts, sizes, strict=True):
        for copy in range(1, part.quantity + 1):
            found.append(Laid(part.name, copy, wide / 2, y + deep / 2))
            y += deep + GAP_MM
    return tuple(found)


def _size(part: Part) -> tuple[float, float]:
    x0, y0, x1, y1 = part.box
    return x1 - x0, y1 - y0


def _turned(size: tuple[float, float], turned: bool) -> tuple[float, float]:
    return (size[1], size[0]) if turned else size


def _middle(room: Rect) -> tuple[float, float]:
    return room.x + room.width / 2, room.y + room.height / 2


def _straight(size: tuple[float, float], room: Rect) -> bool:
    return any(
        wide <= room.width + SLACK_MM and deep <= room.height + SLACK_MM for wide, deep in (size, size[::-1])
    )


def _least_over(size: tuple[float, float], room: Rect) -> float:
    """The turn by which a rectangle reaches least beyond the room, degrees."""
    wide, deep = size

    def over(turn: float) -> float:
        c, s = math.cos(math.radians(turn)), math.sin(math.radians(turn))
        return max(wide * c + deep * s - room.width, wide * s + deep * c - room.height)

    return min(
        (90.0 * k / (ANGLES - 1) for k in range(ANGLES)), key=lambda turn: (round(over(turn), 6), turn)
    )
