"""What lies ready at the bench: every tool and supply that a step of the sheet may use, as the list names it.

A step says what it takes by these names (``takes``); the shopping list is what all of them take together.
"""

from __future__ import annotations

from collections.abc import Iterable, Mapping
from types import MappingProxyType

from holders.core.lines import Row
from holders.facts.models import Material
from holders.workshop.cost import GLUES, glue_for

TOOLS: Mapping[str, str] = MappingProxyType(
    {
        "caliper": "caliper (0.01 mm)",
        "ruler": "steel ruler",
        "blower": "blower",
        "gloves": "clean cotton or nitrile gloves",
        "cloth": "lint-free cloths",
        "knife": "knife with fresh blades, steel straightedge and cutting mat",
        "file": "fine file",
        "abrasive": "fine abrasive paper",
        "scissors": "scissors",
        "saw": "metal saw",
        "needle": "needle",
        "pen": "fine marker pen",
        "flat-glass": "flat pane of glass to work on, larger than the holder",
        "weight": "flat weights",
        "wood-block": "block of wood",
        "roller": "soft roller",
        "pad": "padded bench",
    }
)
SUPPLIES: Mapping[str, str] = MappingProxyType(
    {
        "paper": "printing paper",
        "tape": "removable tape",
        "strong-tape": "strong tape (for a strip to lift by)",
        "baking-paper": "baking paper",
        "washing-up": "washing-up liquid (to degrease)",
        "wax": "a little wax (for the pins)",
        "thread": "cotton thread",
        "absorbent": "absorbent paper",
        "spare-card": "folded card (to lift the film with)",
        "pocket-card": "matt black card for pockets that stay empty",
        "shims": "shims of paper, tape or card (if the proof asks for them)",
    }
)
# what has a row of its own in the table: in any case (the row comes with the part), or as below
ROWS = frozenset(
    {"glue", "super-glue", "black", "material", "feet", "magnets", "glass", "pins", "card", "weights", "felt",
     "black-cloth", "overlay", "fluid",
     "bars", "epoxy"}
)  # fmt: skip
SUPER_GLUE = GLUES["plastic"]


def bought(takes: Iterable[str], material: Material, there: Iterable[Row]) -> tuple[Row, ...]:
    """Rows for glue and black that steps take and that no part of the holder has brought yet."""
    wanted, listed = set(takes), {row.thing for row in there}
    rows = {
        "glue": Row(glue_for(material), 1, "tube", "a little, where the steps say so", thing="glue"),
        "super-glue": Row(SUPER_GLUE, 1, "tube", "gloves; air the room", thing="super-glue"),
        "black": Row(
            "matt black paint or ink, water-based", 1, "pot", "and a small brush, for edges that are not black",
            thing="black",
        ),
    }  # fmt: skip
    return tuple(row for thing, row in rows.items() if thing in wanted - listed)


def glue_called(material: Material) -> str:
    """The same as a step calls it, without what the list remarks of it."""
    return glue_for(material).partition(" (")[0]


def at_hand(takes: Iterable[str]) -> str:
    """Tools, and supplies that have no row in the table, in two sentences.

    Raises ``KeyError`` for a name that is no thing here.
    """
    wanted = set(takes)
    unknown = wanted - TOOLS.keys() - SUPPLIES.keys() - ROWS
    if unknown:
        raise KeyError(f"no thing of the bench is called {', '.join(sorted(unknown))}")
    each = [
        (word, [name for key, name in things.items() if key in wanted])
        for word, things in (("Tools", TOOLS), ("Supplies", SUPPLIES))
    ]
    return " ".join(f"{word}: {', '.join(names)}." for word, names in each if names)
