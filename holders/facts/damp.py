"""What damp air does to a sheet's thickness."""

from __future__ import annotations

from holders.facts.models import Material

HUMIDITY_SWING = 20.0  # % relative humidity, up or down from the day it was made: common practice, no source


def swelling_mm(material: Material, thickness_mm: float, humidity_swing: float = HUMIDITY_SWING) -> float:
    """How much thicker or thinner a sheet becomes when the air is damper or drier by ``humidity_swing`` %, mm.

    Source: the material's row (``thickness_swelling_per_rh``); 0 where nothing is published.
    """
    return material.thickness_swelling_per_rh * humidity_swing * thickness_mm
