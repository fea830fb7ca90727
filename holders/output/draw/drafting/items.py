"""What a holder is made of, numbered: the parts from the glass up, then what is bought, then the film.

The same numbers stand on the drawing, in its list and on the job sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

from holders.core.lengths import measure
from holders.design.model import Design, Part, Role
from holders.design.pieces.pose import part_bounds

KIND_PART, KIND_FEET, KIND_PANE, KIND_MAGNET, KIND_SCREW, KIND_FILM = (
    "part",
    "feet",
    "pane",
    "magnet",
    "screw",
    "film",
)


@dataclass(frozen=True, slots=True)
class Item:
    """A line of the list: ``part`` is the design part's name for what is made, empty for what is bought."""

    number: int
    title: str
    quantity: int
    size: str
    material: str
    kind: str = KIND_PART
    part: str = ""


def items(design: Design) -> tuple[Item, ...]:
    """Every line, numbered from 1."""
    rows = [*(_made(part) for part in _in_order(design)), *_bought(design), _film(design)]
    return tuple(Item(number, *row) for number, row in enumerate(rows, 1))


Row = tuple[str, int, str, str, str, str]


def _in_order(design: Design) -> list[Part]:
    """Parts that carry the film first, lids and covers after them, loose stops last; each from the glass up."""
    return sorted(design.parts, key=lambda part: (not part.in_frame, part.role is Role.STOP))


def _made(part: Part) -> Row:
    x0, y0, x1, y1 = part_bounds(part)
    size = f"{measure(x1 - x0, 1)} x {measure(y1 - y0, 1)} x {measure(part.z1 - part.z0)}"
    title = part.title
    if part.process != "print":  # the thickness stands in the size
        title = title.partition(" (")[0].replace(" from the glass", "")
    return title, part.quantity, size, part.material, KIND_PART, part.name


def _bought(design: Design) -> list[Row]:
    rows: list[Row] = []
    plates = [plate for made in design.fitted for plate in made.plates]
    for plate in plates:
        sizes: dict[str, int] = {}
        for rect in plate.places:
            words = f"{measure(rect.width, 1)} x {measure(rect.height, 1)} x {measure(plate.z1 - plate.z0)}"
            sizes[words] = sizes.get(words, 0) + 1
        rows += [(plate.name, count, words, "", KIND_PANE, "") for words, count in sizes.items()]
    for made in design.fitted:
        rows += [(title, count, size, "", KIND_SCREW, "") for title, count, size in made.bought()]
    if design.feet:
        foot = design.feet[0]
        size = f"Ø {measure(foot.diameter_mm)} x {measure(design.foot_thickness)}"
        rows.append(("anti-slip foot", len(design.feet), size, "", KIND_FEET, ""))
    pits = [cut for part in design.parts for cut in part.cuts for _ in range(part.quantity) if cut.magnet]
    if pits:
        wide = max(v.x for v in pits[0].outline.vertices) - min(v.x for v in pits[0].outline.vertices)
        size = f"in a pit Ø {measure(wide)} x {measure(pits[0].z1 - pits[0].z0)}"
        rows.append(("disc magnet", len(pits), size, "", KIND_MAGNET, ""))
    return rows


def _film(design: Design) -> Row:
    film = design.windows[0].film
    size = f"{measure(film.width, 1)} x {measure(film.height, 1)} x {measure(design.film_thickness)}"
    return "film", len(design.windows), size, "", KIND_FILM, ""
