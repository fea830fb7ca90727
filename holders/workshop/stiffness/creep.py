"""How much a lasting load lets go with time: a simple knock-down of the modulus.

Strain grows as 1 + phi (t / 1000 h)^n (Findley's power law, from memory), phi by material family, and phi grows with
warmth up to a factor at softening. Numbers and their standing are in ``data/habits.toml``; they judge, they do not
predict: none was measured on a holder.
"""

from __future__ import annotations

from holders.core.errors import InputError
from holders.facts.habits import habit
from holders.facts.models import Material

ROOM_C = 23.0
UNIT_HOURS = 1000.0
CHARS_C = 200.0  # wood and board have no softening; their creep is taken to grow toward charring


def creep_share(material: Material, hours: float, temperature_c: float = ROOM_C) -> float:
    """Growth of the strain after ``hours`` as a share of the first strain.

    Raises ``InputError`` for negative hours, or at a temperature at which the material has softened.
    """
    if hours < 0:
        raise InputError("hours", hours, "give a length of time")
    soft = CHARS_C if material.softening_c is None else material.softening_c
    if temperature_c >= soft:
        raise InputError("room.ambient_c", temperature_c, f"{material.name} has softened at {soft:g} °C")
    key = "creep-mdf" if material.key == "mdf" else f"creep-{material.family}"
    warmth = max(0.0, (temperature_c - ROOM_C) / (soft - ROOM_C))
    grown = habit("creep-warm-end") ** warmth
    return float(habit(key) * grown * (hours / UNIT_HOURS) ** habit("creep-exponent"))


def creep_factor(material: Material, hours: float, temperature_c: float = ROOM_C) -> float:
    """What is left of the modulus, as a share."""
    return 1 / (1 + creep_share(material, hours, temperature_c))
