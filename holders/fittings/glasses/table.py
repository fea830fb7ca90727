"""The preset's table ``[glasses]``, and what it makes of the film: a plate of glass with the film and a plate on it."""

from __future__ import annotations

from typing import Annotated

from pydantic import Field

from holders.facts.habits import habit
from holders.facts.models import FilmBase, FilmFormat
from holders.facts.tables import film_base
from holders.fittings.on_glass import FACES, Face, glass_size
from holders.preset.tables.base import Length, SmallLength
from holders.preset.tables.bearer import Bearer, Layer, OnGlass
from holders.preset.words import Words

Thick = Annotated[float, Field(ge=0.7, le=10, allow_inf_nan=False)]


class Glasses(Bearer):
    """Film between two plates of glass, seen through the lower one. Leave the table out for none."""

    below_mm: Annotated[Thick, Words("Lower glass, thickness")] = Field(
        default=2.0, description="Thickness of the glass below the film."
    )
    below_off_mm: Annotated[SmallLength, Words("Lower glass, thickness may be off by")] = Field(
        default=0.2,
        description="How far the lower glass may be off that, either way: 0.2 as bought, 0.02 measured with a caliper.",
    )
    above_mm: Annotated[Thick, Words("Upper glass, thickness")] = Field(
        default=2.0, description="Thickness of the glass on the film; it weighs the film down."
    )
    face_below: Annotated[Face, Words("Face below the film", choices=FACES)] = Field(
        default="plain",
        description="The face of the lower glass that the film lies on; an etched one is seen through, as grain.",
    )
    face_above: Annotated[Face, Words("Face on the film", choices=FACES)] = Field(
        default="etched", description="The face of the upper glass that lies on the film."
    )
    width_mm: Annotated[Length | None, Words("Glass, width")] = Field(
        default=None,
        description="Size of both plates along the film's width, measured; left out: the film and the rim.",
    )
    length_mm: Annotated[Length | None, Words("Glass, length")] = Field(
        default=None, description="Size of both plates along the film's length, measured; left out: the same."
    )
    rim_mm: Annotated[SmallLength, Words("Glass around the film")] = Field(
        default=6.0, description="Glass left around the film on every side, for tape and for the ledge."
    )

    def bear(self, film: FilmFormat, base: FilmBase, emulsion: str) -> OnGlass:
        """The film between its plates.

        Raises ``InputError`` for plates and mounts, and for glass smaller than the film.
        """
        index = film_base("glass").refractive_index
        words = "glasses.below_off_mm, over its refractive index"
        layers = [Layer("thickness of the glass", self.below_mm, index, self.below_off_mm, source=words)]
        if emulsion == "up":
            off = (base.thickness_high_mm - base.thickness_low_mm) / 2
            words = f"range of {base.name}, over its refractive index"
            layers.append(
                Layer("base of the film", base.thickness_mm, base.refractive_index, off, source=words)
            )
        return OnGlass(
            film=film,
            base=base,
            size=glass_size("glasses", film, base, self.rim_mm, (self.width_mm, self.length_mm)),
            tolerance_mm=habit("glass-cut"),
            plates_mm=(self.below_mm, self.above_mm),
            layers=tuple(layers),
            above_mm=self.below_mm + film.thickness_mm + self.above_mm,
            facing_index=index,
            words=f"{film.name}, between two glasses",
        )
