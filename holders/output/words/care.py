"""Care of a holder, in words: cleaning by its material, static, storage, lint, and what glass in it wants.

Common practice, no source: the material's own data sheet goes before it.
"""

from __future__ import annotations

from holders.design.model import Design
from holders.facts.models import Material
from holders.workshop.cost import plain_name

CLEANING = {
    "plastic": "Wash it in lukewarm water with a drop of washing-up liquid, rinse, let it dry fully; hot water warps "
    "it. No acetone or other solvent.",
    "acrylic": "A soft damp cloth with a drop of washing-up liquid, then a dry one. Never alcohol, window cleaner or "
    "solvent: acrylic crazes, soonest along edges that a laser has cut.",
    "wood": "Brush it dry and blow it off; at most a cloth that is barely damp. Water swells it, and the ledge's "
    "height with it.",
    "board": "Brush it dry and blow it off. No water and no rubber: both raise the board's face under the film.",
    "foam": "Blow it off and dab it with a barely damp cloth. No solvent, no rubbing: foam crumbles onto the film.",
}
STATIC = "Static draws dust: rubbing charges film and plastic alike. Blow, do not wipe; "
USUAL_PERCENT = 50.0
LINT = (
    "Cotton gloves shed lint and hide a sharp edge from your fingers: clean nitrile ones, or new cotton that was "
    "washed without softener. Look at the ledge against the light before each session."
)


def _less_static(humidity_percent: float) -> str:
    """What takes static off, in a room as damp as the preset is set for."""
    if humidity_percent == USUAL_PERCENT:
        return f"an antistatic brush or a room near {USUAL_PERCENT:g} % humidity helps more than a cloth."
    return (
        f"an antistatic brush helps more than a cloth. Keep the room at the {humidity_percent:g} % humidity that this "
        "holder is set for."
    )


def care_words(
    material: Material, design: Design, humidity_percent: float = USUAL_PERCENT
) -> tuple[str, ...]:
    """What keeps a holder clean, flat and kind to film, one sentence or two for each thing to do."""
    warmth = (
        "Keep it lying flat, dark and dry, nothing on top of it, in a paper or polyethylene bag against dust, away "
        f"from sun and heating: {plain_name(material)} must stay below {material.limit_c:.0f} °C. Never leave "
        f"film in it."
    )
    return (
        CLEANING[material.family],
        STATIC + _less_static(humidity_percent),
        LINT,
        warmth,
        *(words for made in design.fitted for words in made.care()),
    )
