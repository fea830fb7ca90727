"""What is said about the colour of a holder: what to buy, and how to blacken what is not black."""

from __future__ import annotations

from holders.facts.models import Material, Route

AIR = (
    "Paint in moving air, away from flames, as the label says; let it dry for a day at least, until nothing smells, "
    "before film comes near."
)


def to_buy(material: Material) -> str:
    """What to look for when buying the material."""
    what = {
        "plastic": "filament, opaque even in a thin wall",
        "acrylic": "black sheet, best with a matt face",
        "wood": "any colour, and paint its edges and the ledge",
        "board": "board that is black all through, or ink its edges",
        "foam": "foam that is black all through, or ink its edges",
    }[material.family]
    return f"Matt black and opaque: {what}."


def blackening_takes(material: Material, finish: str) -> tuple[str, ...]:
    """What :func:`blackening` uses, by the names of the bench."""
    if finish != "matt-black":
        return ()
    return {"wood": ("black", "cloth"), "acrylic": ("abrasive",)}.get(material.family, ("black",))


def blackening(material: Material, finish: str, route: Route) -> str:
    """One step: the window's edges and the ledge made matt black, or looked at whether they are."""
    if finish != "matt-black":
        return (
            f"Nothing is blackened, as the preset says (material.finish {finish}): edges near the film throw light "
            "into the picture. See the finding on stray light."
        )
    if material.family == "wood":
        char = "Wipe the char off the cut edges with a damp cloth. " if route == "laser" else ""
        return (
            f"{char}Seal and blacken the edges of the window, the ledge and all round the film with matt black paint "
            f"or ink, two thin coats, none on the faces that are glued. {AIR}"
        )
    look = {
        "plastic": "Hold a part against a lamp: where it lets light through, or shines, paint it matt black",
        "acrylic": "Rub the shining edges of the window dull with fine abrasive paper, wet, and wash the dust off",
        "board": "Blacken every pale edge of the window and round the film with matt black ink",
        "foam": "Blacken every pale edge of the window and round the film with matt black ink",
    }[material.family]
    air = "" if material.family == "acrylic" else f" {AIR}"
    return f"The edges near the film must be matt black. {look}.{air}"
