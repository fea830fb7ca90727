"""What a holder is made of, numbered: the parts from the glass up, then what is bought, then the film.

The same numbers stand on the drawing, in its list and on the job sheet.
"""

from __future__ import annotations

from dataclasses import dataclass

from holders.core.lengths import measure
from holders.design.model import Design, Part
from holders.design.pieces.pose import part_bounds
from holders.output.draw.apart import film_key, pane_key

KIND_PART, KIND_FEET, KIND_PANE, KIND_MAGNET, KIND_PIN, KIND_FILM, KIND_CARD = (
    "part",
    "feet",
    "pane",
    "magnet",
    "pin",
    "film",
    "card",
)


@dataclass(frozen=True, slots=True)
class Item:
    """A line of the list: ``part`` is the design part's name for what is made, a plate's key, else empty."""

    number: int
    title: str
    quantity: int
    size: str
    material: str
    kind: str = KIND_PART
    part: str = ""


def items(design: Design) -> tuple[Item, ...]:
    """Every line, numbered from 1; pieces of card last."""
    rows = [*(_made(part) for part in _in_order(design)), *_bought(design), *_laid(design)]
    rows += [(*_made(card)[:4], KIND_CARD, "") for card in design.cards]
    return tuple(Item(number, *row) for number, row in enumerate(rows, 1))


Row = tuple[str, int, str, str, str, str]


def _in_order(design: Design) -> list[Part]:
    """Parts that carry the film first, lids and covers after them, loose stops last; each from the glass up."""
    return sorted(design.parts, key=lambda part: (not part.in_frame, part.role.beside))


def _made(part: Part) -> Row:
    x0, y0, x1, y1 = part_bounds(part)
    size = f"{measure(x1 - x0, 1)} x {measure(y1 - y0, 1)} x {measure(part.z1 - part.z0)}"
    title = part.title
    if part.process != "print":  # the thickness stands in the size
        title = title.partition(" (")[0].replace(" from the glass", "")
    return title, part.quantity, size, part.material, KIND_PART, part.name


def _bought(design: Design) -> list[Row]:
    rows: list[Row] = []
    for made in design.fitted:
        rows += [(title, count, size, "", KIND_PIN, "") for title, count, size in made.bought()]
    if design.feet:
        foot = design.feet[0]
        strip = f"{measure(foot.diameter_mm)} x {measure(foot.length_mm)}"
        across = strip if foot.length_mm else f"Ø {measure(foot.diameter_mm)}"
        size = f"{across} x {measure(design.foot_thickness)}"
        rows.append(
            (
                "anti-slip strip" if foot.length_mm else "anti-slip foot",
                len(design.feet),
                size,
                "",
                KIND_FEET,
                "",
            )
        )
    pits = [
        (cut, cut.magnet)
        for part in design.parts
        for cut in part.cuts
        for _ in range(part.quantity)
        if cut.magnet
    ]
    if pits:
        pit, (across_mm, thick_mm) = pits[0]
        wide = max(v.x for v in pit.outline.vertices) - min(v.x for v in pit.outline.vertices)
        title = f"disc magnet, pit Ø {measure(wide)} x {measure(pit.z1 - pit.z0)}"
        rows.append((title, len(pits), f"Ø {measure(across_mm)} x {measure(thick_mm)}", "", KIND_MAGNET, ""))
    return rows


def _laid(design: Design) -> list[Row]:
    """What is laid in, from the glass up: film, and plates below or over it."""
    rows: list[tuple[float, Row]] = []
    for number, plate in enumerate(plate for made in design.every_fitted for plate in made.plates):
        sizes: dict[str, int] = {}
        for rect in plate.places:
            words = f"{measure(rect.width, 1)} x {measure(rect.height, 1)} x {measure(plate.z1 - plate.z0)}"
            sizes[words] = sizes.get(words, 0) + 1
        rows += [
            (plate.z0, (plate.name, count, words, "", KIND_PANE, pane_key(number)))
            for words, count in sizes.items()
        ]
    rows += [(one.heights.drawn_ledge, film) for one, film in zip(design.each, _films(design), strict=True)]
    return [row for _, row in sorted(rows, key=lambda pair: pair[0])]


def _films(design: Design) -> list[Row]:
    """A row for each kind of film."""
    rows: list[Row] = []
    for one in design.each:
        film, title = one.mine[0].film, one.in_pocket
        size = f"{measure(film.width, 1)} x {measure(film.height, 1)} x {measure(one.in_pocket_mm)}"
        name = f"{title}, {one.mine[0].film_key}" if design.kinds else title
        rows.append((name, len(one.mine), size, "", KIND_FILM, film_key(one.kind) if design.kinds else ""))
    return rows
